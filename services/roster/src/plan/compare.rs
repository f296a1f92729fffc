//! A plan beside the board as it is: what changes for each job, and why.
//!
//! Belongs here: the changes, their reasons in words, and what each side costs. Does not belong
//! here: the search, and taking the changes over (the store's).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::check::{Fault, faults};
use super::why::length_words;
use super::{CLASS_LAST, LeftOut, Plan, Problem, Span, Visit};

/// Beginning sooner by less than this is not worth a word, minutes.
const SOONER_MIN: i64 = 10;
/// Driving less by less than this is not either, minutes.
const DRIVE_LESS_MIN: i64 = 4;
/// Nor having had less weekend work by less than this, hours.
const BURDEN_LESS_H: f64 = 1.0;

/// Where a job stands on the board.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Now {
    /// Index of whoever has it, where they are in the plan.
    pub person: Option<usize>,
    /// The name of whoever has it, where they are not.
    pub elsewhere: Option<String>,
    /// When it is planned for.
    pub span: Option<Span>,
}

/// What the plan does with a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// It cannot be moved.
    Held,
    /// It could be, and is best where it is.
    Stays,
    /// Nobody had it, or nobody had a time for it.
    Placed,
    /// It goes to somebody else or to another time.
    Moved,
    /// There is no place for it; whoever has it keeps it, without a time.
    LeftOut,
}

/// What changes for one job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// Index of the job.
    pub job: usize,
    /// What happens to it.
    pub kind: Kind,
    /// Why, in a sentence.
    pub why: String,
    /// Minutes of driving to it as the board is; `None` where it has no time there.
    pub drive_before_min: Option<i64>,
    /// Minutes of driving to it in the plan.
    pub drive_after_min: Option<i64>,
}

/// What one side costs.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Totals {
    /// Minutes driven by all together.
    pub driven_min: i64,
    /// Jobs with a person and a time.
    pub placed: usize,
    /// Those without.
    pub without: usize,
    /// By class: the longest and the mean wait, minutes, and of how many.
    pub waits: [Option<Wait>; CLASS_LAST as usize + 1],
    /// Promises broken: begun outside the window, by whom it may not be, or not to be reached.
    pub broken: usize,
}

/// How long the jobs of a class wait.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wait {
    /// The longest, minutes.
    pub longest_min: i64,
    /// The mean, minutes.
    pub mean_min: f64,
}

/// A plan beside the board.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// The board as it is, as a plan.
    pub board: Plan,
    /// By job, in the problem's order.
    pub changes: Vec<Change>,
    /// The board as it is.
    pub before: Totals,
    /// The plan.
    pub after: Totals,
}

/// The way to each visit: from the visit before, or from where a duty begins. Visits are in
/// order of person and time.
pub fn drives(problem: &Problem, visits: &mut [Visit]) {
    let mut before: Option<Visit> = None;
    for visit in visits {
        let person = &problem.people[visit.person];
        let duty = person.duty_joined();
        let held = problem.jobs[visit.job].held.is_some();
        let of = |span: Span, held: bool| {
            duty.iter().position(|d| if held { d.meets(span) } else { d.holds(span) })
        };
        let here = of(visit.span, held);
        let last = before.filter(|last| last.person == visit.person);
        let last_here = last.and_then(|l| of(l.span, problem.jobs[l.job].held.is_some()));
        let near = last.filter(|last| {
            last_here == here && visit.span.start_min - last.span.end_min < problem.rest.rest_min
        });
        let from = match (near, here) {
            (Some(near), _) => problem.jobs[near.job].place,
            (None, Some(here)) => {
                let begins_min = duty[here].start_min.max(person.rest_until_min);
                let at_start = last_here != Some(here)
                    && begins_min <= 0
                    && visit.span.start_min < begins_min + problem.rest.duty_max_min;
                if at_start { person.place } else { person.home }
            }
            (None, None) => person.home,
        };
        visit.drive_min = problem.travel.between_min(from, problem.jobs[visit.job].place);
        before = Some(*visit);
    }
}

