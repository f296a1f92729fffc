//! What calls turned out to be, as people of the shop say.
//!
//! Belongs here: adding such a word to a job and listing a job's. Does not belong here: what the
//! shop's words make of the odds ([`rates`]), and how they move them, which is the engine's.
//!
//! It is the shop's memory and no evidence of the job: nothing that is open on the job is judged
//! anew by it.

use chrono::{DateTime, Utc};
use engine::circuit::Circuit;
use engine::rates::Found;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use crate::circuit::{self, Known};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::evidence::{self, Named};
use crate::person::{Caller, Role};
use crate::record::{self, Entry};
use crate::text::{Faults, sha256_hex};
use crate::{live_feed, request};

mod rates;

pub(crate) use rates::rates_for;
pub use rates::{CALLS_LOOKED_AT_MAX, CIRCUITS_LOOKED_AT_MAX, Kind, Summary, Turned, summary};

/// Longest note, characters; a longer one is refused.
pub const NOTE_CHARS_MAX: usize = 2_000;

/// Longest name of what a circuit does not list, characters; a longer one is refused.
pub const WORDS_CHARS_MAX: usize = 300;

/// Most words on one job; a further one is refused. Whoever changes their mind this often should
/// talk.
pub const WORDS_OF_JOB_MAX: usize = 50;

/// How it is known what a call turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// Somebody looked at the part on a bench.
    BenchConfirmed,
    /// With this put right it ran, and the complaint is gone.
    RunTest,
    /// The part was replaced, and nobody looked.
    OnlyReplaced,
}

impl How {
    /// Every way.
    pub const ALL: [How; 3] = [How::BenchConfirmed, How::RunTest, How::OnlyReplaced];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            How::BenchConfirmed => "bench_confirmed",
            How::RunTest => "run_test",
            How::OnlyReplaced => "only_replaced",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        How::ALL.into_iter().find(|how| how.name() == name)
    }
}

/// What a call was, as said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Was {
    /// Something that the circuit lists, or nothing.
    Listed(Found),
    /// Something that the circuit does not list.
    NotListed {
        /// What, in words.
        words: String,
    },
}

impl Was {
    /// As stored and sent: what, part, mode, words.
    pub fn columns(&self) -> (&'static str, Option<&str>, Option<&str>, Option<&str>) {
        match self {
            Was::Listed(Found::NothingWrong) => ("nothing_wrong", None, None, None),
            Was::Listed(Found::Fault { part, mode }) => ("fault", Some(part), Some(mode), None),
            Was::NotListed { words } => ("not_listed", None, None, Some(words)),
        }
    }

    fn from_columns(
        was: &str,
        part: Option<String>,
        mode: Option<String>,
        words: Option<String>,
    ) -> Option<Self> {
        Some(match (was, part, mode, words) {
            ("nothing_wrong", None, None, None) => Was::Listed(Found::NothingWrong),
            ("fault", Some(part), Some(mode), None) => Was::Listed(Found::Fault { part, mode }),
            ("not_listed", None, None, Some(words)) => Was::NotListed { words },
            _ => return None,
        })
    }
}

/// A word to add.
#[derive(Clone, Debug)]
pub struct NewWord {
    /// What it was.
    pub was: Was,
    /// How that is known.
    pub how: How,
    /// Anything more.
    pub note: String,
}

/// A word as kept.
#[derive(Clone, Debug)]
pub struct Word {
    /// Its id.
    pub id: Uuid,
    /// Counted from 1 on its job; the highest counts.
    pub nth: i32,
    /// What it was.
    pub was: Was,
    /// The same in the circuit's words: "run winding: open (compressor)".
    pub says: String,
    /// How that is known.
    pub how: How,
    /// Anything more.
    pub note: String,
    /// Who says so.
    pub by: Named,
    /// When.
    pub at: DateTime<Utc>,
}

