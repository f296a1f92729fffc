//! Cover: which qualifications somebody on duty holds, and when.
//!
//! Belongs here: whether a change makes it less, and when nobody is on call. Does not belong here: what
//! happens because of it; a swap is refused, a hole is shown.

use std::collections::BTreeSet;

use crate::calendar::{Span, gaps, joined};
use crate::duty::{Entry, Kind};

/// An entry with what its person is qualified for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Qualified<'a> {
    /// The entry.
    pub entry: Entry,
    /// What they hold.
    pub holds: &'a [String],
}

/// A qualification that is covered for less time than before, and the first time of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lost {
    /// Which.
    pub qualification: String,
    /// The first time at which somebody on duty held it and nobody does any more.
    pub span: Span,
}

/// What cover is lost between two rotas, among those on shift and on call, and for itself among
/// those on the second rota. Two who change places move cover from one time to another; it is
/// lost where a qualification is covered for more than `allowed_min` minutes less.
#[must_use]
pub fn lost(before: &[Qualified<'_>], after: &[Qualified<'_>], allowed_min: i64) -> Option<Lost> {
    let held: BTreeSet<&String> = before.iter().flat_map(|one| one.holds).collect();
    let minutes = |spans: &[Span]| spans.iter().map(|span| span.minutes()).sum::<i64>();
    let mut losses: Vec<Lost> = Vec::new();
    for kinds in [&[Kind::Shift, Kind::OnCall][..], &[Kind::Second]] {
        for qualification in &held {
            let (before, after) =
                (covered(before, kinds, qualification), covered(after, kinds, qualification));
            if minutes(&before) - minutes(&after) <= allowed_min {
                continue;
            }
            let first = before.iter().flat_map(|span| gaps(*span, &after)).next();
            let qualification = (*qualification).clone();
            losses.extend(first.map(|span| Lost { qualification, span }));
        }
    }
    losses.into_iter().min_by_key(|lost| lost.span)
}

fn covered(entries: &[Qualified<'_>], kinds: &[Kind], qualification: &str) -> Vec<Span> {
    let holders = entries.iter().filter(|one| {
        kinds.contains(&one.entry.kind) && one.holds.iter().any(|held| held == qualification)
    });
    joined(holders.map(|one| one.entry.span).collect())
}

/// When nobody is on shift or on call although the shop is closed. Where nobody is on call in any
/// of it there is no such thing as a hole: the shop does not work that way.
#[must_use]
pub fn holes(closed: &[Span], entries: &[Entry]) -> Vec<Span> {
    if !entries.iter().any(|entry| entry.kind == Kind::OnCall) {
        return Vec::new();
    }
    let on_duty = crate::duty::spans_of(entries, &[Kind::Shift, Kind::OnCall]);
    closed.iter().flat_map(|span| gaps(*span, &on_duty)).collect()
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, TimeDelta};

    use super::*;

    fn span(from: i64, to: i64) -> Span {
        let at = |hours| DateTime::UNIX_EPOCH + TimeDelta::hours(hours);
        Span::new(at(from), at(to))
    }

    fn on(kind: Kind, from: i64, to: i64, holds: &[String]) -> Qualified<'_> {
        Qualified { entry: Entry::new(kind, span(from, to)), holds }
    }

    #[test]
    fn cover_may_move_but_not_shrink() {
        let (both, one) = (["gas".to_owned(), "ice".to_owned()], ["ice".to_owned()]);
        let before = [on(Kind::OnCall, 0, 10, &both), on(Kind::OnCall, 10, 20, &one)];
        let moved = [on(Kind::OnCall, 0, 10, &one), on(Kind::OnCall, 10, 20, &both)];
        assert_eq!(lost(&before, &moved, 0), None);
        let given = [on(Kind::OnCall, 0, 10, &one), on(Kind::OnCall, 10, 20, &one)];
        let gas = Lost { qualification: "gas".into(), span: span(0, 10) };
        assert_eq!(lost(&before, &given, 0), Some(gas.clone()));
        assert_eq!(lost(&before, &given, 599), Some(gas));
        assert_eq!(lost(&before, &given, 600), None);
        // Somebody on shift covers what somebody on call did, but the second rota covers nothing.
        let shift = [on(Kind::Shift, 0, 10, &both), on(Kind::OnCall, 10, 20, &one)];
        assert_eq!(lost(&before, &shift, 0), None);
        let second = [on(Kind::Second, 0, 10, &both), on(Kind::OnCall, 10, 20, &one)];
        assert_eq!(lost(&before, &second, 0).unwrap().span, span(0, 10));
    }

    #[test]
    fn a_hole_is_closed_time_without_anybody_in_a_shop_that_has_people_on_call() {
        let closed = [span(0, 8), span(17, 32)];
        let call = |from, to| Entry::new(Kind::OnCall, span(from, to));
        assert_eq!(holes(&closed, &[call(0, 8), call(17, 30)]), [span(30, 32)]);
        assert_eq!(holes(&closed, &[Entry::new(Kind::Shift, span(8, 17))]), []);
    }
}