/// The plan beside the board; `board` has one entry per job. `says` puts a minute into words.
#[must_use]
pub fn compare(
    problem: &Problem,
    board: &[Now],
    plan: &Plan,
    says: &dyn Fn(i64) -> String,
) -> Comparison {
    let as_is = board_as_plan(problem, board);
    let board_faults = faults(problem, &as_is);
    let mut of_job: BTreeMap<usize, &Fault> = BTreeMap::new();
    for fault in &board_faults {
        if let Some(visit) = fault.visit() {
            of_job.entry(as_is.visits[visit].job).or_insert(fault);
        }
    }
    let looked = Looked { problem, as_is: &as_is, plan, of_job, says };
    let changes = (0..problem.jobs.len()).map(|job| looked.change(job, &board[job])).collect();
    let after_faults = faults(problem, plan).len();
    let before = totals(problem, &as_is, looked.of_job.len());
    let after = totals(problem, plan, after_faults);
    Comparison { changes, before, after, board: as_is }
}

fn board_as_plan(problem: &Problem, board: &[Now]) -> Plan {
    let mut plan = Plan::default();
    for (job, now) in board.iter().enumerate() {
        match (now.person, now.span) {
            (Some(person), Some(span)) => {
                plan.visits.push(Visit { person, job, span, drive_min: 0 });
            }
            _ => plan.left_out.push(LeftOut { job, reason: String::new() }),
        }
    }
    plan.visits.sort_by_key(|visit| (visit.person, visit.span, visit.job));
    drives(problem, &mut plan.visits);
    plan
}

fn totals(problem: &Problem, plan: &Plan, broken: usize) -> Totals {
    let waits = plan
        .waits_min(problem)
        .map(|wait| wait.map(|(longest_min, mean_min)| Wait { longest_min, mean_min }));
    Totals {
        driven_min: plan.driven_min(),
        placed: plan.visits.len(),
        without: plan.left_out.len(),
        waits,
        broken,
    }
}

/// Everything that a reason may be found in.
struct Looked<'a> {
    problem: &'a Problem,
    as_is: &'a Plan,
    plan: &'a Plan,
    /// What each job breaks on the board.
    of_job: BTreeMap<usize, &'a Fault>,
    says: &'a dyn Fn(i64) -> String,
}

