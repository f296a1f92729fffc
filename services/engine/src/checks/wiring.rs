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
    let (result, says) = match (looks(case, sign), claimed) {
        (Looks::AsDrawn, _) => {
            (CheckResult::Pass, "The wires sit where the drawing has them.".to_owned())
        }
        (Looks::Otherwise, _) => {
            checked.owed.push(Owed {
                check: CHECK.into(),
                says: "Put the wires where the drawing has them, or send in a drawing of what is there; then strike what was read so far, for it is of another circuit, and read again. Two looks at the wires put right settle it.".into(),
                sign: None,
            });
            (
                CheckResult::Fail,
                "The wires do not sit where the drawing has them: no reading says which part has failed.".to_owned(),
            )
        }
        (Looks::NotSettled, _) => {
            checked.owed.push(Owed {
                check: CHECK.into(),
                says: "Look at the wires once more, each from end to end, and move none in between: one look said that they do not sit where the drawing has them, and two in a row that agree settle it.".into(),
                sign: Some(sign.to_owned()),
            });
            (
                CheckResult::Waiting,
                "A look said that the wires do not sit where the drawing has them, and no two in a row have agreed since.".to_owned(),
            )
        }
        (Looks::None, Some(component)) => {
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
        (Looks::None, None) => return,
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

/// What those who looked have said so far.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Looks {
    None,
    AsDrawn,
    /// A "no" that no other look has borne out, or a "yes" that stands against it: who mistakes a
    /// wire once must not block the job for good.
    NotSettled,
    Otherwise,
}

/// As drawn where nobody ever said otherwise; from a "no" on, the last two looks must agree.
fn looks(case: &Case, sign: &str) -> Looks {
    let mut last_first = case
        .observations
        .iter()
        .rev()
        .filter(|observation| observation.sign == sign)
        .map(|observation| observation.present);
    let Some(last) = last_first.next() else { return Looks::None };
    let before = last_first.next();
    if before == Some(last) {
        return if last { Looks::AsDrawn } else { Looks::Otherwise };
    }
    if last && before.is_none() { Looks::AsDrawn } else { Looks::NotSettled }
}
