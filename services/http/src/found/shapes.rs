//! How it is sent what calls turned out to be.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes and rules.

use chrono::{DateTime, Utc};
use engine::circuit::{Effect, PartKind};
use engine::rates::Found;
use serde::{Deserialize, Serialize};
use store::StoreError;
use store::found::{How, Kind, NewWord, Summary, Turned, Was, Word};
use store::text::Faults;
use utoipa::ToSchema;
use utoipa::openapi::Ref;
use utoipa::openapi::schema::{ObjectBuilder, OneOfBuilder, Schema, Type};
use uuid::Uuid;

use crate::evidence::shapes::person;
use crate::shapes::PersonRef;

/// What a call was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FoundWas {
    /// Nothing was wrong with the circuit.
    NothingWrong,
    /// A part of the circuit, in a fault mode of it.
    Fault,
    /// Something that the circuit does not list.
    NotListed,
}

/// How that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FoundHow {
    /// Somebody looked at the part on a bench.
    BenchConfirmed,
    /// With this put right it ran, and the complaint is gone.
    RunTest,
    /// The part was replaced, and nobody looked: it counts a quarter.
    OnlyReplaced,
}

/// The body that says what a job turned out to be.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SayFound {
    /// What it was.
    pub was: FoundWas,
    /// A fault's part, as the circuit calls it.
    #[serde(default)]
    pub part: Option<String>,
    /// Its fault mode.
    #[serde(default)]
    pub mode: Option<String>,
    /// What it was, where the circuit does not list it; at most 300 characters.
    #[serde(default)]
    pub words: Option<String>,
    /// How that is known.
    pub how: FoundHow,
    /// Anything more; at most 2,000 characters.
    #[serde(default)]
    pub note: String,
}

/// What was said on a job.
#[derive(Debug, Serialize, ToSchema)]
pub struct JobFound {
    /// Newest first; the first counts.
    pub words: Vec<FoundWord>,
}

/// One word on a job.
#[derive(Debug, Serialize, ToSchema)]
pub struct FoundWord {
    /// Id.
    pub id: Uuid,
    /// What it was.
    pub was: FoundWas,
    /// A fault's part.
    pub part: Option<String>,
    /// Its fault mode.
    pub mode: Option<String>,
    /// The same in words.
    pub says: String,
    /// How that is known.
    pub how: FoundHow,
    /// Anything more.
    pub note: String,
    /// Who says so.
    pub by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
}

/// What the shop's calls turned out to be.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShopFound {
    /// Calls of which somebody said what they were.
    pub calls: u32,
    /// Those that move the odds, each by its weight.
    pub counted: f64,
    /// Found beside expected, by kind of fault; what was found most comes first.
    pub kinds: Vec<FoundKind>,
    /// What they were, plainly; the most frequent first.
    pub turned: Vec<FoundTurned>,
}

/// What a row of the shop's table counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FoundClass {
    /// Faults that do the same to the same kind of part.
    Fault,
    /// An overload that was open on heat, and closes again.
    Passing,
    /// Nothing was wrong.
    NothingWrong,
}

/// One kind of fault: found beside expected.
#[derive(Debug, Serialize, ToSchema)]
pub struct FoundKind {
    /// What is counted.
    pub class: FoundClass,
    /// Of a fault: what the part is.
    #[schema(schema_with = part_kind)]
    pub kind: Option<PartKind>,
    /// Of a fault: what it does.
    #[schema(schema_with = effect)]
    pub effect: Option<Effect>,
    /// Calls on which it was this, each by its weight.
    pub found: f64,
    /// What the circuit files alone expected of these calls.
    pub expected: f64,
    /// By how much the files' odds of it are multiplied, before all are brought back to their sum;
    /// 0.2 to 5.
    pub times: f64,
}

/// How often calls turned out to be one thing.
#[derive(Debug, Serialize, ToSchema)]
pub struct FoundTurned {
    /// On which circuit.
    pub circuit: String,
    /// What, in words.
    pub says: String,
    /// Whether the circuit lists it; what it does not list moves no odds.
    pub listed: bool,
    /// Calls where a bench confirmed it.
    pub bench_confirmed: u32,
    /// Calls where it ran afterwards.
    pub run_test: u32,
    /// Calls where something was replaced and nobody looked.
    pub only_replaced: u32,
}