/// Says what a job turned out to be. A later word supersedes it.
///
/// # Errors
/// `InvalidMany` with what the circuit lists, `Forbidden` unless a technician or somebody who
/// manages, `Conflict` while a condemn request on the job is open or where it was called off,
/// `NotFound`.
pub async fn add(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    new: NewWord,
) -> Result<Vec<Word>, StoreError> {
    if !caller.is(Role::Technician) && !caller.manages() {
        return Err(StoreError::forbidden(
            "A technician, or somebody who manages, says what a call turned out to be.",
        ));
    }
    let txn = store.begin().await?;
    request::lock_job(&txn, caller.shop_id, job_id).await?;
    may_be_said(store, &txn, caller, job_id).await?;
    let known = circuit::of_job(&txn, job_id).await?;
    let new = sound(new, &known.circuit)?;
    let words = list_of_job(&txn, caller.shop_id, job_id).await?;
    if words.len() >= WORDS_OF_JOB_MAX {
        return Err(StoreError::conflict(
            "too-many-words",
            format!("This job has {WORDS_OF_JOB_MAX} words on what it was; the last one counts."),
        ));
    }
    let nth = words.first().map_or(1, |last| last.nth + 1);
    let now = store.now();
    let (id, digest) = insert(store, &txn, caller, job_id, &known, &new, nth).await?;

    let (was, part, mode, words) = new.was.columns();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "found_said",
        // Not the job: its history is open to whoever may yet read a later request blind.
        subject_kind: "found",
        subject_id: id,
        body: json!({
            "job_id": job_id, "nth": nth, "circuit": known.circuit.name, "circuit_digest": digest,
            "was": was, "part": part, "mode": mode, "words": words, "how": new.how.name(),
            "note": new.note,
        }),
    };
    record::append(&txn, now, entry).await?;
    live_feed::announce(&txn, now, caller.shop_id, "job", job_id, json!({})).await?;
    let words = list_of_job(&txn, caller.shop_id, job_id).await?;
    txn.commit().await?;
    Ok(words)
}

/// What was said on a job, newest first; the first counts.
///
/// # Errors
/// `NotFound`, or `Forbidden` while the caller could read an open request on the job blind.
pub async fn list(store: &Store, caller: &Caller, job_id: Uuid) -> Result<Vec<Word>, StoreError> {
    if evidence::blind_on(store, caller, job_id).await? {
        return Err(StoreError::Forbidden {
            code: "blind-first",
            says:
                "You may be the one who reads this job's evidence for a second opinion. What was \
                   said of it is shown once your own judgement is in."
                    .to_owned(),
        });
    }
    list_of_job(store.conn(), caller.shop_id, job_id).await
}

/// Not before it is decided: a word in between would be a judgement beside the gate, and would
/// tell a blind reader.
async fn may_be_said<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    job_id: Uuid,
) -> Result<(), StoreError> {
    let requests = request::list_of_job(txn, store.now(), caller.shop_id, job_id).await?;
    let draft = engine::gate::State::Draft;
    if requests.iter().any(|request| !request.state.ended() && request.state != draft) {
        return Err(StoreError::conflict(
            "request-open",
            "A condemn request on this job is still open. Say what it turned out to be once that \
             is decided.",
        ));
    }
    let cancelled = txn
        .query_one_raw(sql(
            "SELECT 1 FROM job WHERE id = $1 AND state = 'cancelled'",
            [job_id.into()],
        ))
        .await?;
    if cancelled.is_some() {
        return Err(StoreError::conflict(
            "job-closed",
            "This job was called off: nobody looked, so it turned out to be nothing.",
        ));
    }
    Ok(())
}

fn sound(new: NewWord, circuit: &Circuit) -> Result<NewWord, StoreError> {
    let mut faults = Faults::default();
    let note = faults.text_or_empty("/note", &new.note, NOTE_CHARS_MAX);
    let was = match new.was {
        Was::Listed(found) => {
            if let Err(problem) = found.listed_in(circuit) {
                faults.add(&problem.at, format!("On this circuit {}.", problem.says));
            }
            Was::Listed(found)
        }
        Was::NotListed { words } => {
            Was::NotListed { words: faults.text("/words", &words, WORDS_CHARS_MAX) }
        }
    };
    faults.done()?;
    Ok(NewWord { was, how: new.how, note })
}

fn nothing_replaced() -> StoreError {
    StoreError::invalid(
        "/how",
        "Where nothing was wrong there is more to say than that something was replaced: it was \
         looked at on a bench, or it ran in a test.",
    )
}

