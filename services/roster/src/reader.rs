//! Who may be asked for a second read, and in which order.
//!
//! Belongs here: eligibility with the reason for each exclusion, and the order of asking with
//! its reasons in words. Does not belong here: whether a reader may sign (the engine's gate,
//! and the database, decide that again when they do), and when the next is asked
//! ([`crate::ladder`]).
//!
//! The order is by one number per person, in minutes: how long until they have probably
//! answered, and for each reason to spare them some minutes more. Every weight below is common
//! practice, no source: it has to be plausible, explained to whoever asks, and the same every
//! time.

use chrono::{DateTime, Utc};

#[cfg(test)]
mod tests;
mod words;

/// What is believed of somebody who has never been asked: that they answer in so many minutes.
/// Common practice, no source.
pub const ANSWER_PRIOR_MIN: f64 = 8.0;

/// How many answers that belief counts for beside a person's own. Common practice, no source.
pub const ANSWER_PRIOR_WEIGHT: f64 = 2.0;

/// What one read that they have open costs them, in minutes. Common practice, no source.
pub const OPEN_READ_MIN: f64 = 10.0;

/// What being on a job of their own right now costs, in minutes. Common practice, no source.
pub const ON_A_JOB_MIN: f64 = 6.0;

/// Somebody on call is asked after those on shift, as if they needed so many minutes more.
/// Common practice, no source.
pub const ON_CALL_MIN: f64 = 5.0;

/// Somebody off duty is asked last, as if they needed so many minutes more; they still may be
/// asked, since a read can be given from a sofa. Common practice, no source.
pub const OFF_DUTY_MIN: f64 = 120.0;

/// What each time they were asked in the last seven days costs, in minutes: the asking goes
/// round. Common practice, no source.
pub const ASKED_LATELY_MIN: f64 = 1.5;

/// What it costs when all of this requester's last reads were theirs, in minutes, and in
/// proportion when fewer were: two who always read for each other stop looking. Common
/// practice, no source.
pub const SAME_PAIR_MIN: f64 = 12.0;

/// From how many of a requester's reads on the pair is looked at; two of two mean nothing.
pub const PAIR_READS_MIN: u32 = 3;

/// Whether somebody is at work now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duty {
    /// On shift.
    OnShift,
    /// On call.
    OnCall,
    /// Neither.
    Off,
}

/// One of the shop's people, as far as asking goes.
#[derive(Clone, Debug, PartialEq)]
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
    /// Whether they declined to read this evidence.
    pub declined: bool,
    /// Whether they are at work, where that is known.
    pub duty: Option<Duty>,
    /// Until when they are, in words of the site's wall: "Mon 7 Dec, 07:00".
    pub duty_until: Option<String>,
    /// Whether they are away.
    pub on_leave: bool,
    /// Whether they are on a job of their own now.
    pub on_a_job: bool,
    /// Reads they have open now.
    pub open_reads: u32,
    /// How often they said yes or no when asked.
    pub answers: u32,
    /// Minutes they took for those, and minutes for which they were asked and said nothing.
    pub waited_min: f64,
    /// How often they were asked in the last seven days.
    pub asked_7d: u32,
    /// When they were last asked for one.
    pub last_asked_at: Option<DateTime<Utc>>,
    /// How many of the requester's last reads were theirs.
    pub read_for_requester: u32,
    /// How many reads of the requester's that is out of.
    pub reads_of_requester: u32,
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
    /// Is away.
    OnLeave,
    /// Lacks the qualification.
    NotQualified,
    /// Stood aside.
    StoodAside,
    /// Has read this evidence already.
    HasRead,
    /// Declined to read it.
    Declined,
}

impl WhyNot {
    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            WhyNot::Inactive => "no longer works here",
            WhyNot::Requester => "made the request",
            WhyNot::TookReading => "took a reading on this job",
            WhyNot::NotTechnician => "is not a technician",
            WhyNot::OnLeave => "is on leave",
            WhyNot::NotQualified => "is not qualified for this part",
            WhyNot::StoodAside => "stood aside and knows the claim",
            WhyNot::HasRead => "has read this evidence already",
            WhyNot::Declined => "declined this read",
        }
    }
}

