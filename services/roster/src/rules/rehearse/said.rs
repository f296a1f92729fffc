//! A trial's answer in words.
//!
//! Belongs here: sentences. Does not belong here: playing.

use serde::Serialize;

use super::Course;
use super::papers::{Kind, Papers};
use crate::rules::action::Action;

/// What a trial made of an action.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Played {
    /// Its identifier.
    pub action: &'static str,
    /// It was played; only counted otherwise.
    pub played: bool,
    /// How, or why not.
    pub says: String,
}

pub(super) fn answer(fired: usize, without: Course, with: Course) -> String {
    let times = match fired {
        0 => {
            return format!(
                "Would not have fired. {} calls came; the longest urgent wait was {}.",
                without.calls,
                span(without.longest_urgent_min)
            );
        }
        1 => "once".to_owned(),
        count => format!("{count} times"),
    };
    let mut says = format!("Would have fired {times}");
    if with.put_off > 0 {
        let calls = if with.put_off == 1 { "call" } else { "calls" };
        says += &format!("; {} {calls} deferred", with.put_off);
    }
    let (before, after) = (span(without.longest_urgent_min), span(with.longest_urgent_min));
    if before == after {
        says += &format!("; the longest urgent wait stays at {after}");
    } else {
        says += &format!("; longest urgent wait {after} instead of {before}");
    }
    if without.late != with.late {
        says += &format!("; {} urgent calls late instead of {}", with.late, without.late);
    }
    for (what, before, after) in [
        ("a second read", without.longest_read_min, with.longest_read_min),
        ("an approval", without.longest_approval_min, with.longest_approval_min),
    ] {
        let (before, after) = (span(before), span(after));
        if before != after {
            says += &format!("; the longest wait for {what} {after} instead of {before}");
        }
    }
    says.push('.');
    says
}

/// How an action was played; `papers` is none for a span of which none are known.
pub(super) fn played(action: &Action, papers: Option<&Papers>) -> Played {
    let count =
        |kind| papers.map(|papers| papers.all.iter().filter(|paper| paper.kind == kind).count());
    let counted = |why: &str| (false, format!("Only counted: {why}"));
    let (played, says) = match action {
        Action::CallOutNext {} => (
            true,
            "Played: whoever is called out comes, and is sent like everybody on duty.".to_owned(),
        ),
        Action::OpenSecondRota {} => {
            (true, "Played: those on the second rota come as soon as it is opened.".to_owned())
        }
        Action::DeferComfort { .. } => (
            true,
            "Played: what is put off leaves the queue until the next open day. Whether it gets \
             worse until then is not played."
                .to_owned(),
        ),
        Action::WidenReaders {} => match count(Kind::Read) {
            None => counted("a drawn weekend has calls, but no second reads."),
            Some(0) => counted("no second read waited in that time."),
            Some(reads) => (
                true,
                format!(
                    "Played on {}: everybody who may read and had not been asked by then answers as \
                     soon as they did in the last 90 days; the middle case is taken. What that \
                     changes for whoever stands on the roof is not played.",
                    many(reads, "second read")
                ),
            ),
        },
        Action::OfferRemoteRead {} => counted(
            "how much sooner somebody answers who need not drive is in nothing that the shop keeps.",
        ),
        Action::DelegateApprovals { person_id, .. } => match (person_id, count(Kind::Approval)) {
            (_, None) => counted("a drawn weekend has calls, but no approvals."),
            (_, Some(0)) => counted("no approval waited in that time."),
            (None, _) => counted("nobody is named yet, and people answer each in their own time."),
            (Some(_), Some(approvals)) => (
                true,
                format!(
                    "Played on {}: the delegate answers one below the amount as soon as they \
                     answer when they are asked for a second read; the middle case is taken. One \
                     that comes later reaches them when its ladder asks a delegate.",
                    many(approvals, "approval")
                ),
            ),
        },
        Action::AskNeighbour { .. } => counted(
            "whether a neighbouring crew comes is theirs to say, and in nothing that the shop keeps.",
        ),
    };
    Played { action: action.id(), played, says }
}

fn many(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// "2 h 10", "45 min".
#[must_use]
pub fn span(minutes: f64) -> String {
    let minutes = minutes.round().max(0.0) as i64;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes:02}"),
    }
}
