//! What a shop may save of its ladders.
//!
//! Belongs here: every reason to refuse, with a JSON pointer and what would be right. Does not
//! belong here: keeping them.

use super::quiet::DAY_MIN;
use super::{AFTER_MIN_MAX, Hours, Kind, Ladders, NEXT_MAX, STEPS_MAX, Step, WHO_MAX, Who};
use crate::queue::Urgency;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// JSON pointer into the ladders.
    pub pointer: String,
    /// What is wrong, and what would be right.
    pub says: String,
}

/// Somebody of the shop, as far as being reachable goes.
#[derive(Clone, Debug)]
pub struct Member<Id> {
    /// Who.
    pub id: Id,
    /// Works as a technician.
    pub technician: bool,
    /// Gives out work.
    pub scheduler: bool,
    /// Service manager or owner.
    pub manages: bool,
    /// Owner.
    pub owner: bool,
}

/// Everything that is wrong with a shop's ladders; `members` are its active people.
pub fn check<Id: PartialEq>(ladders: &Ladders<Id>, members: &[Member<Id>]) -> Vec<Wrong> {
    let mut wrong = Vec::new();
    for kind in Kind::ALL {
        let steps = ladders.of(kind);
        check_steps(&format!("/{}/week", kind.id()), kind, &steps.week, members, &mut wrong);
        if let Some(weekend) = &steps.weekend {
            let pointer = format!("/{}/weekend", kind.id());
            check_steps(&pointer, kind, weekend, members, &mut wrong);
        }
    }
    if let Some(hours) = ladders.quiet {
        wrong.extend(check_hours("/quiet", hours));
    }
    once("/urgent", &ladders.urgent, &mut wrong);
    once("/never_quiet", &ladders.never_quiet, &mut wrong);
    wrong
}

/// What is wrong with quiet hours.
pub fn check_hours(pointer: &str, hours: Hours) -> Option<Wrong> {
    let says = if hours.from_min >= DAY_MIN || hours.to_min >= DAY_MIN {
        format!("Minutes after midnight go from 0 to {}; 22:00 is 1320.", DAY_MIN - 1)
    } else if hours.from_min == hours.to_min {
        "Quiet hours that begin and end at the same minute are none; leave them out instead."
            .to_owned()
    } else {
        return None;
    };
    Some(Wrong { pointer: pointer.to_owned(), says })
}

fn once(pointer: &str, classes: &[Urgency], wrong: &mut Vec<Wrong>) {
    for (index, class) in classes.iter().enumerate() {
        if classes.iter().take(index).any(|earlier| earlier == class) {
            wrong.push(Wrong {
                pointer: format!("{pointer}/{index}"),
                says: "This class is named already; name each once.".to_owned(),
            });
        }
    }
}

fn check_steps<Id: PartialEq>(
    pointer: &str,
    kind: Kind,
    steps: &[Step<Id>],
    members: &[Member<Id>],
    wrong: &mut Vec<Wrong>,
) {
    let mut add = |place: String, says: String| wrong.push(Wrong { pointer: place, says });
    if steps.is_empty() {
        add(pointer.to_owned(), "A ladder needs one step at least.".to_owned());
    }
    if steps.len() > STEPS_MAX {
        let says = format!("These are {} steps; {STEPS_MAX} are the most.", steps.len());
        add(pointer.to_owned(), says);
    }
    for (index, step) in steps.iter().enumerate() {
        let at = format!("{pointer}/{index}");
        if step.after_min > AFTER_MIN_MAX {
            let says = format!("A step comes within {AFTER_MIN_MAX} minutes, a week.");
            add(format!("{at}/after_min"), says);
        }
        let before = index.checked_sub(1).and_then(|before| steps.get(before));
        if let Some(before) = before
            && step.after_min <= before.after_min
        {
            let says = format!(
                "Each step comes later than the one before, which is at {} min; give more than \
                 that.",
                before.after_min
            );
            add(format!("{at}/after_min"), says);
        }
        if step.who.is_empty() || step.who.len() > WHO_MAX {
            add(format!("{at}/who"), format!("A step reaches one to {WHO_MAX} groups."));
        }
        for (place, who) in step.who.iter().enumerate() {
            let place_of = format!("{at}/who/{place}");
            if step.who.iter().take(place).any(|earlier| earlier == who) {
                add(place_of.clone(), "This group is named already; name each once.".to_owned());
            }
            if let Some(says) = misplaced(kind, who, members) {
                add(place_of, says);
            }
        }
        if !step.who.is_empty() && !step.who.iter().any(|who| reaches_somebody(kind, who, members))
        {
            let says = "Nobody in the shop could be reached by this step. Add a group that has \
                        somebody in it, or give somebody that role.";
            add(format!("{at}/who"), says.to_owned());
        }
    }
}