impl WhyNot {
    /// Whether somebody who does not know what is claimed may be told this reason.
    pub fn tells_nothing_of_the_part(self) -> bool {
        self != WhyNot::NotQualified
    }
}

/// Somebody who may be asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked<Id> {
    /// Who.
    pub id: Id,
    /// What the order is by, in minutes; see this module's head.
    pub cost_min: f64,
    /// How soon they will probably have answered, in minutes.
    pub answers_in_min: f64,
    /// Why they stand where they do, each a short clause; what speaks for them first.
    pub because: Vec<String>,
}

/// Who is asked, and who is not.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked<Id> {
    /// In the order in which they are asked.
    pub ranked: Vec<Ranked<Id>>,
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
            None => eligible.push((cost_min(&candidate), candidate)),
        }
    }
    // Between equals whoever was asked longest ago, someone never asked before all others; the
    // id last, so that the order never depends on the order given.
    eligible.sort_by(|(cost, one), (other_cost, other)| {
        cost.total_cmp(other_cost)
            .then_with(|| one.last_asked_at.cmp(&other.last_asked_at))
            .then_with(|| one.id.cmp(&other.id))
    });
    let ranked = eligible
        .into_iter()
        .map(|(cost_min, candidate)| Ranked {
            cost_min,
            answers_in_min: answers_in_min(&candidate),
            because: words::because(&candidate, qualification),
            id: candidate.id,
        })
        .collect();
    Asked { ranked, excluded }
}

/// How soon somebody will probably have answered, in minutes.
///
/// Answers are taken to come at a constant rate; the rate's estimate is answers over time
/// waited, with [`ANSWER_PRIOR_WEIGHT`] answers of [`ANSWER_PRIOR_MIN`] added. Time in which
/// they were asked and said nothing counts without an answer, so that silence is slowness.
pub fn answers_in_min<Id>(candidate: &Candidate<Id>) -> f64 {
    mean_answer_min(candidate.answers, candidate.waited_min)
}

/// The same from the two numbers that it is made of: answers, and minutes waited for them.
#[must_use]
pub fn mean_answer_min(answers: u32, waited_min: f64) -> f64 {
    let waited_min = ANSWER_PRIOR_MIN * ANSWER_PRIOR_WEIGHT + waited_min.max(0.0);
    waited_min / (ANSWER_PRIOR_WEIGHT + f64::from(answers))
}

fn cost_min<Id>(candidate: &Candidate<Id>) -> f64 {
    let duty = match candidate.duty {
        Some(Duty::Off) => OFF_DUTY_MIN,
        Some(Duty::OnCall) => ON_CALL_MIN,
        // Where it is not known nobody is held back for it.
        Some(Duty::OnShift) | None => 0.0,
    };
    answers_in_min(candidate)
        + duty
        + if candidate.on_a_job { ON_A_JOB_MIN } else { 0.0 }
        + OPEN_READ_MIN * f64::from(candidate.open_reads)
        + ASKED_LATELY_MIN * f64::from(candidate.asked_7d)
        + SAME_PAIR_MIN * same_pair(candidate)
}

/// Which part of the requester's last reads was theirs, 0 to 1; 0 while there are too few.
fn same_pair<Id>(candidate: &Candidate<Id>) -> f64 {
    if candidate.reads_of_requester < PAIR_READS_MIN {
        return 0.0;
    }
    let theirs = candidate.read_for_requester.min(candidate.reads_of_requester);
    f64::from(theirs) / f64::from(candidate.reads_of_requester)
}

fn why_not<Id>(candidate: &Candidate<Id>, qualification: Option<&str>) -> Option<WhyNot> {
    let qualified = qualification
        .is_none_or(|wanted| candidate.qualifications.iter().any(|held| held == wanted));
    [
        (!candidate.active, WhyNot::Inactive),
        (candidate.requester, WhyNot::Requester),
        (candidate.took_reading, WhyNot::TookReading),
        (!candidate.technician, WhyNot::NotTechnician),
        (candidate.on_leave, WhyNot::OnLeave),
        (!qualified, WhyNot::NotQualified),
        (candidate.stood_aside, WhyNot::StoodAside),
        (candidate.has_read, WhyNot::HasRead),
        (candidate.declined, WhyNot::Declined),
    ]
    .into_iter()
    .find_map(|(applies, why)| applies.then_some(why))
}