impl Looked<'_> {
    fn change(&self, job: usize, now: &Now) -> Change {
        let of = |plan: &Plan| plan.visits.iter().find(|visit| visit.job == job).copied();
        let (before, after) = (of(self.as_is), of(self.plan));
        let (kind, why) = match (before, after) {
            _ if self.problem.jobs[job].held.is_some() => {
                (Kind::Held, "it is under way or pinned".to_owned())
            }
            (_, None) => {
                let left = self.plan.left_out.iter().find(|left| left.job == job);
                (Kind::LeftOut, left.map(|left| left.reason.clone()).unwrap_or_default())
            }
            (Some(before), Some(after))
                if (before.person, before.span) == (after.person, after.span) =>
            {
                (Kind::Stays, "nothing better was found for it".to_owned())
            }
            (Some(before), Some(after)) => (Kind::Moved, self.moved(before, after)),
            (None, Some(after)) => (Kind::Placed, self.placed(now, after)),
        };
        Change {
            job,
            kind,
            why,
            drive_before_min: before.map(|visit| visit.drive_min),
            drive_after_min: after.map(|visit| visit.drive_min),
        }
    }

    fn name(&self, person: usize) -> &str {
        &self.problem.people[person].name
    }

    fn placed(&self, now: &Now, after: Visit) -> String {
        let had = match (now.person, &now.elsewhere) {
            (Some(person), _) => format!("{} had it without a time", self.name(person)),
            (None, Some(name)) => format!("{name} has it and is not on duty in this plan"),
            (None, None) => "nobody had it".to_owned(),
        };
        let job = &self.problem.jobs[after.job];
        let able = self.problem.people.iter().filter(|p| job.skills.is_subset(&p.skills)).count();
        let only = if able == 1 && !job.skills.is_empty() {
            format!("; only {} may do it", self.name(after.person))
        } else {
            String::new()
        };
        format!("{had}; {} of driving to it{only}", length_words(after.drive_min))
    }

    /// Why a job is better off; the strongest reasons first.
    fn moved(&self, before: Visit, after: Visit) -> String {
        let mut because = Vec::new();
        if let Some(fault) = self.of_job.get(&before.job) {
            because.push(self.broken(before, fault));
        }
        let sooner_min = before.span.start_min - after.span.start_min;
        if sooner_min >= SOONER_MIN {
            because.push(format!("it begins {} sooner", length_words(sooner_min)));
        }
        let less_min = before.drive_min - after.drive_min;
        if less_min >= DRIVE_LESS_MIN {
            because.push(format!("{} less driving to it", length_words(less_min)));
        }
        if because.is_empty()
            && let Some(instead) = self.instead(before)
        {
            because.push(instead);
        }
        if because.is_empty() && before.person != after.person {
            let had = |visit: Visit| self.problem.people[visit.person].burden_h;
            let less_h = had(before) - had(after);
            if less_h >= BURDEN_LESS_H {
                let name = self.name(after.person);
                because.push(format!(
                    "measured by even shares of this quarter's weekends, nights and call-outs, \
                     {name} has had {less_h:.0} h less"
                ));
            }
        }
        if because.is_empty() {
            because.push(if before.span.start_min == after.span.start_min {
                "it gets a time of its own within what was kept for it".to_owned()
            } else {
                "all together wait or drive less this way".to_owned()
            });
        }
        because.join("; ")
    }

    /// What whoever had it does then.
    fn instead(&self, before: Visit) -> Option<String> {
        let job = &self.problem.jobs[before.job];
        let visit = self.plan.visits.iter().find(|visit| {
            visit.person == before.person
                && visit.job != before.job
                && visit.span.meets(before.span)
        })?;
        let other = &self.problem.jobs[visit.job];
        let why = if other.class < job.class { "which is more urgent" } else { "which is nearer" };
        Some(format!("{} does {} then, {why}", self.name(before.person), other.title))
    }

    /// What a job breaks on the board.
    fn broken(&self, before: Visit, fault: &Fault) -> String {
        let name = self.name(before.person);
        let at = (self.says)(before.span.start_min);
        match fault {
            Fault::Window { .. } => format!("{at} is outside when work may begin there"),
            Fault::Skill { skill, .. } => format!("{name} does not hold {skill}"),
            Fault::Duty { .. } => format!("{name} is not on duty for all of it"),
            Fault::TooSoon { .. } => format!("{name} could not be there by {at}"),
            Fault::Rest { .. } => format!("it would cut {name}'s rest short"),
            Fault::Pause { .. } => format!("{name} would have no pause"),
            Fault::Length { .. } => {
                format!("it gets {} instead of the whole span kept for it", {
                    length_words(self.problem.jobs[before.job].expected_min)
                })
            }
            Fault::Unknown
            | Fault::NotOnce { .. }
            | Fault::HeldMoved { .. }
            | Fault::Drive { .. } => "the board as it is cannot be kept".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::plan::{Held, Job, Person, RestRule, Travel};

    fn problem() -> Problem {
        let person = |name: &str, place: usize, burden_h: f64| Person {
            id: name.into(),
            name: name.into(),
            skills: BTreeSet::new(),
            duty: vec![Span::new(0, 600)],
            pauses: vec![],
            place,
            home: place,
            rest_until_min: 0,
            burden_h,
        };
        let job = |title: &str, place: usize, class: u8| Job {
            id: title.into(),
            title: title.into(),
            place,
            windows: vec![],
            expected_min: 60,
            skills: BTreeSet::new(),
            class,
            ready_min: 0,
            held: None,
            with: None,
        };
        // Ada lives at 0 and Bo at 1; a quarter of an hour lies between neighbouring places.
        let minutes = (0..16_i64).map(|cell| 15 * (cell / 4 - cell % 4).abs()).collect();
        Problem {
            people: vec![person("Ada", 0, 12.0), person("Bo", 1, 2.0)],
            jobs: vec![job("job 1", 2, 2), job("job 2", 3, 0), job("job 3", 0, 3)],
            travel: Travel::given(4, minutes).unwrap(),
            rest: RestRule { rest_min: 600, duty_max_min: 840 },
        }
    }

    fn now(person: usize, from: i64) -> Now {
        Now { person: Some(person), elsewhere: None, span: Some(Span::new(from, from + 60)) }
    }

    fn visit(problem: &Problem, person: usize, job: usize, from: i64) -> Plan {
        let span = Span::new(from, from + 60);
        let mut plan =
            Plan { visits: vec![Visit { person, job, span, drive_min: 0 }], ..Plan::default() };
        drives(problem, &mut plan.visits);
        for other in (0..3).filter(|other| *other != job) {
            plan.left_out.push(LeftOut { job: other, reason: "nobody is free".into() });
        }
        plan
    }

    fn why(board: [Now; 3], plan: &Plan, job: usize) -> (Kind, String) {
        let problem = problem();
        let compared = compare(&problem, &board, plan, &|minute| format!("minute {minute}"));
        (compared.changes[job].kind, compared.changes[job].why.clone())
    }

    #[test]
    fn a_move_says_what_it_is_good_for() {
        let problem = problem();
        let moved = |board: Now, person, from| {
            let plan = visit(&problem, person, 0, from);
            why([board, Now::default(), Now::default()], &plan, 0)
        };
        assert_eq!(
            moved(now(0, 90), 1, 30),
            (Kind::Moved, "it begins 1 h 00 min sooner; 15 min less driving to it".into())
        );
        let unreachable = moved(now(0, 10), 1, 30);
        assert!(
            unreachable.1.starts_with("Ada could not be there by minute 10"),
            "{unreachable:?}"
        );
        assert_eq!(moved(now(1, 30), 1, 30).0, Kind::Stays);
        let later = moved(now(1, 30), 1, 60);
        assert_eq!(later.1, "all together wait or drive less this way");
    }

    #[test]
    fn a_job_that_makes_room_says_for_what() {
        let problem = problem();
        let mut plan = visit(&problem, 0, 1, 45);
        let span = Span::new(200, 260);
        plan.visits.push(Visit { person: 0, job: 0, span, drive_min: 15 });
        plan.left_out.retain(|left| left.job == 2);
        let board = [now(0, 40), Now::default(), Now::default()];
        let (kind, why) = why(board, &plan, 0);
        assert_eq!((kind, why.as_str()), (Kind::Moved, "15 min less driving to it",));
        let board = [now(0, 60), Now::default(), Now::default()];
        plan.visits[1].drive_min = 30;
        assert_eq!(
            super::tests::why(board, &plan, 0).1,
            "Ada does job 2 then, which is more urgent"
        );
    }

    #[test]
    fn what_nobody_had_is_placed_and_what_has_no_place_says_why() {
        let problem = problem();
        let plan = visit(&problem, 1, 0, 30);
        let board = [Now::default(), now(0, 45), Now::default()];
        assert_eq!(
            why(board.clone(), &plan, 0),
            (Kind::Placed, "nobody had it; 15 min of driving to it".into())
        );
        assert_eq!(why(board, &plan, 1), (Kind::LeftOut, "nobody is free".into()));
        let elsewhere = Now { elsewhere: Some("Cleo".into()), ..Now::default() };
        let (_, why) = why([elsewhere, Now::default(), Now::default()], &plan, 0);
        assert!(why.starts_with("Cleo has it and is not on duty in this plan"), "{why}");
    }

    #[test]
    fn both_sides_are_counted_alike() {
        let mut problem = problem();
        problem.jobs[2].held = Some(Held { person: 0, start_min: 0 });
        let mut plan = visit(&problem, 1, 0, 30);
        plan.visits.insert(0, Visit { person: 0, job: 2, span: Span::new(0, 60), drive_min: 0 });
        plan.left_out.retain(|left| left.job == 1);
        let board = [now(0, 90), Now::default(), now(0, 0)];
        let compared = compare(&problem, &board, &plan, &|minute| minute.to_string());
        assert_eq!((compared.before.driven_min, compared.after.driven_min), (30, 15));
        assert_eq!((compared.before.placed, compared.before.without), (2, 1));
        let wait = compared.before.waits[2].unwrap();
        assert_eq!(wait, Wait { longest_min: 90, mean_min: 90.0 });
        assert_eq!(compared.changes[2].kind, Kind::Held);
    }
}
