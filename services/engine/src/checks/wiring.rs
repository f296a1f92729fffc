//! Whether the wires are where the drawing has them.
//!
//! Belongs here: what is not condemned before somebody looked, and what follows from the answer.
//! Does not belong here: faults of wires, which are hypotheses ([`crate::posterior`]).

use super::Checked;
use crate::case::Case;
use crate::circuit::Circuit;
use crate::verdict::{Check, CheckResult, Owed};

/// Every prediction is of the circuit as drawn: two wires that changed places read like a break.
pub(super) fn as_drawn(
    circuit: &Circuit,
    case: &Case,
    before: &[String],
    sign: &str,
    checked: &mut Checked,
) {
    let claimed = case.claim.as_ref().and_then(|claim| {
        let before = before.iter().find(|id| **id == claim.component)?;
        circuit.components.iter().find(|known| known.id == *before)
    });
    let looked = case.observations.iter().rev().find(|observation| observation.sign == sign);
    let (result, says) = match (looked.map(|observation| observation.present), claimed) {
        (Some(true), _) => {
            (CheckResult::Pass, "The wires sit where the drawing has them.".to_owned())
        }
        (Some(false), _) => {
            checked.owed.push(Owed {
                check: CHECK.into(),
                says: "Put the wires where the drawing has them, or send in a drawing of what is there; then read again: what was read so far is of another circuit.".into(),
                sign: None,
            });
            (
                CheckResult::Fail,
                "The wires do not sit where the drawing has them: no reading says which part has failed.".to_owned(),
            )
        }
        (None, Some(component)) => {
            checked.owed.push(Owed {
                check: CHECK.into(),
                says: format!(
                    "Before the {} is condemned, follow its wires from end to end and compare them with the drawing: two that changed places read like a break.",
                    component.label
                ),
                sign: Some(sign.to_owned()),
            });
            (CheckResult::Waiting, "Nobody has said yet whether the wires are as drawn.".to_owned())
        }
        (None, None) => return,
    };
    checked.checks.push(Check {
        id: CHECK.into(),
        title: "Wires as drawn".into(),
        result,
        says,
        source: "common practice, no source".into(),
        readings: Vec::new(),
    });
}

const CHECK: &str = "wires_as_drawn";
