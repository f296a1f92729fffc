//! Why somebody stands where they do in the order of asking.
//!
//! Belongs here: the clauses a requester reads. Does not belong here: the order itself.

use super::{Candidate, Duty, PAIR_READS_MIN, answers_in_min};

/// From this part of a requester's reads on, the pair is named as a reason.
const PAIR_NAMED_FROM: f64 = 0.5;

/// What speaks for asking them, then what speaks against.
pub(super) fn because<Id>(candidate: &Candidate<Id>, qualification: Option<&str>) -> Vec<String> {
    let mut because = Vec::new();
    if qualification.is_some() {
        because.push("qualified for this part".to_owned());
    }
    match candidate.duty {
        // Whoever is on a job is at work; that is said below.
        Some(Duty::OnShift) if candidate.on_a_job => {}
        Some(Duty::OnShift) => because.push(until("on shift", candidate)),
        Some(Duty::OnCall) => because.push(until("on call", candidate)),
        Some(Duty::Off) => because.push("off duty".to_owned()),
        None => {}
    }
    let minutes = answers_in_min(candidate);
    because.push(if candidate.answers == 0 && candidate.waited_min <= 0.0 {
        "not asked often enough yet to say how soon they answer".to_owned()
    } else {
        format!("usually answers in about {}", about(minutes))
    });
    because.push(match candidate.open_reads {
        0 => "has no other read open".to_owned(),
        1 => "has 1 other read open".to_owned(),
        many => format!("has {many} other reads open"),
    });
    if candidate.on_a_job {
        because.push("is on a job now".to_owned());
    }
    because.push(match candidate.asked_7d {
        0 => "not asked this week".to_owned(),
        1 => "asked once this week".to_owned(),
        times => format!("asked {times} times this week"),
    });
    let (theirs, all) = (candidate.read_for_requester, candidate.reads_of_requester);
    if all >= PAIR_READS_MIN && f64::from(theirs) >= PAIR_NAMED_FROM * f64::from(all) {
        because.push(format!(
            "read {theirs} of this requester's last {all}: someone else sees it with other eyes"
        ));
    }
    because
}

/// "on call until Mon 7 Dec, 07:00, site time".
fn until<Id>(says: &str, candidate: &Candidate<Id>) -> String {
    match &candidate.duty_until {
        Some(until) => format!("{says} until {until}, site time"),
        None => says.to_owned(),
    }
}

/// "4 min", "25 min", "2 h".
fn about(minutes: f64) -> String {
    let whole = minutes.round().max(1.0);
    if whole < 60.0 { format!("{whole} min") } else { format!("{} h", (whole / 60.0).round()) }
}
