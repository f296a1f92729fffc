//! Approvals of a weekend: asked for once a read is answered, climbing, answered or left; and how
//! things stand for whoever reckons ahead.
//!
//! Belongs here: where an approval stands between a call and those who are asked. Does not belong
//! here: whom a step asks and how they answer ([`crate::approvals`]).

use roster::capacity::{DutyKind, class_index};
use roster::ladder::Kind;

use super::{At, Event, Run, Stage};
use crate::Way;
use crate::approvals::{self, Approval, Delegate};
use crate::late::{Hand, State};
use crate::reads::Moment;
use crate::world::{For, World, chance};

/// What a part costs with its fitting: median cents, and the standard deviation of the logarithm.
/// Common practice, no source.
const AMOUNT_CENTS: (f64, f64) = (90_000.0, 0.7);

/// What is under way longer than expected is taken to need so many minutes more.
const STILL_MIN: i64 = 15;

impl Run<'_, '_> {
    /// A read was answered: the part needs an approval. Whoever asked is there for some minutes
    /// yet.
    pub(super) fn asks_approval(&mut self, call: usize, parties: [usize; 2], left_min: i64) {
        let which = [self.index, call as u64, 0];
        let spread = chance(self.shop.world.seed, For::Amounts, which).normal();
        let cents = AMOUNT_CENTS.0 * (AMOUNT_CENTS.1 * spread).exp();
        let approval = self.approvals.len();
        let (asked_at_min, leaves_min) = (self.now_min, self.now_min + left_min);
        self.approvals.push(Approval::new(parties, cents as i64, asked_at_min, leaves_min));
        let ladder = (self.shop.way != Way::Telephone).then(|| self.steps(Kind::Approval));
        for (step, after_min) in approvals::steps_min(ladder.as_deref()).into_iter().enumerate() {
            self.after(after_min, Event::ApprovalStep(approval, step));
        }
    }

    pub(super) fn approval_step(&mut self, approval: usize, step: usize) {
        if !self.approvals[approval].waits(self.now_min) {
            return;
        }
        let delegate = self.delegate;
        match self.shop.way {
            Way::Telephone => self.with_approval(approval, |world, one, at| {
                approvals::telephone(world, one, step, at);
            }),
            Way::Ladders | Way::Rules => {
                let step = self.steps(Kind::Approval)[step].clone();
                self.with_approval(approval, |world, one, at| {
                    approvals::climb(world, one, &step, delegate, at);
                });
            }
        }
    }

    fn with_approval(
        &mut self,
        approval: usize,
        work: impl FnOnce(&World, &mut Approval, (u64, Moment)),
    ) {
        let moment = self.moment();
        work(self.shop.world, &mut self.approvals[approval], (approval as u64, moment));
    }

    /// A rule names whoever is first on the second rota, or last on call where there is none.
    pub(super) fn delegates(&mut self, up_to_cents: i64, hours: i64) {
        let duties = &self.coming.duties;
        let Some(person) = duties.second.first().or(duties.on_call.last()).copied() else { return };
        let delegate = Delegate { person, up_to_cents, until_min: self.now_min + hours * 60 };
        self.delegate = Some(delegate);
        for approval in 0..self.approvals.len() {
            if self.approvals[approval].waits(self.now_min) {
                self.with_approval(approval, |world, one, at| {
                    approvals::tell_delegate(world, one, &delegate, at);
                });
            }
        }
    }

    /// How things stand, for the chance of being late.
    pub(super) fn state(&self) -> State {
        let duties = &self.coming.duties;
        let others = (0..self.workers.len()).filter(|person| !duties.on_call.contains(person));
        let hands = duties.on_call.iter().copied().chain(others).filter_map(|one| self.hand(one));
        let waiting = (0..self.calls.len())
            .filter(|call| self.stages[*call] == Stage::Waits)
            .map(|call| {
                let of = &self.calls[call];
                let waits_min = self.now_min - of.at_min;
                (class_index(of.class), of.needs.0, waits_min, of.expected_min)
            })
            .collect();
        let hour = usize::try_from(self.now_min / 60).unwrap_or(0);
        State { hour, hands: hands.collect(), waiting }
    }

    fn hand(&self, person: usize) -> Option<Hand> {
        let (duties, worker) = (&self.coming.duties, &self.workers[person]);
        let now_min = self.now_min;
        let to_end = self.coming.minutes - now_min;
        let until = worker.sent.map_or(to_end, |(_, until)| until - now_min);
        // The first on call comes without anybody's deciding it, the others once they are called.
        let duty = if duties.on_call.first() == Some(&person) {
            (DutyKind::OnCall, 0, to_end)
        } else if self.sent(person) {
            (DutyKind::Shift, 0, until)
        } else if worker.coming {
            (DutyKind::Shift, 0, to_end)
        } else if duties.on_call.contains(&person) {
            (DutyKind::OnCall, 0, to_end)
        } else if duties.second.contains(&person) {
            (DutyKind::Second, 0, to_end)
        } else {
            let (_, from, until) = duties.shift.filter(|shift| shift.0 == person)?;
            (until > now_min).then_some((DutyKind::Shift, from - now_min, until - now_min))?
        };
        let run = worker.run.filter(|run| now_min - run.1 < self.rest.rest_min);
        let expected = |call: usize| self.calls[call].expected_min;
        let busy_until = match worker.at {
            At::Free { .. } => run.map_or(0, |run| run.1 - now_min).min(0),
            At::Way { call, arrives_min } => arrives_min + expected(call) - now_min,
            At::Site { call, since_min } => (since_min + expected(call) - now_min).max(STILL_MIN),
        };
        let skills = self.skills(person).0;
        Some(Hand { skills, duty, busy_until, worked: run.map(|run| now_min - run.0) })
    }
}
