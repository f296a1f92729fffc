//! The hypothesis set: what may be true, and how likely it is beforehand.
//!
//! Belongs here: nothing wrong, single and double faults, the unknown one; what is cut off.
//! Does not belong here: readings.

use crate::model::{Fault, Model};

/// Double faults less likely than this beforehand are cut off (and counted).
const DOUBLE_PRIOR_MIN: f64 = 1e-6;
/// Where alike parts share an unknown scale every hypothesis costs [`SCALES`] times as much;
/// there the cut is higher.
const DOUBLE_PRIOR_MIN_SCALED: f64 = 4e-5;
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
    pub(crate) cut_off: f64,
}

impl Hypotheses {
    /// Nothing wrong, every single fault, double faults of different parts, and the unknown
    /// fault at `unknown_rate`. Parts fail independently; modes of one part exclude each
    /// other.
    pub(crate) fn new(model: &Model<'_>, unknown_rate: f64) -> Self {
        let part_prior: Vec<f64> = (0..model.parts.len())
            .map(|part| {
                model.faults.iter().filter(|fault| fault.part == part).map(|f| f.prior).sum()
            })
            .collect();
        let sound: f64 = part_prior.iter().map(|prior| 1.0 - prior).product();
        let odds: Vec<f64> =
            model.faults.iter().map(|fault| fault.prior / (1.0 - part_prior[fault.part])).collect();
        let known = 1.0 - unknown_rate;
        // Where the circuit says how often nothing is wrong with it on such a call, the
        // faults share the rest in the proportions of their own odds.
        let (sound_prior, known) = match model.circuit.nothing_wrong {
            Some(share) => (known * share, known * (1.0 - share) / (1.0 - sound)),
            None => (known * sound, known),
        };
        let mut all = vec![
            Hypothesis { kind: Kind::Sound, prior: sound_prior },
            Hypothesis { kind: Kind::Unknown, prior: unknown_rate },
        ];
        all.extend((0..model.faults.len()).map(|fault| Hypothesis {
            kind: Kind::Single(fault),
            prior: known * sound * odds[fault],
        }));
        let least =
            if model.scale_spread.is_some() { DOUBLE_PRIOR_MIN_SCALED } else { DOUBLE_PRIOR_MIN };
        let mut doubles = Vec::new();
        for first in 0..model.faults.len() {
            for second in first + 1..model.faults.len() {
                if model.faults[first].part == model.faults[second].part {
                    continue;
                }
                let prior = known * sound * odds[first] * odds[second];
                if prior >= least {
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
        Hypotheses { all, cut_off }
    }
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
