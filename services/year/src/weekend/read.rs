//! Second reads of a weekend: asked for, climbing, answered or given up.
//!
//! Belongs here: where a read stands between a call and those who are asked. Does not belong
//! here: whom a step asks and how they answer ([`crate::reads`]).

use roster::ladder::Kind;
use roster::reader::Duty;

use super::{At, Event, READ_AT, Run, Shop, Worker};
use crate::Way;
use crate::reads::{self, Is, LEAVES_AFTER_MIN, Moment, Read};

impl<'a> Run<'_, 'a> {
    pub(super) fn on_site(&self, call: usize) -> Option<usize> {
        let there = |worker: &Worker| matches!(worker.at, At::Site { call: at, .. } if at == call);
        self.workers.iter().position(there)
    }

    pub(super) fn asks_read(&mut self, call: usize) {
        let Some(requester) = self.on_site(call) else { return };
        let read = self.reads.len();
        self.reads.push(Read::new(requester, self.calls[call].needs, self.now_min));
        self.read_of[call] = Some(read);
        let ladder = (self.shop.way != Way::Telephone).then(|| self.steps(Kind::SecondRead));
        for (step, after_min) in reads::steps_min(ladder.as_deref()).into_iter().enumerate() {
            self.after(after_min, Event::ReadStep(read, step));
        }
        self.after(LEAVES_AFTER_MIN, Event::ReadSettles(read));
    }

    pub(super) fn read_step(&mut self, read: usize, step: usize) {
        if !self.reads[read].waits(self.now_min) {
            return;
        }
        let step =
            (self.shop.way != Way::Telephone).then(|| self.steps(Kind::SecondRead)[step].clone());
        self.with_read(read, |shop, one, is, at| {
            reads::climb(shop.world, one, step.as_ref(), is, &mut shop.habits, at);
        });
    }

    /// Does something about a read, and notes when its answer comes now.
    pub(super) fn with_read(
        &mut self,
        read: usize,
        work: impl FnOnce(&mut Shop<'a>, &mut Read, &[Is], (u64, Moment)),
    ) {
        let (is, moment) = (self.is(), self.moment());
        let before = self.reads[read].answer;
        work(self.shop, &mut self.reads[read], &is, (read as u64, moment));
        if let Some((at_min, _)) = self.reads[read].answer.filter(|now| Some(*now) != before) {
            self.after(at_min - self.now_min, Event::ReadSettles(read));
        }
    }

    pub(super) fn is(&self) -> Vec<Is> {
        let duties = &self.coming.duties;
        (0..self.workers.len())
            .map(|person| {
                let sent = self.sent(person);
                let shift = duties.shift.is_some_and(|(one, ..)| one == person) && sent;
                let on_call = duties.on_call.contains(&person);
                Is {
                    duty: match (shift, on_call || sent) {
                        (true, _) => Duty::OnShift,
                        (false, true) => Duty::OnCall,
                        (false, false) => Duty::Off,
                    },
                    on_a_job: !matches!(self.workers[person].at, At::Free { .. }),
                    sick: duties.sick.contains(&person),
                    on_call,
                    second: duties.second.contains(&person),
                }
            })
            .collect()
    }

    /// It is answered, or whoever stands there leaves.
    pub(super) fn read_settles(&mut self, read: usize) {
        let one = &mut self.reads[read];
        let answered = one.answer.filter(|(at_min, _)| *at_min <= self.now_min);
        let leaves = self.now_min - one.asked_at_min >= LEAVES_AFTER_MIN;
        if one.over || !(answered.is_some() || leaves) {
            return;
        }
        one.over = true;
        let Some(call) = self.read_of.iter().position(|of| *of == Some(read)) else { return };
        let Some(person) = self.on_site(call) else { return };
        let left = match answered {
            Some(_) => (self.calls[call].takes_min as f64 * (1.0 - READ_AT)) as i64,
            None => 0,
        };
        if let Some((_, reader)) = answered {
            self.asks_approval(call, [person, reader], left);
        }
        self.after(left, Event::Finishes(person));
    }

    pub(super) fn each_read(&mut self, work: fn(&mut Shop<'a>, &mut Read, &[Is], (u64, Moment))) {
        for read in 0..self.reads.len() {
            if self.reads[read].waits(self.now_min) {
                self.with_read(read, work);
            }
        }
    }
}
