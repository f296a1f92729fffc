//! Shifts as spans that keep the rest rule, and what is free of them between held jobs.
//!
//! Belongs here: cutting spans. Does not belong here: searching, or checking what was found.

use super::{Job, Person, RestRule, Span, joined};

/// A person's free time between things that cannot move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// When.
    pub span: Span,
    /// Where they are at its start.
    pub from: usize,
    /// Where they must be at its end.
    pub to: usize,
}

/// Duty cut so that whatever is done within it keeps the rest rule: nothing before the rest that
/// is owed, no piece longer than the longest duty, and a rest between any two pieces that are not
/// one stretch of duty.
#[must_use]
pub fn duty_cut(duty: &[Span], rest_until_min: i64, rule: RestRule) -> Vec<Span> {
    let mut pieces: Vec<Span> = Vec::new();
    let longest_min = rule.duty_max_min.max(1);
    let rest_min = rule.rest_min.max(0);
    // When the present run of work began and ended; a split shift goes on with it.
    let mut run: Option<Span> = None;
    for span in joined(duty) {
        let mut start_min = span.start_min.max(rest_until_min);
        while start_min < span.end_min {
            let goes_on = run.filter(|run| start_min < run.end_min + rest_min);
            let began_min = goes_on.map_or(start_min, |run| run.start_min);
            let end_min = span.end_min.min(began_min + longest_min);
            if start_min < end_min {
                pieces.push(Span::new(start_min, end_min));
                run = Some(Span::new(began_min, end_min));
                start_min = end_min;
            } else {
                start_min = run.map_or(start_min, |run| run.end_min + rest_min).max(start_min + 1);
            }
        }
    }
    pieces
}

/// The same, with the jobs they hold counted as work: duty after a night of held work is cut
/// short, and duty before one begins later.
#[must_use]
pub fn duty_beside(person: &Person, held: &[&Job], rule: RestRule) -> Vec<Span> {
    let work: Vec<Span> = held
        .iter()
        .filter_map(|job| {
            let start_min = job.held?.start_min;
            Some(Span::new(start_min, start_min + job.expected_min))
        })
        .collect();
    // The rest that is owed is from duty; what is held is worked whatever is owed.
    let duty: Vec<Span> = joined(&person.duty)
        .into_iter()
        .map(|on| Span::new(on.start_min.max(person.rest_until_min), on.end_min))
        .filter(|on| on.start_min < on.end_min)
        .collect();
    let mut all: Vec<Span> = duty.iter().chain(&work).copied().collect();
    all.sort_unstable();
    let mut pieces = Vec::new();
    for piece in duty_cut(&all, i64::MIN, rule) {
        for on in duty.iter().filter(|on| on.meets(piece)) {
            let mut start_min = piece.start_min.max(on.start_min);
            let end_min = piece.end_min.min(on.end_min);
            // Held work soon after it is of the same run, which is not to be too long.
            let next = work.iter().filter(|work| {
                work.start_min >= end_min && work.start_min < end_min + rule.rest_min
            });
            if let Some(last_min) = next.map(|work| work.end_min).max() {
                start_min = start_min.max(last_min - rule.duty_max_min);
            }
            if start_min < end_min {
                pieces.push(Span::new(start_min, end_min));
            }
        }
    }
    pieces
}

/// What is free of the person's duty between the jobs they hold.
#[must_use]
pub fn stretches(person: &Person, held_jobs: &[&Job], rule: RestRule) -> Vec<Stretch> {
    let mut held: Vec<(Span, usize)> = held_jobs
        .iter()
        .filter_map(|job| {
            let start_min = job.held?.start_min;
            Some((Span::new(start_min, start_min + job.expected_min), job.place))
        })
        .collect();
    held.sort_unstable();
    let mut out = Vec::new();
    for piece in duty_beside(person, held_jobs, rule) {
        // At the start of the plan they are where they are; any later duty begins at home.
        let fresh = if piece.start_min <= 0 { person.place } else { person.home };
        let mut at = (piece.start_min.max(0), fresh);
        for (span, place) in &held {
            if span.end_min <= piece.start_min || span.start_min >= piece.end_min {
                continue;
            }
            let free = Span::new(at.0, span.start_min);
            if free.length_min() > 0 {
                out.push(Stretch { span: free, from: at.1, to: *place });
            }
            if span.end_min > at.0 {
                at = (span.end_min, *place);
            }
        }
        let free = Span::new(at.0, piece.end_min);
        if free.length_min() > 0 {
            out.push(Stretch { span: free, from: at.1, to: person.home });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULE: RestRule = RestRule { rest_min: 600, duty_max_min: 840 };

    #[test]
    fn a_weekend_on_call_is_cut_into_duties_with_rests_between() {
        let cut = duty_cut(&[Span::new(0, 2880)], 60, RULE);
        assert_eq!(cut, [Span::new(60, 900), Span::new(1500, 2340)]);
    }

    #[test]
    fn duty_after_a_night_of_held_work_is_cut_short_and_before_one_begins_later() {
        let person = Person {
            id: "p".into(),
            name: "P".into(),
            skills: std::collections::BTreeSet::new(),
            duty: vec![Span::new(480, 1020)],
            pauses: vec![],
            place: 0,
            home: 0,
            rest_until_min: 0,
            burden_h: 0.0,
        };
        let held = |start_min, expected_min| Job {
            id: "j".into(),
            title: "J".into(),
            place: 0,
            windows: vec![],
            expected_min,
            skills: std::collections::BTreeSet::new(),
            class: 0,
            ready_min: 0,
            held: Some(crate::plan::Held { person: 0, start_min }),
            with: None,
        };
        let beside = |jobs: &[&Job]| duty_beside(&person, jobs, RULE);
        assert_eq!(beside(&[]), [Span::new(480, 1020)]);
        // From 22:00 the day before to 1:00: fourteen hours after 22:00 it is noon.
        assert_eq!(beside(&[&held(-120, 180)]), [Span::new(480, 720)]);
        // Done at 21:00: rested at 7:00.
        assert_eq!(beside(&[&held(-240, 60)]), [Span::new(480, 1020)]);
        // At 22:00 until midnight: nothing before 10:00.
        assert_eq!(beside(&[&held(1320, 120)]), [Span::new(600, 1020)]);
    }

    #[test]
    fn a_split_shift_is_one_run_of_work() {
        let cut =
            duty_cut(&[Span::new(0, 240), Span::new(300, 540), Span::new(600, 1000)], 0, RULE);
        assert_eq!(cut, [Span::new(0, 240), Span::new(300, 540), Span::new(600, 840)]);
    }

    #[test]
    fn spans_that_touch_are_one_duty() {
        let cut = duty_cut(&[Span::new(0, 400), Span::new(400, 900)], 0, RULE);
        assert_eq!(cut, [Span::new(0, 840)]);
    }
}
