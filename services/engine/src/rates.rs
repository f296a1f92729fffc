//! How often what is the fault: what a shop's confirmed calls say beside the circuit files.
//!
//! Belongs here: counting confirmed calls, and by how much a count moves a file's own prior. Does
//! not belong here: which calls are confirmed and by what right, which is the service's business.
//!
//! A circuit file's priors are judgement. What later turned out to be true on calls of the same
//! shop is evidence about them: of every kind of fault it counts how often it was found beside how
//! often the files made it expected on those very calls, so that what a circuit cannot have does
//! not count against it. Counts are pooled over circuits by what a part is and by what its fault
//! does: a shop sees a few calls of one circuit and hundreds of open leads.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::circuit::{Circuit, Effect, PartKind};
use crate::model::{Fault, Model, Origin};
use crate::posterior::{Hypotheses, Kind, indices_of};
use crate::problem::Problem;

/// Most kinds of fault in one record; there are fewer pairs of a part's kind and an effect.
pub const FAULT_KINDS_MAX: usize = 128;
/// Most calls in one record.
pub const CALLS_MAX: f64 = 1e6;
/// The file's own word counts as much as so many expected events (common practice, no source;
/// the usual range is 5 to 10).
const PSEUDO_EVENTS: f64 = 8.0;
/// However many calls say otherwise, a prior moves by no more than this factor to either side:
/// what was not found yet still happens.
const TIMES_MAX: f64 = 5.0;

/// Found and expected events.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Events {
    /// On so many confirmed calls it was this, each call by its weight; 0 to 1,000,000.
    pub found: f64,
    /// So many would have been expected by the circuit files alone; 0 to 1,000,000.
    pub expected: f64,
}

/// Found and expected events of one kind of fault.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FaultEvents {
    /// What the part is.
    pub kind: PartKind,
    /// What the fault does.
    pub effect: Effect,
    /// As in [`Events`].
    pub found: f64,
    /// As in [`Events`].
    pub expected: f64,
}

/// What a shop's confirmed calls say; see [`Tally`].
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rates {
    /// Confirmed calls counted, each by its weight.
    pub calls: f64,
    /// Nothing was wrong with the circuit.
    pub nothing_wrong: Events,
    /// A passing state: an overload open on heat.
    pub passing: Events,
    /// Faults, each kind once, in the order of kind and effect.
    pub faults: Vec<FaultEvents>,
}

impl Rates {
    /// By how much these counts multiply the file's prior of a kind of fault, before all priors
    /// are brought back to their sum; 1/5 to 5, and 1 for a kind that no circuit of these calls has.
    pub fn times_fault(&self, kind: PartKind, effect: Effect) -> f64 {
        Times::of(Some(self)).class(Class::Fault(kind, effect))
    }

    /// The same for nothing wrong.
    pub fn times_nothing_wrong(&self) -> f64 {
        Times::of(Some(self)).class(Class::NothingWrong)
    }

    /// The same for a passing state.
    pub fn times_passing(&self) -> f64 {
        Times::of(Some(self)).class(Class::Passing)
    }
}

/// What a call turned out to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "was", rename_all = "snake_case", deny_unknown_fields)]
pub enum Found {
    /// Nothing was wrong with the circuit.
    NothingWrong,
    /// A fault (or passing state) that the circuit lists.
    Fault {
        /// The part, as the circuit calls it.
        part: String,
        /// Its fault mode.
        mode: String,
    },
}

impl Found {
    /// Whether the circuit lists it.
    ///
    /// # Errors
    /// A part or mode that it does not list, at "/part" or "/mode", with those that it does.
    ///
    /// ```
    /// use engine::circuit_file;
    /// use engine::rates::Found;
    ///
    /// let shipped = circuit_file::shipped();
    /// let known = shipped.iter().find(|known| known.name == "compressor-1ph-plug").unwrap();
    /// let circuit = circuit_file::parse(known.name, known.text).unwrap();
    /// let fault = |mode: &str| Found::Fault { part: "run_winding".into(), mode: mode.into() };
    /// assert!(fault("open").listed_in(&circuit).is_ok());
    /// assert_eq!(fault("tired").listed_in(&circuit).unwrap_err().at, "/mode");
    /// ```
    pub fn listed_in(&self, circuit: &Circuit) -> Result<(), Problem> {
        class_found(circuit, self).map(drop)
    }
}

/// What a circuit file expects of one call on it, reckoned once for many calls.
#[derive(Clone, Debug)]
pub struct Expected<'c> {
    circuit: &'c Circuit,
    /// They add up to 1.
    shares: Vec<(Class, f64)>,
}