async fn insert<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    job_id: Uuid,
    known: &Known,
    new: &NewWord,
    nth: i32,
) -> Result<(Uuid, String), StoreError> {
    let digest = sha256_hex(&known.text);
    txn.execute_raw(sql(
        "INSERT INTO found_circuit (shop_id, digest, name, text) VALUES ($1, $2, $3, $4) \
         ON CONFLICT DO NOTHING",
        [
            caller.shop_id.into(),
            digest.clone().into(),
            known.circuit.name.clone().into(),
            known.text.to_string().into(),
        ],
    ))
    .await?;
    let id = store.new_id();
    let (was, part, mode, words) = new.was.columns();
    let meanwhile = || StoreError::conflict("said-meanwhile", "Somebody said something just now.");
    txn.execute_raw(sql(
        "INSERT INTO job_found (id, shop_id, job_id, nth, circuit_digest, was, part, mode, words, \
             how, note, said_by, at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
        [
            id.into(),
            caller.shop_id.into(),
            job_id.into(),
            nth.into(),
            digest.clone().into(),
            was.into(),
            part.into(),
            mode.into(),
            words.into(),
            new.how.name().into(),
            new.note.clone().into(),
            caller.person_id.into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| {
        by_constraint(
            error,
            &[("job_found_nth_key", &meanwhile), ("job_found_replaced", &nothing_replaced)],
        )
    })?;
    Ok((id, digest))
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    nth: i32,
    circuit_name: String,
    circuit_text: String,
    was: String,
    part: Option<String>,
    mode: Option<String>,
    words: Option<String>,
    how: String,
    note: String,
    by: Uuid,
    by_name: String,
    at: DateTime<Utc>,
}

async fn list_of_job<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    job_id: Uuid,
) -> Result<Vec<Word>, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT job_found.id, job_found.nth, found_circuit.name AS circuit_name, \
             found_circuit.text AS circuit_text, job_found.was, job_found.part, job_found.mode, \
             job_found.words, job_found.how, job_found.note, job_found.said_by AS by, \
             person.name AS by_name, job_found.at \
         FROM job_found JOIN person ON person.id = job_found.said_by \
         JOIN found_circuit ON found_circuit.shop_id = job_found.shop_id \
             AND found_circuit.digest = job_found.circuit_digest \
         WHERE job_found.shop_id = $1 AND job_found.job_id = $2 ORDER BY job_found.nth DESC",
        [shop_id.into(), job_id.into()],
    ))
    .all(conn)
    .await?;
    rows.into_iter().map(from_row).collect()
}

fn from_row(row: Row) -> Result<Word, StoreError> {
    let circuit = circuit::read_kept(&row.circuit_name, &row.circuit_text)?;
    let was = was_from_row(&row.was, row.part, row.mode, row.words)?;
    Ok(Word {
        id: row.id,
        nth: row.nth,
        says: says(&circuit, &was),
        was,
        how: how_from_row(&row.how)?,
        note: row.note,
        by: Named { id: row.by, name: row.by_name },
        at: row.at,
    })
}

fn was_from_row(
    was: &str,
    part: Option<String>,
    mode: Option<String>,
    words: Option<String>,
) -> Result<Was, StoreError> {
    Was::from_columns(was, part, mode, words).ok_or_else(|| unreadable(was))
}

fn how_from_row(how: &str) -> Result<How, StoreError> {
    How::from_name(how).ok_or_else(|| unreadable(how))
}

fn unreadable(of: &str) -> StoreError {
    let source = std::io::Error::new(std::io::ErrorKind::InvalidData, of.to_owned());
    StoreError::corrupt("word on a job", source)
}

/// In the circuit's own words.
fn says(circuit: &Circuit, was: &Was) -> String {
    let (id, mode) = match was {
        Was::Listed(Found::NothingWrong) => return "nothing was wrong".to_owned(),
        Was::NotListed { words } => return words.clone(),
        Was::Listed(Found::Fault { part, mode }) => (part, mode),
    };
    let Some(part) = circuit.parts.iter().find(|part| part.id == *id) else {
        return format!("{id}: {mode}");
    };
    let mode_label = part.modes.iter().find(|known| known.id == *mode);
    let component = circuit.components.iter().find(|known| known.id == part.component);
    format!(
        "{}: {} ({})",
        part.label,
        mode_label.map_or(mode.as_str(), |known| known.label.as_str()),
        component.map_or(part.component.as_str(), |known| known.label.as_str())
    )
}
