//! Looking at the whole, and what the rules do.
//!
//! Belongs here: the queue as a rule sees it, and each action played. Does not belong here: when a
//! rule fires ([`crate::watch`]).

use roster::capacity::{CLASSES, class_index};
use roster::queue::Urgency;
use roster::rules::Action;

use super::{Event, Firing, NEIGHBOUR, Run, Stage};
use crate::Way;
use crate::reads;
use crate::watch::{self, Queue};
use crate::world::{For, chance};

impl Run<'_, '_> {
    pub(super) fn look(&mut self) {
        let queue = self.queue();
        if self.shop.way == Way::Telephone && queue.late > 0 {
            self.call_out_next();
        }
        self.told = true;
        if self.shop.rules.is_empty() {
            return;
        }
        let state = self.state();
        let world = self.shop.world;
        let chance_late = self.late.chance(world, self.coming, self.rest, state);
        let at = (self.now_min, self.at());
        let values = watch::values(world, self.coming, &queue, chance_late, at);
        let mut fired = Vec::new();
        for (rule, of) in self.shop.rules.iter_mut().enumerate() {
            if of.fires(&values, at.1) {
                fired.push((rule, of.actions.clone()));
            }
        }
        for (rule, actions) in fired {
            self.played.firings.push(Firing { rule, at_min: self.now_min });
            actions.iter().for_each(|action| self.act(action));
        }
    }

    pub(super) fn act(&mut self, action: &Action) {
        match action {
            Action::CallOutNext {} => self.call_out_next(),
            Action::OpenSecondRota {} => {
                self.second_open = true;
                for person in self.coming.duties.second.clone() {
                    // The rota is opened, so it is their duty now: they come.
                    if self.can_join(person) {
                        self.workers[person].coming = true;
                        self.after(10, Event::Joins(person));
                    }
                }
            }
            Action::DeferComfort { at_most, .. } => self.put_off(*at_most as usize),
            Action::OfferRemoteRead {} => self.each_read(|shop, one, is, at| {
                reads::offer_remote(shop.world, one, is, &mut shop.habits, at);
            }),
            Action::WidenReaders {} => self.each_read(|shop, one, is, at| {
                reads::widen(shop.world, one, is, &mut shop.habits, at);
            }),
            Action::AskNeighbour { .. } => self.neighbour(),
            Action::DelegateApprovals { up_to_cents, hours, .. } => {
                self.delegates(*up_to_cents, *hours);
            }
        }
    }

    pub(super) fn call_out_next(&mut self) {
        let next = self.coming.duties.on_call.iter().copied().find(|one| self.can_join(*one));
        if let Some(person) = next {
            self.call_out(person, u64::MAX - self.now_min as u64);
        }
    }

    pub(super) fn put_off(&mut self, at_most: usize) {
        let comfort = |call: &usize| {
            self.stages[*call] == Stage::Waits && self.calls[*call].class == Urgency::Comfort
        };
        let waiting: Vec<usize> = (0..self.calls.len()).filter(comfort).take(at_most).collect();
        for call in waiting {
            self.stages[call] = Stage::Over;
            self.outcomes[call].put_off = true;
            if let Some(after_min) = self.calls[call].worse_after_min {
                self.after(after_min, Event::Worse(call));
            }
        }
    }

    pub(super) fn neighbour(&mut self) {
        let (comes, takes, there_min) = NEIGHBOUR;
        let which = [self.index, self.now_min as u64, 0];
        if chance(self.shop.world.seed, For::Neighbour, which).even() >= comes {
            return;
        }
        let vulnerable = |call: &usize| {
            self.stages[*call] == Stage::Waits
                && self.calls[*call].class == Urgency::NoHeatVulnerable
        };
        let waiting: Vec<usize> = (0..self.calls.len()).filter(vulnerable).take(takes).collect();
        for call in waiting {
            self.stages[call] = Stage::Over;
            self.outcomes[call].begun_min = Some(self.now_min + there_min);
            self.outcomes[call].neighbour = true;
        }
    }

    pub(super) fn queue(&self) -> Queue {
        let mut queue = Queue { second_open: self.second_open, ..Queue::default() };
        for call in (0..self.calls.len()).filter(|call| self.stages[*call] == Stage::Waits) {
            let class = class_index(self.calls[call].class);
            let wait_min = self.now_min - self.calls[call].at_min;
            queue.waiting[class] += 1;
            if class < CLASSES - 1 {
                queue.longest_urgent_min = queue.longest_urgent_min.max(wait_min);
                queue.late += i64::from(wait_min as f64 > self.shop.world.tolerable.0[class]);
            }
        }
        for person in (0..self.workers.len()).filter(|person| self.sent(*person)) {
            queue.on_duty += 1;
            let until = self.workers[person].sent.map_or(0, |(_, until)| until);
            let run_from = self.workers[person].run.map_or(self.now_min, |(from, _)| from);
            let rest_at = until.min(run_from + self.rest.duty_max_min);
            queue.hours_left += (rest_at - self.now_min).max(0) as f64 / 60.0;
        }
        let at_home = |one: &&usize| self.can_join(**one);
        queue.on_call_left = self.coming.duties.on_call.iter().filter(at_home).count() as i64;
        for read in self.reads.iter().filter(|read| read.waits(self.now_min)) {
            queue.reads += 1;
            queue.read_min = queue.read_min.max(self.now_min - read.asked_at_min);
        }
        for approval in self.approvals.iter().filter(|approval| approval.waits(self.now_min)) {
            queue.approvals += 1;
            queue.approval_min = queue.approval_min.max(self.now_min - approval.asked_at_min);
            queue.approval_cents = queue.approval_cents.max(approval.amount_cents);
        }
        queue
    }
}
