//! The hypothesis set: what may be true, and how likely it is beforehand.
//!
//! Belongs here: nothing wrong, single and double faults, the unknown one; what is cut off.
//! Does not belong here: readings.

use crate::model::{Fault, Model, Origin};

/// Double faults less likely than this beforehand are cut off (and counted).
const DOUBLE_PRIOR_MIN: f64 = 1e-6;
/// Where alike parts share an unknown scale every hypothesis costs several times as much;
/// there the cut is higher.
const DOUBLE_PRIOR_MIN_SCALED: f64 = 4e-5;
/// Conductors that touch, against all else that no circuit lists (common practice, no source).
const TOUCHING: f64 = 2.0;
/// Most hypotheses weighed; the least likely double faults beyond it are cut off.
pub(crate) const HYPOTHESES_MAX: usize = 6000;
/// What is supposed to be true.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Sound,
    Single(usize),
    Double(usize, usize),
    Unknown,
}

/// A hypothesis and its prior probability.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Hypothesis {
    pub(crate) kind: Kind,
    pub(crate) prior: f64,
}

/// The hypothesis set with what was cut off.
#[derive(Clone, Debug)]
pub(crate) struct Hypotheses {
    pub(crate) all: Vec<Hypothesis>,
    /// What the double faults held beforehand that were never looked at.
    pub(crate) cut_off: f64,
    /// How many double faults were looked at and are not among all any more: the readings leave
    /// them no hope.
    pub(crate) hopeless: usize,
}

impl Hypotheses {
    /// Nothing wrong, every single fault, double faults of different parts, and the unknown
    /// fault at `unknown_rate`. Parts fail independently; modes of one part exclude each
    /// other.
    pub(crate) fn new(model: &Model<'_>, unknown_rate: f64) -> Self {
        let mut part_prior = vec![0.0; model.parts.len()];
        model.listed().for_each(|fault| part_prior[fault.part] += fault.prior);
        let sound: f64 = part_prior.iter().map(|prior| 1.0 - prior).product();
        let odds: Vec<f64> =
            model.faults.iter().map(|fault| fault.prior / (1.0 - part_prior[fault.part])).collect();
        let of = |origin: Origin| model.faults.iter().filter(move |fault| fault.origin == origin);
        let can_touch = of(Origin::Touches).next().is_some();
        let touching = if can_touch { TOUCHING * unknown_rate } else { 0.0 };
        let known = 1.0 - unknown_rate - touching;
        // Where the circuit says how often nothing is wrong with it on such a call, the
        // faults share the rest in the proportions of their own odds.
        let (sound_prior, known) = match model.circuit.nothing_wrong {
            Some(share) => (known * share, known * (1.0 - share) / (1.0 - sound)),
            None => (known * sound, known),
        };
        // Of sound circuits one part or another is far off the family's value. With a fault
        // beside it that is left to each reading's own spread.
        let varied = |fault: &Fault| fault.prior / (1.0 - fault.prior);
        let as_drawn = 1.0 / (1.0 + of(Origin::Varies).map(varied).sum::<f64>());
        let mut all = vec![
            Hypothesis { kind: Kind::Sound, prior: sound_prior * as_drawn },
            Hypothesis { kind: Kind::Unknown, prior: unknown_rate },
        ];
        all.extend(model.faults.iter().enumerate().map(|(index, fault)| Hypothesis {
            kind: Kind::Single(index),
            prior: match fault.origin {
                Origin::Listed => known * sound * odds[index],
                Origin::Varies => sound_prior * as_drawn * varied(fault),
                Origin::Touches => touching * fault.prior,
            },
        }));
        let least =
            if model.scale_spread.is_some() { DOUBLE_PRIOR_MIN_SCALED } else { DOUBLE_PRIOR_MIN };
        let mut doubles = Vec::new();
        // Close together, what is asked of every pair: its index, its part, its odds.
        let listed: Vec<(usize, usize, f64)> =
            model.listed().map(|fault| (fault.index, fault.part, odds[fault.index])).collect();
        for (place, &(first, part, odds)) in listed.iter().enumerate() {
            let of_first = known * sound * odds;
            for &(second, other_part, odds) in &listed[place + 1..] {
                let prior = of_first * odds;
                if prior >= least && other_part != part {
                    doubles.push(Hypothesis { kind: Kind::Double(first, second), prior });
                }
            }
        }
        let room = HYPOTHESES_MAX.saturating_sub(all.len());
        if doubles.len() > room {
            doubles.sort_by(|a, b| b.prior.total_cmp(&a.prior));
            doubles.truncate(room);
        }
        all.extend(doubles);
        let cut_off = (1.0 - all.iter().map(|hypothesis| hypothesis.prior).sum::<f64>()).max(0.0);
        follow_rates(model, &mut all);
        Hypotheses { all, cut_off, hopeless: 0 }
    }
}

/// Moves the priors by what the shop's confirmed calls say. All that is listed stays as likely as a
/// whole, against what is not.
fn follow_rates(model: &Model<'_>, all: &mut [Hypothesis]) {
    if model.sound_times == 1.0 && model.faults.iter().all(|fault| fault.times == 1.0) {
        return;
    }
    let times = |kind: Kind| match kind {
        Kind::Sound => model.sound_times,
        Kind::Unknown => 1.0,
        Kind::Single(_) | Kind::Double(..) => {
            indices_of(kind).map(|fault| model.faults[fault].times).product()
        }
    };
    let is_listed = |one: &Hypothesis| match one.kind {
        Kind::Unknown => false,
        Kind::Single(fault) => model.faults[fault].origin != Origin::Touches,
        Kind::Sound | Kind::Double(..) => true,
    };
    let listed = |all: &[Hypothesis]| -> f64 {
        all.iter().filter(|one| is_listed(one)).map(|one| one.prior).sum()
    };
    let by_file = listed(all);
    all.iter_mut().for_each(|one| one.prior *= times(one.kind));
    // Exactly 1 where no rate moved anything.
    let back = by_file / listed(all);
    all.iter_mut().filter(|one| is_listed(one)).for_each(|one| one.prior *= back);
}

/// The faults that a hypothesis supposes.
pub(crate) fn faults_of<'m>(model: &'m Model<'_>, kind: Kind) -> Vec<&'m Fault> {
    indices_of(kind).map(|fault| &model.faults[fault]).collect()
}

/// Their indices.
pub(crate) fn indices_of(kind: Kind) -> impl Iterator<Item = usize> {
    let two = match kind {
        Kind::Sound | Kind::Unknown => [None, None],
        Kind::Single(fault) => [Some(fault), None],
        Kind::Double(first, second) => [Some(first), Some(second)],
    };
    two.into_iter().flatten()
}
