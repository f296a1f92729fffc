//! Promises of the order of asking.
//!
//! Belongs here: tests of [`super::readers`]. Does not belong here: when somebody is asked.

use chrono::{DateTime, Utc};
use proptest::prelude::*;

use super::*;

fn at(hour: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_795_000_000 + hour * 3_600, 0).unwrap()
}

fn candidate(id: u32) -> Candidate<u32> {
    Candidate {
        id,
        active: true,
        technician: true,
        qualifications: vec!["sealed_system".to_owned()],
        requester: false,
        took_reading: false,
        stood_aside: false,
        has_read: false,
        declined: false,
        duty: None,
        duty_until: None,
        on_leave: false,
        on_a_job: false,
        open_reads: 0,
        answers: 0,
        waited_min: 0.0,
        asked_7d: 0,
        last_asked_at: Some(at(0)),
        read_for_requester: 0,
        reads_of_requester: 0,
    }
}

fn order(candidates: Vec<Candidate<u32>>) -> Vec<u32> {
    readers(candidates, None).ranked.into_iter().map(|ranked| ranked.id).collect()
}

#[test]
fn each_exclusion_has_its_reason() {
    let candidates = vec![
        Candidate { active: false, ..candidate(1) },
        Candidate { requester: true, took_reading: true, ..candidate(2) },
        Candidate { took_reading: true, ..candidate(3) },
        Candidate { technician: false, ..candidate(4) },
        Candidate { qualifications: vec!["combustion".to_owned()], ..candidate(5) },
        Candidate { stood_aside: true, ..candidate(6) },
        Candidate { has_read: true, ..candidate(7) },
        Candidate { declined: true, ..candidate(8) },
        candidate(9),
        Candidate { on_leave: true, ..candidate(10) },
    ];
    let asked = readers(candidates, Some("sealed_system"));
    assert_eq!(asked.ranked.iter().map(|ranked| ranked.id).collect::<Vec<_>>(), [9]);
    assert_eq!(
        asked.excluded,
        [
            (1, WhyNot::Inactive),
            (2, WhyNot::Requester),
            (3, WhyNot::TookReading),
            (4, WhyNot::NotTechnician),
            (5, WhyNot::NotQualified),
            (6, WhyNot::StoodAside),
            (7, WhyNot::HasRead),
            (8, WhyNot::Declined),
            (10, WhyNot::OnLeave),
        ]
    );
}

#[test]
fn whoever_is_free_and_at_work_goes_first_and_the_never_asked_before_equals() {
    let candidates = vec![
        Candidate { open_reads: 1, last_asked_at: None, ..candidate(1) },
        Candidate { duty: Some(Duty::Off), ..candidate(2) },
        Candidate { duty: Some(Duty::OnCall), ..candidate(3) },
        Candidate { last_asked_at: None, ..candidate(4) },
        Candidate { duty: Some(Duty::OnShift), ..candidate(5) },
        Candidate { on_a_job: true, ..candidate(6) },
    ];
    assert_eq!(order(candidates), [4, 5, 3, 6, 1, 2]);
}

#[test]
fn quick_answers_and_silence_both_count() {
    let quick = Candidate { answers: 6, waited_min: 12.0, ..candidate(1) };
    let unknown = candidate(2);
    // Asked twice for twenty minutes each and never said a word.
    let silent = Candidate { waited_min: 40.0, ..candidate(3) };
    assert_eq!(answers_in_min(&unknown), ANSWER_PRIOR_MIN);
    assert_eq!(order(vec![silent, unknown, quick]), [1, 2, 3]);
}

