//! Second reads and approvals in a played span: how long they wait without a rule and with it.
//!
//! Belongs here: the papers that waited, and what a rule's actions do to their answers. Does not
//! belong here: calls ([`crate::capacity::simulate`]), and where the papers are from (the store's).
//!
//! What was answered stays as it was, unless somebody whom the rule asks answers sooner. How soon
//! is taken from how soon they answered before; the middle case is played, not a draw, so that the
//! answer says what is as likely too long as too short.

use std::collections::BTreeSet;

use crate::capacity::HOUR_MIN;
use crate::rules::Values;
use crate::rules::action::Action;

/// What waits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A second read.
    Read,
    /// An approval.
    Approval,
}

/// Somebody who may answer a paper.
#[derive(Clone, Debug, PartialEq)]
pub struct MayAnswer {
    /// Who.
    pub id: String,
    /// When they were asked anyway, minutes; none where they never were.
    pub asked_min: Option<f64>,
    /// How soon they answer when asked, on average, minutes; above 0.
    pub mean_min: f64,
}

/// Something that waited for an answer. Minutes are from the span's start.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// What.
    pub kind: Kind,
    /// Since when.
    pub from_min: f64,
    /// Until when; none where it still waits.
    pub until_min: Option<f64>,
    /// What it is about, cents; 0 for a read.
    pub amount_cents: i64,
    /// Those who may read it, or approve it as a delegate.
    pub may: Vec<MayAnswer>,
}

/// The papers of a span.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Papers {
    /// In the order in which they were asked for.
    pub all: Vec<Paper>,
    /// After how long a ladder asks a delegate about an approval, minutes; none where it never does.
    pub delegate_after_min: Option<f64>,
}

/// How long they waited.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Waits {
    pub(super) reads: u32,
    pub(super) longest_read_min: f64,
    pub(super) approvals: u32,
    pub(super) longest_approval_min: f64,
}

/// The papers while a span is played.
pub(super) struct Course<'a> {
    papers: &'a Papers,
    until: Vec<Option<f64>>,
    /// By paper: whom the rule has asked.
    asked: Vec<BTreeSet<usize>>,
}

impl<'a> Course<'a> {
    pub(super) fn new(papers: &'a Papers) -> Self {
        Course {
            papers,
            until: papers.all.iter().map(|paper| paper.until_min).collect(),
            asked: vec![BTreeSet::new(); papers.all.len()],
        }
    }

    fn waits(&self, at: usize, now: f64) -> bool {
        self.papers.all[at].from_min <= now && self.until[at].is_none_or(|until| until > now)
    }

    fn of(&self, kind: Kind) -> impl Iterator<Item = usize> + use<'a> {
        let papers = self.papers;
        (0..papers.all.len()).filter(move |at| papers.all[*at].kind == kind)
    }

    /// Somebody answers by then, unless somebody did sooner.
    fn answered(&mut self, at: usize, by_min: f64) {
        let until = &mut self.until[at];
        *until = Some(until.map_or(by_min, |before| before.min(by_min)));
    }

    /// What of an action concerns papers.
    pub(super) fn act(&mut self, action: &Action, now: f64) {
        match action {
            Action::WidenReaders {} => {
                for at in self.of(Kind::Read) {
                    if self.waits(at, now) {
                        self.widen(at, now);
                    }
                }
            }
            Action::DelegateApprovals { person_id: Some(id), up_to_cents, hours } => {
                let until = now + *hours as f64 * HOUR_MIN;
                for at in self.of(Kind::Approval) {
                    let paper = &self.papers.all[at];
                    // Told at once of what waits; of what comes later by its ladder.
                    let asked = if self.waits(at, now) {
                        Some(now)
                    } else {
                        let after = self.papers.delegate_after_min;
                        after.map(|after| paper.from_min + after).filter(|_| paper.from_min > now)
                    };
                    let theirs = paper.amount_cents < *up_to_cents;
                    let Some(asked) = asked.filter(|asked| theirs && *asked < until) else {
                        continue;
                    };
                    if let Some(one) = paper.may.iter().find(|one| one.id == *id) {
                        self.answered(at, asked + middle(one.mean_min));
                    }
                }
            }
            _ => {}
        }
    }

    /// Everybody who may read and has not been asked is asked now: the soonest of them answers.
    fn widen(&mut self, at: usize, now: f64) {
        let may = &self.papers.all[at].may;
        let new: Vec<usize> = (0..may.len())
            .filter(|one| may[*one].asked_min.is_none_or(|asked| asked > now))
            .filter(|one| !self.asked[at].contains(one))
            .collect();
        // Of several who answer each at their own rate the first comes at the sum of the rates.
        let rate: f64 = new.iter().map(|one| 1.0 / may[*one].mean_min).sum();
        self.asked[at].extend(new);
        if rate > 0.0 {
            self.answered(at, now + middle(1.0 / rate));
        }
    }

    /// Puts what waits now among what a rule sees.
    pub(super) fn show(&self, values: &mut Values, now: f64) {
        values.reads_waiting = 0;
        values.read_waiting_min = 0;
        values.approvals_waiting = 0;
        values.approval_waiting_min = 0;
        values.approval_amount = 0.0;
        for (at, paper) in self.papers.all.iter().enumerate() {
            if !self.waits(at, now) {
                continue;
            }
            let minutes = (now - paper.from_min) as i64;
            match paper.kind {
                Kind::Read => {
                    values.reads_waiting += 1;
                    values.read_waiting_min = values.read_waiting_min.max(minutes);
                }
                Kind::Approval => {
                    values.approvals_waiting += 1;
                    values.approval_waiting_min = values.approval_waiting_min.max(minutes);
                    let amount = paper.amount_cents as f64 / 100.0;
                    values.approval_amount = values.approval_amount.max(amount);
                }
            }
        }
    }

    /// How long they waited; what still waits counts to the end, what waited before counts from
    /// when it was asked for.
    pub(super) fn waited(&self, end_min: f64) -> Waits {
        let mut waits = Waits::default();
        for (paper, until) in self.papers.all.iter().zip(&self.until) {
            let waited = until.unwrap_or(end_min).min(end_min) - paper.from_min;
            let (count, longest) = match paper.kind {
                Kind::Read => (&mut waits.reads, &mut waits.longest_read_min),
                Kind::Approval => (&mut waits.approvals, &mut waits.longest_approval_min),
            };
            *count += 1;
            *longest = longest.max(waited);
        }
        waits
    }
}

/// The middle of an exponential time with that mean: half come sooner, half later.
fn middle(mean_min: f64) -> f64 {
    mean_min * std::f64::consts::LN_2
}