fn part_kind() -> Schema {
    or_null("PartKind")
}

fn effect() -> Schema {
    or_null("Effect")
}

fn or_null(name: &str) -> Schema {
    let null = ObjectBuilder::new().schema_type(Type::Null);
    Schema::OneOf(OneOfBuilder::new().item(null).item(Ref::from_schema_name(name)).build())
}

impl SayFound {
    /// What is said, with the fields that go with it and no others.
    ///
    /// # Errors
    /// `InvalidMany` where one is missing or does not belong there.
    pub(crate) fn read(self) -> Result<NewWord, StoreError> {
        let mut faults = Faults::default();
        let fault = self.was == FoundWas::Fault;
        for (pointer, given, wanted, what) in [
            ("/part", self.part.is_some(), fault, "a fault names its part"),
            ("/mode", self.mode.is_some(), fault, "a fault names its mode"),
            (
                "/words",
                self.words.is_some(),
                self.was == FoundWas::NotListed,
                "what the circuit does not list is said in words",
            ),
        ] {
            if given != wanted {
                let only = if given { "Leave this out here: only " } else { "This is missing: " };
                faults.add(pointer, format!("{only}{what}."));
            }
        }
        faults.done()?;
        let text = Option::unwrap_or_default;
        let was = match self.was {
            FoundWas::NothingWrong => Was::Listed(Found::NothingWrong),
            FoundWas::Fault => {
                Was::Listed(Found::Fault { part: text(self.part), mode: text(self.mode) })
            }
            FoundWas::NotListed => Was::NotListed { words: text(self.words) },
        };
        let how = match self.how {
            FoundHow::BenchConfirmed => How::BenchConfirmed,
            FoundHow::RunTest => How::RunTest,
            FoundHow::OnlyReplaced => How::OnlyReplaced,
        };
        Ok(NewWord { was, how, note: self.note })
    }
}

impl From<How> for FoundHow {
    fn from(how: How) -> Self {
        match how {
            How::BenchConfirmed => FoundHow::BenchConfirmed,
            How::RunTest => FoundHow::RunTest,
            How::OnlyReplaced => FoundHow::OnlyReplaced,
        }
    }
}

impl From<Vec<Word>> for JobFound {
    fn from(words: Vec<Word>) -> Self {
        JobFound { words: words.into_iter().map(FoundWord::from).collect() }
    }
}

impl From<Word> for FoundWord {
    fn from(word: Word) -> Self {
        let (was, part, mode) = match word.was {
            Was::Listed(Found::NothingWrong) => (FoundWas::NothingWrong, None, None),
            Was::Listed(Found::Fault { part, mode }) => (FoundWas::Fault, Some(part), Some(mode)),
            Was::NotListed { .. } => (FoundWas::NotListed, None, None),
        };
        FoundWord {
            id: word.id,
            was,
            part,
            mode,
            says: word.says,
            how: word.how.into(),
            note: word.note,
            by: person(word.by),
            at: word.at,
        }
    }
}

impl From<Summary> for ShopFound {
    fn from(summary: Summary) -> Self {
        ShopFound {
            calls: summary.calls,
            counted: summary.counted,
            kinds: summary.kinds.into_iter().map(FoundKind::from).collect(),
            turned: summary.turned.into_iter().map(FoundTurned::from).collect(),
        }
    }
}

impl From<Kind> for FoundKind {
    fn from(kind: Kind) -> Self {
        let class = match (kind.fault, kind.passing) {
            (Some(_), _) => FoundClass::Fault,
            (None, true) => FoundClass::Passing,
            (None, false) => FoundClass::NothingWrong,
        };
        FoundKind {
            class,
            kind: kind.fault.map(|(kind, _)| kind),
            effect: kind.fault.map(|(_, effect)| effect),
            found: kind.found,
            expected: kind.expected,
            times: kind.times,
        }
    }
}

impl From<Turned> for FoundTurned {
    fn from(turned: Turned) -> Self {
        FoundTurned {
            circuit: turned.circuit,
            says: turned.says,
            listed: turned.listed,
            bench_confirmed: turned.bench_confirmed,
            run_test: turned.run_test,
            only_replaced: turned.only_replaced,
        }
    }
}