impl<'c> Expected<'c> {
    /// Of one call on this circuit.
    pub fn of(circuit: &'c Circuit) -> Self {
        let model = Model::new(circuit, &BTreeMap::new());
        let hypotheses = Hypotheses::new(&model, 0.0);
        let mut shares: BTreeMap<Class, f64> = BTreeMap::new();
        for one in &hypotheses.all {
            if let Some(class) = class_of(&model, one.kind) {
                *shares.entry(class).or_default() += one.prior;
            }
        }
        let sum: f64 = shares.values().sum();
        let shares = shares.into_iter().map(|(class, prior)| (class, prior / sum)).collect();
        Expected { circuit, shares }
    }
}

/// Confirmed calls, counted.
///
/// ```
/// use engine::circuit_file;
/// use engine::rates::{Found, Tally};
///
/// let shipped = circuit_file::shipped();
/// let known = shipped.iter().find(|known| known.name == "compressor-1ph-plug").unwrap();
/// let circuit = circuit_file::parse(known.name, known.text).unwrap();
/// let mut tally = Tally::default();
/// tally.add(&circuit, &Found::NothingWrong, 1.0).unwrap();
/// let rates = tally.rates();
/// assert_eq!(rates.nothing_wrong.found, 1.0);
/// // Of one call the file expects its own share, and a little more: two faults at once are no
/// // kind of their own.
/// let more = rates.nothing_wrong.expected - circuit.nothing_wrong.unwrap();
/// assert!((0.0..0.1).contains(&more), "{more}");
///
/// let no_such = Found::Fault { part: "flux".into(), mode: "open".into() };
/// assert!(tally.add(&circuit, &no_such, 1.0).is_err());
/// ```
#[derive(Clone, Debug, Default)]
pub struct Tally {
    calls: f64,
    nothing_wrong: Events,
    passing: Events,
    faults: BTreeMap<(PartKind, Effect), Events>,
}

impl Tally {
    /// Counts one call: what it turned out to be, and what the file would have expected. `weight`
    /// is 1 where a bench or a test run confirmed it, less where it is only likely.
    ///
    /// # Errors
    /// A part or mode that the circuit does not list, or a weight outside 0 to 1; nothing is
    /// counted then.
    pub fn add(&mut self, circuit: &Circuit, found: &Found, weight: f64) -> Result<(), Problem> {
        self.add_many(&Expected::of(circuit), found, weight, 1)
    }

    /// Counts so many calls on one circuit that all turned out to be the same, each by `weight`.
    ///
    /// # Errors
    /// As [`Tally::add`].
    pub fn add_many(
        &mut self,
        expected: &Expected<'_>,
        found: &Found,
        weight: f64,
        calls: u32,
    ) -> Result<(), Problem> {
        if !(0.0..=1.0).contains(&weight) {
            return Err(Problem::new("/weight", format!("{weight} is outside 0 to 1")));
        }
        let class = class_found(expected.circuit, found)?;
        let counted = weight * f64::from(calls);
        for (class, share) in &expected.shares {
            self.events(*class).expected += counted * share;
        }
        self.events(class).found += counted;
        self.calls += counted;
        Ok(())
    }

    /// What was counted, as a case carries it.
    pub fn rates(&self) -> Rates {
        Rates {
            calls: self.calls,
            nothing_wrong: self.nothing_wrong,
            passing: self.passing,
            faults: (self.faults.iter())
                .map(|(&(kind, effect), events)| FaultEvents {
                    kind,
                    effect,
                    found: events.found,
                    expected: events.expected,
                })
                .collect(),
        }
    }

    fn events(&mut self, class: Class) -> &mut Events {
        match class {
            Class::NothingWrong => &mut self.nothing_wrong,
            Class::Passing => &mut self.passing,
            Class::Fault(kind, effect) => self.faults.entry((kind, effect)).or_default(),
        }
    }
}

/// What is counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    NothingWrong,
    Passing,
    Fault(PartKind, Effect),
}

impl Class {
    fn of(model: &Model<'_>, fault: &Fault) -> Class {
        match fault.passing {
            true => Class::Passing,
            false => Class::Fault(model.parts[fault.part].kind, fault.effect),
        }
    }
}

/// The class of a hypothesis; `None` of two faults and of what no circuit lists.
fn class_of(model: &Model<'_>, kind: Kind) -> Option<Class> {
    match kind {
        Kind::Sound => Some(Class::NothingWrong),
        Kind::Unknown | Kind::Double(..) => None,
        Kind::Single(_) => {
            let fault = &model.faults[indices_of(kind).next()?];
            match fault.origin {
                Origin::Listed => Some(Class::of(model, fault)),
                Origin::Varies => Some(Class::NothingWrong),
                Origin::Touches => None,
            }
        }
    }
}

