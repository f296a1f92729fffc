//! Readings in doubt: what is to be taken again, and when that is settled.
//!
//! Belongs here: which readings more likely were taken wrongly than not, and which of those two
//! later ones have outvoted. Does not belong here: the chance of a mistake
//! ([`crate::posterior`]) and what follows for the outcome ([`super::outcome`]).
//!
//! Nothing is struck because a second reading came out otherwise: a joint that comes and goes and
//! an overload that closes look just so, and a struck reading would hide them. A third reading
//! decides: where two agree and the third alone fits nothing, it stands on the record and is no
//! doubt any more.

use super::outcome::MISTAKEN_MIN;
use crate::case::{Case, Shown};
use crate::checks::Checked;
use crate::circuit::Circuit;
use crate::likelihood::Prepared;
use crate::predict::Setup;
use crate::sentences;
use crate::units::Quantity;
use crate::verdict::Retake;

/// Readings of the same that agree and outvote an odd one.
const OUTVOTED_BY: usize = 2;

/// A reading that all leans on is taken so often at most: a third time where either of two still
/// leaves too little without it.
pub(super) const BORNE_OUT_BY: usize = 3;

/// How often a reading was taken in the same way, itself included.
pub(super) fn times_taken(prepared: &[Prepared], reading: usize) -> usize {
    prepared.iter().filter(|known| same_way(&known.setup, &prepared[reading].setup)).count()
}

/// Whether two readings were taken in the same way, the probes one way or the other; a diode is
/// another reading the other way round.
fn same_way(one: &Setup, two: &Setup) -> bool {
    let turned = one.quantity != Quantity::Diode && (one.from, one.to) == (two.to, two.from);
    let how = |setup: &Setup| (setup.quantity, setup.state, setup.low_impedance);
    how(one) == how(two)
        && one.lifted == two.lifted
        && (turned || (one.from, one.to) == (two.from, two.to))
}

/// By reading: whether it was more likely taken wrongly than not, and nothing settles that.
pub(super) fn doubted(case: &Case, prepared: &[Prepared], mistaken: &[f64]) -> Vec<bool> {
    let fits = |reading: usize| mistaken[reading] <= MISTAKEN_MIN;
    let shown = |reading: usize| &case.readings[reading].shown;
    let agree = |one: usize, two: usize| match (shown(one), shown(two)) {
        (Shown::Value { .. }, Shown::Value { .. }) => {
            let known = &prepared[one];
            known.same_shown(known.seen(shown(one)), known.seen(shown(two)))
        }
        (Shown::Value { .. }, _) | (_, Shown::Value { .. }) => false,
        (one, two) => one == two,
    };
    (0..mistaken.len())
        .map(|reading| {
            if fits(reading) {
                return false;
            }
            let others: Vec<usize> = (0..mistaken.len())
                .filter(|&other| other != reading && fits(other))
                .filter(|&other| same_way(&prepared[other].setup, &prepared[reading].setup))
                .collect();
            let votes = |one: usize| others.iter().filter(|&&two| agree(one, two)).count();
            let most = others.iter().map(|&one| votes(one)).max().unwrap_or(0);
            most < OUTVOTED_BY
        })
        .collect()
}

/// What to take again, the checks' own requests first.
pub(super) fn retakes(
    case: &Case,
    circuit: &Circuit,
    checked: &Checked,
    doubted: &[bool],
) -> Vec<Retake> {
    let mut retake = checked.retake.clone();
    for (reading, _) in case.readings.iter().zip(doubted).filter(|(_, doubted)| **doubted) {
        if !retake.iter().any(|known| known.reading == reading.id) {
            retake.push(Retake {
                reading: reading.id.clone(),
                says: format!(
                    "Retake {} ({}): it does not fit the others. Check the pins touched and what was lifted.",
                    reading.id,
                    sentences::reading(circuit, reading)
                ),
            });
        }
    }
    retake
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_diode_is_another_reading_the_other_way_round() {
        let taken = |quantity, from, to| Setup {
            quantity,
            from,
            to,
            lifted: Vec::new(),
            state: None,
            low_impedance: false,
            part_temp_c: None,
            stopped_min: None,
        };
        for (quantity, same) in [(Quantity::Resistance, true), (Quantity::Diode, false)] {
            assert!(same_way(&taken(quantity, 1, 2), &taken(quantity, 1, 2)), "{quantity:?}");
            assert_eq!(
                same_way(&taken(quantity, 1, 2), &taken(quantity, 2, 1)),
                same,
                "{quantity:?}"
            );
        }
    }
}
