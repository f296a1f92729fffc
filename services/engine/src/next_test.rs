//! The best next tests.
//!
//! Belongs here: which tests the circuit allows, what each would tell and cost, which are
//! proposed. Does not belong here: how likely a reading is ([`crate::likelihood`]).
//!
//! A test is valued by the expected information about *which component* has failed, per

mod answers;
mod bundles;
mod exact;
mod first;
mod ghosts;
mod hope;
mod information;
mod order;
pub(crate) mod plan;
pub(crate) mod sheet;
mod site;
mod words;

use crate::case::Case;
use crate::circuit::Caution;
use crate::policy::Policy;
use crate::posterior::Weighed;
use crate::predict::Setup;
use crate::predict::many::Work;
use crate::shares::Shares;
use crate::units::Quantity;
use crate::verdict::{Check, NextTest, Outcome, Owed, Retake};

use bundles::Look;
use hope::Hope;
use information::{Chances, Telling, rows};
use order::Pool;
use site::AtWork;
pub(crate) use words::once_more;
use words::{again, question, shown};

/// Most tests proposed.
pub(crate) const TESTS_MAX: usize = 3;
/// Most readings in one test.
const TAKES_MAX: usize = 3;
/// A test that tells less than this is not worth the walk, bits.
const BITS_MIN: f64 = 0.02;
/// From this share on nothing is likely to be at fault, or only warm.
const LIKELY_CLEAR: f64 = 0.5;
/// There a test must tell so much for each of its minutes, bits: the fault that is hardly there is
/// not worth an hour on the roof (common practice, no source). Where something is at fault, whatever
/// tells what it is is worth it.
const BITS_PER_MIN: f64 = 0.01;
/// A test that tells less than this share of what the most telling one does is not shown.
const BESIDE_BEST: f64 = 0.2;
/// A minute of waiting for a part to cool, against a minute of work.
const WAITING: f64 = 0.15;

/// Minutes for one reading once everything is open (common practice, no source).
fn reading_min(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Resistance => 0.7,
        Quantity::Insulation | Quantity::Capacitance | Quantity::Diode => 1.0,
        // Energising, standing clear and switching off again.
        Quantity::Voltage | Quantity::DirectVoltage | Quantity::Current => 2.0,
    }
}

/// One reading (or question) that could be taken, with its kinds of answer.
#[derive(Clone)]
struct Candidate {
    take: Take,
    minutes: f64,
    /// Words per kind of answer.
    shows: Vec<String>,
    chance: Chances,
    bits: f64,
}

#[derive(Clone)]
enum Take {
    Reading(Setup),
    Sign(usize),
}

/// Readings from one setting-up.
#[derive(Clone)]
struct Bundle {
    candidates: Vec<Candidate>,
    lifted: Vec<usize>,
    /// Under power: the state to bring about.
    state: Option<usize>,
    places: Vec<usize>,
    setup_min: f64,
    danger_min: f64,
    waiting_min: f64,
    cautions: Vec<Caution>,
    bits: f64,
}

impl Bundle {
    fn minutes(&self) -> f64 {
        let reading: f64 = self.candidates.iter().map(|candidate| candidate.minutes).sum();
        self.setup_min + self.waiting_min + reading
    }

    /// Minutes with danger and waiting weighed in.
    fn cost(&self) -> f64 {
        let reading: f64 = self.candidates.iter().map(|candidate| candidate.minutes).sum();
        (self.setup_min + self.danger_min + self.waiting_min * WAITING + reading).max(0.1)
    }

    fn score(&self) -> f64 {
        self.bits / self.cost()
    }

    /// `clear` is the share of nothing wrong and of passing states.
    fn is_worth_the_walk(&self, clear: f64) -> bool {
        let per_min = if clear >= LIKELY_CLEAR { BITS_PER_MIN } else { 0.0 };
        self.bits >= BITS_MIN && self.score() >= per_min
    }
}

/// What is known of a case when tests are looked for.
pub(crate) struct Known<'k, 'm, 'c> {
    pub(crate) weighed: &'k Weighed<'m, 'c>,
    pub(crate) shares: &'k Shares,
    pub(crate) case: &'k Case,
    pub(crate) policy: &'k Policy,
    pub(crate) claimed: Option<usize>,
    pub(crate) outcome: Outcome,
    pub(crate) retake: &'k [Retake],
    pub(crate) owed: &'k [Owed],
    pub(crate) checks: &'k [Check],
}