fn class_found(circuit: &Circuit, found: &Found) -> Result<Class, Problem> {
    let Found::Fault { part: id, mode } = found else { return Ok(Class::NothingWrong) };
    let part = circuit.parts.iter().find(|part| part.id == *id).ok_or_else(|| {
        let all: Vec<&str> = circuit.parts.iter().map(|part| part.id.as_str()).collect();
        Problem::new("/part", format!("there is no part \"{id}\"; there are {}", all.join(", ")))
    })?;
    let known = part.modes.iter().find(|known| known.id == *mode).ok_or_else(|| {
        let all: Vec<&str> = part.modes.iter().map(|mode| mode.id.as_str()).collect();
        let says = format!("\"{id}\" has no fault mode \"{mode}\"; it has {}", all.join(", "));
        Problem::new("/mode", says)
    })?;
    Ok(if known.passing { Class::Passing } else { Class::Fault(part.kind, known.effect) })
}

/// By how much priors are multiplied before they are brought back to their sum.
pub(crate) struct Times<'r> {
    rates: Option<&'r Rates>,
    /// By kind of part.
    kinds: BTreeMap<PartKind, f64>,
}

/// Mean of a Gamma distribution about 1 with so many pseudo-events, after events that come at a
/// rate of `expected` were counted: (a + found) / (a + expected), the usual conjugate pair with a
/// Poisson count.
fn times(found: f64, expected: f64) -> f64 {
    (PSEUDO_EVENTS + found) / (PSEUDO_EVENTS + expected)
}

impl<'r> Times<'r> {
    pub(crate) fn of(rates: Option<&'r Rates>) -> Self {
        let mut sums: BTreeMap<PartKind, Events> = BTreeMap::new();
        for known in rates.iter().flat_map(|rates| &rates.faults) {
            let sum = sums.entry(known.kind).or_default();
            sum.found += known.found;
            sum.expected += known.expected;
        }
        let kinds = sums.into_iter().map(|(kind, sum)| (kind, times(sum.found, sum.expected)));
        Times { rates, kinds: kinds.collect() }
    }

    pub(crate) fn nothing_wrong(&self) -> f64 {
        self.class(Class::NothingWrong)
    }

    /// Of a listed fault.
    pub(crate) fn fault(&self, model: &Model<'_>, fault: &Fault) -> f64 {
        self.class(Class::of(model, fault))
    }

    /// What a kind of part shows as a whole holds for each of its effects, and an effect's own
    /// count moves it from there.
    fn class(&self, class: Class) -> f64 {
        let Some(rates) = self.rates else { return 1.0 };
        let (kind, effect) = match class {
            Class::NothingWrong => return within(of_events(rates.nothing_wrong)),
            Class::Passing => return within(of_events(rates.passing)),
            Class::Fault(kind, effect) => (kind, effect),
        };
        let Some(of_kind) = self.kinds.get(&kind) else { return 1.0 };
        let own = rates.faults.iter().find(|known| (known.kind, known.effect) == (kind, effect));
        within(own.map_or(*of_kind, |own| of_kind * times(own.found, of_kind * own.expected)))
    }
}

fn of_events(events: Events) -> f64 {
    times(events.found, events.expected)
}

fn within(times: f64) -> f64 {
    times.clamp(1.0 / TIMES_MAX, TIMES_MAX)
}

/// Everything wrong with the rates of a case; `at` is the JSON pointer to them.
pub(crate) fn problems(rates: &Rates, at: &str) -> Vec<Problem> {
    let mut problems = Vec::new();
    if rates.faults.len() > FAULT_KINDS_MAX {
        let says =
            format!("{} kinds of fault; at most {FAULT_KINDS_MAX} are read", rates.faults.len());
        problems.push(Problem::new(format!("{at}/faults"), says));
        return problems;
    }
    let mut counts = vec![
        (format!("{at}/calls"), rates.calls),
        (format!("{at}/nothing_wrong/found"), rates.nothing_wrong.found),
        (format!("{at}/nothing_wrong/expected"), rates.nothing_wrong.expected),
        (format!("{at}/passing/found"), rates.passing.found),
        (format!("{at}/passing/expected"), rates.passing.expected),
    ];
    for (index, known) in rates.faults.iter().enumerate() {
        counts.push((format!("{at}/faults/{index}/found"), known.found));
        counts.push((format!("{at}/faults/{index}/expected"), known.expected));
        let earlier = rates.faults[..index].last();
        if earlier
            .is_some_and(|earlier| (earlier.kind, earlier.effect) >= (known.kind, known.effect))
        {
            problems.push(Problem::new(
                format!("{at}/faults/{index}"),
                "each kind of fault stands once, in the order of kind and effect".to_owned(),
            ));
        }
    }
    for (at, count) in counts {
        if !(0.0..=CALLS_MAX).contains(&count) {
            problems.push(Problem::new(at, format!("{count} is outside 0 to {CALLS_MAX}")));
        }
    }
    problems
}
