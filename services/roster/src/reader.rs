//! Who may be asked for a second read, and in which order.
//!
//! Belongs here: eligibility with the reason for each exclusion, and fairness of asking. Does
//! not belong here: whether a reader may sign (the engine's gate, and the database, decide
//! that again when they do).

use chrono::{DateTime, Utc};

/// One of the shop's people, as far as asking goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate<Id> {
    /// Who.
    pub id: Id,
    /// Whether they still work here.
    pub active: bool,
    /// Whether they work as a technician.
    pub technician: bool,
    /// What they are qualified for.
    pub qualifications: Vec<String>,
    /// Whether the request is theirs.
    pub requester: bool,
    /// Whether they took a reading on the job.
    pub took_reading: bool,
    /// Whether they stood aside and know the claim.
    pub stood_aside: bool,
    /// Whether they have read this evidence already.
    pub has_read: bool,
    /// Reads they have open now.
    pub open_reads: u32,
    /// When they were last asked for one.
    pub last_asked_at: Option<DateTime<Utc>>,
}

/// Why someone is not asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WhyNot {
    /// No longer works here.
    Inactive,
    /// The request is theirs.
    Requester,
    /// Took a reading on the job.
    TookReading,
    /// Is no technician.
    NotTechnician,
    /// Lacks the qualification.
    NotQualified,
    /// Stood aside.
    StoodAside,
    /// Has read this evidence already.
    HasRead,
}

impl WhyNot {
    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            WhyNot::Inactive => "no longer works here",
            WhyNot::Requester => "made the request",
            WhyNot::TookReading => "took a reading on this job",
            WhyNot::NotTechnician => "is not a technician",
            WhyNot::NotQualified => "is not qualified for this part",
            WhyNot::StoodAside => "stood aside and knows the claim",
            WhyNot::HasRead => "has read this evidence already",
        }
    }
}

/// Who is asked, and who is not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked<Id> {
    /// In the order in which they are asked: fewest open reads first, then who was asked
    /// longest ago, someone never asked before all others.
    pub asked: Vec<Id>,
    /// Everyone else, with the first reason that applies.
    pub excluded: Vec<(Id, WhyNot)>,
}

/// Who may be asked to read a request whose component asks for `qualification`.
pub fn readers<Id: Ord>(candidates: Vec<Candidate<Id>>, qualification: Option<&str>) -> Asked<Id> {
    let mut eligible = Vec::new();
    let mut excluded = Vec::new();
    for candidate in candidates {
        match why_not(&candidate, qualification) {
            Some(why) => excluded.push((candidate.id, why)),
            None => eligible.push(candidate),
        }
    }
    // The id last, so that the order never depends on the order given.
    eligible.sort_by(|one, other| {
        (one.open_reads, one.last_asked_at, &one.id).cmp(&(
            other.open_reads,
            other.last_asked_at,
            &other.id,
        ))
    });
    Asked { asked: eligible.into_iter().map(|candidate| candidate.id).collect(), excluded }
}

fn why_not<Id>(candidate: &Candidate<Id>, qualification: Option<&str>) -> Option<WhyNot> {
    let qualified = qualification
        .is_none_or(|wanted| candidate.qualifications.iter().any(|held| held == wanted));
    [
        (!candidate.active, WhyNot::Inactive),
        (candidate.requester, WhyNot::Requester),
        (candidate.took_reading, WhyNot::TookReading),
        (!candidate.technician, WhyNot::NotTechnician),
        (!qualified, WhyNot::NotQualified),
        (candidate.stood_aside, WhyNot::StoodAside),
        (candidate.has_read, WhyNot::HasRead),
    ]
    .into_iter()
    .find_map(|(applies, why)| applies.then_some(why))
}

#[cfg(test)]
mod tests {
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
            open_reads: 0,
            last_asked_at: Some(at(0)),
        }
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
            candidate(8),
        ];
        let asked = readers(candidates, Some("sealed_system"));
        assert_eq!(asked.asked, [8]);
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
            ]
        );
    }

    #[test]
    fn fewest_open_reads_then_least_recently_asked_and_never_asked_first() {
        let candidates = vec![
            Candidate { open_reads: 1, last_asked_at: None, ..candidate(1) },
            Candidate { last_asked_at: Some(at(5)), ..candidate(2) },
            Candidate { last_asked_at: Some(at(3)), ..candidate(3) },
            Candidate { last_asked_at: None, ..candidate(4) },
        ];
        assert_eq!(readers(candidates, None).asked, [4, 3, 2, 1]);
    }

    #[test]
    fn a_part_without_a_qualification_may_be_read_by_any_technician() {
        let unqualified = Candidate { qualifications: Vec::new(), ..candidate(1) };
        assert_eq!(readers(vec![unqualified], None).asked, [1]);
    }

    fn candidates() -> impl Strategy<Value = Vec<Candidate<u32>>> {
        let one = (any::<[bool; 7]>(), 0..4u32, prop::option::of(0..48i64));
        prop::collection::vec(one, 0..12).prop_map(|all| {
            (0u32..)
                .zip(all)
                .map(|(id, (is, open_reads, asked))| Candidate {
                    active: is[0] || is[1],
                    technician: is[1] || is[2],
                    qualifications: if is[3] { Vec::new() } else { candidate(0).qualifications },
                    requester: is[4] && is[5],
                    took_reading: is[5] && is[6],
                    stood_aside: is[6] && is[0],
                    has_read: is[2] && is[3],
                    open_reads,
                    last_asked_at: asked.map(at),
                    id,
                })
                .collect()
        })
    }

    proptest! {
        #[test]
        fn everyone_is_asked_or_excluded_and_no_one_dependent_is_asked(all in candidates()) {
            let asked = readers(all.clone(), Some("sealed_system"));
            prop_assert_eq!(asked.asked.len() + asked.excluded.len(), all.len());
            for id in &asked.asked {
                let person = &all[*id as usize];
                prop_assert!(!person.requester && !person.took_reading && !person.stood_aside);
                prop_assert!(person.active && person.technician);
                prop_assert!(!person.qualifications.is_empty());
            }
            for pair in asked.asked.windows(2) {
                let (first, second) = (&all[pair[0] as usize], &all[pair[1] as usize]);
                prop_assert!(first.open_reads <= second.open_reads, "the busier is asked first");
            }
        }

        #[test]
        fn the_order_of_asking_does_not_depend_on_the_order_given(all in candidates()) {
            let mut backwards = all.clone();
            backwards.reverse();
            prop_assert_eq!(readers(all, None).asked, readers(backwards, None).asked);
        }
    }
}
