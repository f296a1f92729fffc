//! Climbing, as examples and as properties.
//!
//! Belongs here: tests of [`super`]. Does not belong here: quiet hours by themselves.

use proptest::prelude::*;

use super::super::{Hours, How, Ladders};
use super::*;
use crate::ladder::quiet::zone_of;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn one(id: u8, place: usize) -> Colleague<u8> {
    Colleague {
        id,
        place: Some(place),
        told: true,
        scheduler: false,
        manages: false,
        owner: false,
        delegate: false,
        on_call: false,
        second_rota: false,
        awake: false,
        quiet: None,
    }
}

fn manager(id: u8) -> Colleague<u8> {
    Colleague { place: None, manages: true, ..one(id, 0) }
}

fn night(colleague: Colleague<u8>) -> Colleague<u8> {
    let zone = zone_of("America/Denver").unwrap();
    Colleague {
        quiet: Some(Quiet { hours: Hours { from_min: 22 * 60, to_min: 7 * 60 }, zone }),
        ..colleague
    }
}

/// 22:40 on a Saturday in Denver.
fn saturday_night() -> DateTime<Utc> {
    at("2026-11-29T05:40:00Z")
}

/// 07:00 on the Sunday after.
fn morning() -> DateTime<Utc> {
    at("2026-11-29T14:00:00Z")
}

fn climbed(people: Vec<Colleague<u8>>, never_quiet: bool) -> Vec<Ahead<u8>> {
    let steps = Ladders::shipped().second_read.week;
    ahead(Kind::SecondRead, &steps, saturday_night(), never_quiet, |_| people.clone())
}

#[test]
fn by_day_each_step_asks_more() {
    let people = vec![one(1, 0), one(2, 1), one(3, 2), one(4, 3), manager(9)];
    let story = climbed(people, false);
    let seen: Vec<_> = story
        .iter()
        .map(|step| {
            let minutes = (step.at - saturday_night()).num_minutes();
            (minutes, step.fire.asked.clone(), step.fire.told.clone())
        })
        .collect();
    assert_eq!(seen, [(0, vec![1], vec![]), (5, vec![2, 3], vec![]), (15, vec![4], vec![9])]);
}

#[test]
fn in_quiet_hours_it_goes_to_the_next_who_can_be_reached() {
    let on_call = Colleague { on_call: true, ..night(one(3, 2)) };
    let people = vec![night(one(1, 0)), night(one(2, 1)), on_call];
    let story = climbed(people, false);
    assert_eq!(story[0].fire.asked, [3], "the best placed of those who are awake");
    assert_eq!(story[0].fire.quiet, [(1, morning()), (2, morning())]);
}

#[test]
fn when_all_sleep_it_waits_until_the_morning_and_keeps_its_gaps() {
    let people = vec![night(one(1, 0)), night(one(2, 1)), night(manager(9))];
    let story = climbed(people, false);
    let at_night: Vec<_> = story.iter().filter(|step| step.at == saturday_night()).collect();
    assert_eq!(at_night.len(), 3, "each step is tried at once, and waits");
    assert!(at_night.iter().all(|step| step.fire.held_until() == Some(morning())));
    let by_day: Vec<_> = story
        .iter()
        .filter(|step| step.at >= morning())
        .map(|step| ((step.at - morning()).num_minutes(), step.fire.asked.clone()))
        .collect();
    assert_eq!(by_day, [(0, vec![1]), (5, vec![2]), (15, vec![])]);
}

#[test]
fn what_is_never_quiet_wakes_the_best_placed() {
    let story = climbed(vec![night(one(1, 0)), night(one(2, 1))], true);
    assert_eq!(story[0].fire.asked, [1]);
    assert!(story.iter().all(|step| step.fire.quiet.is_empty()));
}

#[test]
fn a_step_that_finds_nobody_hands_over_at_once() {
    let story = climbed(vec![one(1, 0), manager(9)], false);
    let seen: Vec<_> = story
        .iter()
        .map(|step| ((step.at - saturday_night()).num_minutes(), step.fire.reaches_nobody()))
        .collect();
    assert_eq!(seen, [(0, false), (5, true), (5, false)], "nobody is next, so the managers are");
}

#[test]
fn who_answers_for_money_is_reminded_and_nobody_else_is_told() {
    let boss = Colleague { place: Some(0), owner: true, ..manager(9) };
    let requester = Colleague { place: None, ..manager(8) };
    let steps = Ladders::shipped().approval.week;
    let people = vec![boss, requester];
    let story = ahead(Kind::Approval, &steps, saturday_night(), false, |_| people.clone());
    assert!(story.iter().all(|step| step.fire.asked == [9] && step.fire.told.is_empty()));
    assert_eq!(story.len(), 3);
}