#[test]
fn the_asking_goes_round_and_a_pair_that_always_reads_for_each_other_is_parted() {
    let usual = Candidate { read_for_requester: 8, reads_of_requester: 8, ..candidate(1) };
    let seldom = Candidate { reads_of_requester: 8, asked_7d: 2, ..candidate(2) };
    let often = Candidate { reads_of_requester: 8, asked_7d: 7, ..candidate(3) };
    let asked = readers(vec![usual, often, seldom], Some("sealed_system"));
    let ids: Vec<u32> = asked.ranked.iter().map(|ranked| ranked.id).collect();
    assert_eq!(ids, [2, 3, 1]);
    let words = asked.ranked[2].because.join("; ");
    assert_eq!(
        words,
        "qualified for this part; not asked often enough yet to say how soon they answer; has no \
         other read open; not asked this week; read 8 of this requester's last 8: someone else \
         sees it with other eyes"
    );
}

#[test]
fn a_part_without_a_qualification_may_be_read_by_any_technician() {
    let unqualified = Candidate { qualifications: Vec::new(), ..candidate(1) };
    assert_eq!(order(vec![unqualified]), [1]);
}

fn candidates() -> impl Strategy<Value = Vec<Candidate<u32>>> {
    let history = (0..9u32, 0.0..90.0f64, 0..9u32, prop::option::of(0..48i64));
    let one = (any::<[bool; 9]>(), 0..4u32, history, 0..4usize, 0..9u32);
    prop::collection::vec(one, 0..12).prop_map(|all| {
        (0u32..)
            .zip(all)
            .map(|(id, (is, open_reads, (answers, waited_min, asked_7d, asked), duty, pair))| {
                Candidate {
                    active: is[0] || is[1],
                    technician: is[1] || is[2],
                    qualifications: if is[3] { Vec::new() } else { candidate(0).qualifications },
                    requester: is[4] && is[5],
                    took_reading: is[5] && is[6],
                    stood_aside: is[6] && is[0],
                    has_read: is[2] && is[3],
                    declined: is[7] && is[4],
                    duty: [None, Some(Duty::OnShift), Some(Duty::OnCall), Some(Duty::Off)][duty],
                    duty_until: None,
                    on_leave: is[8] && is[7],
                    on_a_job: is[8],
                    open_reads,
                    answers,
                    waited_min,
                    asked_7d,
                    last_asked_at: asked.map(at),
                    read_for_requester: pair,
                    reads_of_requester: 8,
                    id,
                }
            })
            .collect()
    })
}

proptest! {
    #[test]
    fn everyone_is_ranked_or_excluded_and_no_one_ineligible_is_ranked(all in candidates()) {
        let asked = readers(all.clone(), Some("sealed_system"));
        prop_assert_eq!(asked.ranked.len() + asked.excluded.len(), all.len());
        for ranked in &asked.ranked {
            let person = &all[ranked.id as usize];
            prop_assert!(!person.requester && !person.took_reading && !person.stood_aside);
            prop_assert!(!person.has_read && !person.declined);
            prop_assert!(person.active && person.technician);
            prop_assert!(!person.qualifications.is_empty());
            prop_assert!(ranked.cost_min.is_finite() && ranked.cost_min > 0.0);
            prop_assert!(!ranked.because.is_empty());
        }
        for pair in asked.ranked.windows(2) {
            prop_assert!(pair[0].cost_min <= pair[1].cost_min);
        }
    }

    #[test]
    fn the_order_of_asking_does_not_depend_on_the_order_given(all in candidates()) {
        let mut backwards = all.clone();
        backwards.reverse();
        prop_assert_eq!(readers(all, None).ranked, readers(backwards, None).ranked);
    }

    #[test]
    fn one_more_open_read_or_one_more_ask_never_moves_anybody_forward(
        all in candidates(), whose in 0..12usize
    ) {
        prop_assume!(whose < all.len());
        let place = |all: Vec<Candidate<u32>>| order(all).iter().position(|id| *id as usize == whose);
        let before = place(all.clone());
        for change in [
            |one: &mut Candidate<u32>| one.open_reads += 1,
            |one: &mut Candidate<u32>| one.asked_7d += 1,
            |one: &mut Candidate<u32>| one.waited_min += 5.0,
        ] {
            let mut after = all.clone();
            change(&mut after[whose]);
            prop_assert!(place(after) >= before);
        }
    }
}
