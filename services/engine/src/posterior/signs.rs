//! How likely signs are that a technician sees or does not see.
//!
//! Belongs here: the chance of one sign under given faults. Does not belong here: readings
//! ([`super::cells`]) and adding up ([`super`]).

use super::{Kind, faults_of};
use crate::case::Observation;
use crate::circuit::Sign;
use crate::model::{Model, Origin};

/// Whether the same sign was answered again later: the latest answer is what is held true of it, and
/// two answers to one question are not two independent pieces of evidence.
pub(super) fn is_superseded(observations: &[Observation], place: usize) -> bool {
    observations[place + 1..].iter().any(|later| later.sign == observations[place].sign)
}

/// Probability of what was seen, given the faults: each that explains it may cause it, and
/// so may something else.
pub(super) fn sign_likelihood(model: &Model<'_>, observation: &Observation, kind: Kind) -> f64 {
    let Some(sign) = model.circuit.signs.iter().find(|sign| sign.id == observation.sign) else {
        return 1.0;
    };
    let chance = sign_chance(model, sign, kind);
    if observation.present { chance } else { 1.0 - chance }
}

/// Probability that a sign is present, given the faults.
pub(crate) fn sign_chance(model: &Model<'_>, sign: &Sign, kind: Kind) -> f64 {
    if kind == Kind::Unknown {
        return 0.5;
    }
    let mut absent = 1.0 - sign.otherwise;
    for fault in faults_of(model, kind) {
        if fault.origin != Origin::Listed {
            continue;
        }
        let part = &model.circuit.parts[fault.part];
        for explains in &sign.explained_by {
            let same_mode =
                explains.mode.as_ref().is_none_or(|mode| part.modes[fault.mode].id == *mode);
            if explains.part == part.id && same_mode {
                absent *= 1.0 - explains.chance;
            }
        }
    }
    1.0 - absent
}