#[test]
fn whoever_waits_for_the_answer_is_not_told_of_it() {
    let requester = Colleague { told: false, ..manager(8) };
    let story = climbed(vec![requester, manager(9)], false);
    assert_eq!(story.last().unwrap().fire.told, [9]);
}

fn any_people() -> impl Strategy<Value = Vec<Colleague<u8>>> {
    prop::collection::vec(any::<(bool, bool, bool, bool)>(), 0..7).prop_map(|all| {
        (0u8..)
            .zip(all)
            .map(|(id, (able, manages, on_call, sleeps))| {
                let plain = Colleague {
                    place: able.then_some(usize::from(id)),
                    manages,
                    on_call,
                    ..one(id, 0)
                };
                if sleeps { night(plain) } else { plain }
            })
            .collect()
    })
}

fn any_steps() -> impl Strategy<Value = Vec<Step<u8>>> {
    let who = prop_oneof![
        Just(Who::Best),
        (1u8..4).prop_map(|count| Who::Next { count }),
        Just(Who::Everyone),
        Just(Who::OnCall),
        Just(Who::Managers),
        (0u8..7).prop_map(|person_id| Who::Person { person_id }),
    ];
    prop::collection::vec((1u32..40, prop::collection::vec(who, 1..3)), 1..8).prop_map(|steps| {
        let mut after_min = 0;
        steps
            .into_iter()
            .map(|(gap, who)| {
                after_min += gap;
                Step { after_min, who, how: How::Mail }
            })
            .collect()
    })
}

proptest! {
    /// Whoever is there and whatever the steps: every step settles, nobody is reached in their
    /// quiet hours, nobody able is asked twice by place, time never runs backwards, and no step
    /// comes later than planned unless quiet hours held it.
    #[test]
    fn a_climb_settles_and_wakes_nobody(
        people in any_people(),
        steps in any_steps(),
        minute in 0i64..366 * 24 * 60,
        never_quiet: bool,
    ) {
        let start = at("2026-01-01T00:00:00Z") + TimeDelta::minutes(minute);
        let story = ahead(Kind::SecondRead, &steps, start, never_quiet, |_| people.clone());

        prop_assert!(story.len() < AHEAD_MAX, "it never ends");
        prop_assert!(story.windows(2).all(|pair| pair[0].at <= pair[1].at));
        for (rung, planned) in steps.iter().enumerate() {
            let last = story.iter().rfind(|step| step.rung == rung);
            prop_assert!(last.is_some_and(|step| step.fire.held_until().is_none()), "{rung}");
            let first = story.iter().find(|step| step.rung == rung).unwrap();
            let planned = start + TimeDelta::minutes(i64::from(planned.after_min));
            prop_assert!(first.at <= planned, "late without a reason");
        }
        for step in &story {
            for id in step.fire.asked.iter().chain(&step.fire.told) {
                let found = people.iter().find(|one| one.id == *id).unwrap();
                prop_assert!(never_quiet || found.quiet_until(step.at).is_none(), "woken");
            }
        }
    }

    /// Bringing forward never lets a step wait longer, keeps the gaps, and leaves what is held.
    #[test]
    fn handing_on_keeps_the_gaps(
        dues in prop::collection::vec((0i64..500, any::<bool>()), 1..8),
        now_min in 0i64..500,
    ) {
        let zero = at("2026-06-01T00:00:00Z");
        let now = zero + TimeDelta::minutes(now_min);
        let before: Vec<Open> = (0i16..).zip(&dues).map(|(rung, (due_min, held))| {
            let due_at = zero + TimeDelta::minutes(*due_min);
            Open { rung, due_at, planned_at: due_at, held: *held }
        }).collect();
        let mut after = before.clone();
        let next = hand_on(&mut after, now);

        prop_assert_eq!(next.is_some(), before.iter().any(|step| !step.held));
        for (old, new) in before.iter().zip(&after) {
            prop_assert!(new.due_at <= old.due_at);
            prop_assert!(!old.held || new.due_at == old.due_at);
        }
        if let Some(rung) = next {
            let due = after.iter().find(|step| step.rung == rung).unwrap().due_at;
            prop_assert!(due <= now);
            let moved: Vec<TimeDelta> = before.iter().zip(&after)
                .filter(|(old, _)| !old.held).map(|(old, new)| old.due_at - new.due_at).collect();
            prop_assert!(moved.windows(2).all(|pair| pair[0] == pair[1]));
        }
    }
}