impl Known<'_, '_, '_> {
    /// What must be done before any new reading: a reading taken again, or a question answered.
    fn first(&self) -> Option<NextTest> {
        let circuit = self.weighed.model.circuit;
        first::discharge(self)
            .or_else(|| again(circuit, self.case, self.retake))
            .or_else(|| question(circuit, self.case, self.owed))
            .or_else(|| first::owed_pins(self))
            .or_else(|| first::owed_volts(self))
    }

    /// Once the claim has fallen the question is which part it is instead, leads told apart.
    fn telling(&self) -> Telling {
        if self.outcome == Outcome::Contradicted { Telling::Parts } else { Telling::Components }
    }
}

/// The readings that the tests before ask for.
#[derive(Default)]
struct Seen(Vec<(Quantity, usize, usize, Option<usize>, bool)>);

impl Seen {
    /// Whether a test asks for anything besides: the same pairs with something else lifted are
    /// no choice beside a test, but the same test once more.
    fn is_new(&mut self, bundle: &Bundle) -> bool {
        let readings = bundle.candidates.iter().filter_map(|candidate| match &candidate.take {
            Take::Reading(setup) => {
                Some((setup.quantity, setup.from, setup.to, setup.state, setup.low_impedance))
            }
            Take::Sign(_) => None,
        });
        let before = self.0.len();
        for reading in readings.clone() {
            if !self.0.contains(&reading) {
                self.0.push(reading);
            }
        }
        self.0.len() > before || readings.count() == 0
    }
}

/// What is left to be read or asked.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Remains {
    /// The tests proposed.
    Tests,
    /// The tests proposed tell much, though all that is left could not settle it.
    OnlyTells,
    /// Nothing that the circuit allows tells anything.
    NothingTells,
    /// What tells a little could not settle it, all of it together.
    NothingSettles,
}

impl Remains {
    /// Whether no test is proposed.
    pub(crate) fn is_nothing(self) -> bool {
        matches!(self, Remains::NothingTells | Remains::NothingSettles)
    }
}

/// The best tests, best first, and what is left.
pub(crate) fn best(known: &Known<'_, '_, '_>, work: &mut Work) -> (Vec<NextTest>, Remains) {
    if known.outcome == Outcome::Isolated {
        return (Vec::new(), Remains::NothingTells);
    }
    if let Some(first) = known.first() {
        return (vec![first], Remains::Tests);
    }
    let weighed = known.weighed;
    let rows = rows(weighed, known.claimed, known.telling());
    let at_work = AtWork::of(weighed, known.case);
    let clear = known.shares.sound + known.shares.passing;
    let look = Look { weighed, case: known.case, rows: &rows, at_work: &at_work, clear };
    let pool = Pool::of(weighed, &rows, bundles::all(&look, known.shares, work));
    let all: Vec<usize> = (0..pool.bundles().count()).collect();
    let order = pool.order(&all, &pool.start(&at_work), &rows, known.policy, work);
    if order.hope == Hope::Lost && order.tests.is_empty() {
        return (Vec::new(), Remains::NothingSettles);
    }
    let most = order.tests.iter().map(|&place| pool.bundle(place).bits).fold(0.0, f64::max);
    let mut seen = Seen::default();
    let mut tests: Vec<NextTest> = order
        .tests
        .into_iter()
        .map(|place| pool.bundle(place))
        .filter(|bundle| bundle.bits >= BESIDE_BEST * most)
        .filter(|bundle| seen.is_new(bundle))
        .take(TESTS_MAX)
        .map(|bundle| shown(weighed, &rows, &at_work, bundle.clone()))
        .collect();
    // A volt that may be a ghost is told by the meter in hand: beside the best test, always.
    if tests.iter().flat_map(|test| &test.takes).all(|take| !take.low_impedance)
        && let Some(loaded) = ghosts::loaded(known)
    {
        tests.truncate(TESTS_MAX - 1);
        tests.insert(tests.len().min(1), loaded);
    }
    let remains = match (tests.is_empty(), order.hope) {
        (true, _) => Remains::NothingTells,
        (false, Hope::Some) => Remains::Tests,
        (false, Hope::Lost) => Remains::OnlyTells,
    };
    (tests, remains)
}