/// What is wrong with a group whoever is in the shop.
fn misplaced<Id: PartialEq>(kind: Kind, who: &Who<Id>, members: &[Member<Id>]) -> Option<String> {
    match who {
        Who::Next { count } if *count == 0 || *count > NEXT_MAX => {
            Some(format!("\"The next\" are 1 to {NEXT_MAX} people; for more there is everyone."))
        }
        Who::Delegate if kind != Kind::Approval => {
            Some("A delegate answers for money; name one in the ladder for approvals.".to_owned())
        }
        Who::Person { person_id } if !members.iter().any(|one| one.id == *person_id) => {
            Some("There is no such person at work in the shop; choose somebody else.".to_owned())
        }
        _ => None,
    }
}

/// Whether a group can have somebody in it. Who is on call or a delegate changes by the hour,
/// so that it could be somebody is enough.
fn reaches_somebody<Id: PartialEq>(kind: Kind, who: &Who<Id>, members: &[Member<Id>]) -> bool {
    let able = |one: &Member<Id>| match kind {
        Kind::SecondRead | Kind::UrgentJob => one.technician,
        Kind::Approval => one.manages,
    };
    let any = |wanted: &dyn Fn(&Member<Id>) -> bool| members.iter().any(wanted);
    match who {
        Who::Best | Who::Next { .. } | Who::Everyone => any(&able),
        Who::Schedulers => any(&|one| one.scheduler),
        Who::Managers => any(&|one| one.manages),
        Who::Owners => any(&|one| one.owner),
        Who::Person { person_id } => any(&|one| one.id == *person_id),
        // These may be empty now; a step that finds nobody hands over to the next at once.
        Who::OnCall | Who::SecondRota => any(&able),
        Who::Delegate => kind == Kind::Approval && any(&|one| one.manages),
    }
}

#[cfg(test)]
mod tests {
    use super::super::How;
    use super::*;

    fn members() -> Vec<Member<u8>> {
        let one = |id, technician, manages| Member {
            id,
            technician,
            scheduler: manages,
            manages,
            owner: manages,
        };
        vec![one(1, true, false), one(2, false, true)]
    }

    fn step(after_min: u32, who: Vec<Who<u8>>) -> Step<u8> {
        Step { after_min, who, how: How::Mail }
    }

    fn pointers(change: impl FnOnce(&mut Ladders<u8>)) -> Vec<String> {
        let mut ladders = Ladders::shipped();
        change(&mut ladders);
        check(&ladders, &members()).into_iter().map(|wrong| wrong.pointer).collect()
    }

    #[test]
    fn what_ships_may_be_saved() {
        assert_eq!(pointers(|_| {}), Vec::<String>::new());
    }

    #[test]
    fn every_fault_is_named_where_it_is() {
        let week = |steps: Vec<Step<u8>>| {
            pointers(|ladders| {
                ladders.urgent_job = super::super::Steps { week: steps, weekend: None }
            })
        };
        assert_eq!(week(vec![]), ["/urgent_job/week"]);
        assert_eq!(
            week((0..9).map(|at| step(at, vec![Who::Best])).collect()),
            ["/urgent_job/week"]
        );
        let same = vec![step(3, vec![Who::Best]), step(3, vec![Who::Everyone])];
        assert_eq!(week(same), ["/urgent_job/week/1/after_min"]);
        assert_eq!(week(vec![step(99_999, vec![Who::Best])]), ["/urgent_job/week/0/after_min"]);
        assert_eq!(week(vec![step(0, vec![])]), ["/urgent_job/week/0/who"]);
        let twice = vec![step(0, vec![Who::Best, Who::Best])];
        assert_eq!(week(twice), ["/urgent_job/week/0/who/1"]);
        for who in [Who::Next { count: 0 }, Who::Next { count: 21 }] {
            assert_eq!(week(vec![step(0, vec![who])]), ["/urgent_job/week/0/who/0"]);
        }
        let nobody = ["/urgent_job/week/0/who/0", "/urgent_job/week/0/who"];
        assert_eq!(week(vec![step(0, vec![Who::Delegate])]), nobody);
        assert_eq!(week(vec![step(0, vec![Who::Person { person_id: 7 }])]), nobody);
        assert!(week(vec![step(0, vec![Who::Person { person_id: 1 }])]).is_empty());
    }

    #[test]
    fn a_step_that_can_reach_nobody_is_refused() {
        let alone =
            [Member { id: 1, technician: true, scheduler: false, manages: false, owner: false }];
        let wrong = check(&Ladders::shipped(), &alone);
        let pointers: Vec<&str> = wrong.iter().map(|wrong| wrong.pointer.as_str()).collect();
        assert_eq!(
            pointers,
            ["/approval/week/0/who", "/approval/week/1/who", "/approval/week/2/who"]
        );
    }

    #[test]
    fn quiet_hours_are_minutes_of_a_day() {
        let quiet =
            |from_min, to_min| pointers(|ladders| ladders.quiet = Some(Hours { from_min, to_min }));
        assert_eq!(quiet(1320, 420), Vec::<String>::new());
        assert_eq!(quiet(1440, 420), ["/quiet"]);
        assert_eq!(quiet(300, 300), ["/quiet"]);
    }
}
