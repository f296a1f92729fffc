//! Faults that come and go, as a loose joint does.
//!
//! Belongs here: how likely the readings are if one is there now and then, and whether it shows in
//! one more. Does not belong here: which faults may ([`crate::likelihood::is_loose`]) and faults
//! that stay ([`super`]).
//!
//! Some of the bad leads, plugs and contacts come and go; which of them do is not known, but it is
//! the same on every occasion. One that does is there or away as the readings of an occasion
//! begin, mostly stays so from one reading to the next, and begins anew on the next occasion: so
//! good readings, however many on one occasion, clear it little, and those of several occasions
//! clear it more. The order of an occasion's readings counts.

use super::Weighed;
use super::cells::SOUND;
use crate::predict::Setup;

/// Of bad leads, plugs and contacts so many come and go (common practice, no source).
const COME_AND_GO: f64 = 0.2;
/// One that does is there so much of the time (common practice, no source).
const THERE: f64 = 0.6;
/// It stays as it is from one reading to the next of an occasion, or is drawn anew (common
/// practice, no source).
const STAYS: f64 = 0.8;
/// Chance that a bad lead, plug or contact is away when one reading is taken.
pub(crate) const AWAY: f64 = COME_AND_GO * (1.0 - THERE);

/// Likelihood of readings with a fault that comes and goes there after them, and away.
#[derive(Clone, Copy)]
struct Now {
    there: f64,
    away: f64,
}

impl Now {
    /// As an occasion begins.
    const ANEW: Now = Now { there: THERE, away: 1.0 - THERE };

    /// From one reading to the next.
    fn later(self) -> Now {
        let drawn = (1.0 - STAYS) * (self.there + self.away);
        Now {
            there: STAYS * self.there + drawn * THERE,
            away: STAYS * self.away + drawn * (1.0 - THERE),
        }
    }

    /// After a reading that is this likely with the fault there, and away.
    fn read(self, there: f64, away: f64) -> Now {
        Now { there: self.there * there, away: self.away * away }
    }

    fn either(self) -> f64 {
        self.there + self.away
    }
}

impl Weighed<'_, '_> {
    /// Whether a hypothesis supposes one fault, and that comes and goes.
    pub(crate) fn is_loose(&self, hypothesis: usize) -> bool {
        self.comes_and_goes() && self.cells.loose().binary_search(&hypothesis).is_ok()
    }

    pub(super) fn comes_and_goes(&self) -> bool {
        self.mistakes.comes_and_goes > 0.0
    }

    /// Readings of one occasion, in the order in which they were taken, with a fault that comes and
    /// goes.
    fn now(&self, taken: &[usize], scale: usize, hypothesis: usize) -> Now {
        let mut now = Now::ANEW;
        for (place, &reading) in taken.iter().enumerate() {
            if place > 0 {
                now = now.later();
            }
            let column = self.cells.closed(reading, scale);
            now = now.read(column[hypothesis], column[SOUND]);
        }
        now
    }

    /// Likelihood of one occasion's kept readings under each fault that may come and go, if it
    /// does, in the order of those.
    pub(super) fn coming_and_going(
        &self,
        occasion: usize,
        scale: usize,
        keeps: &dyn Fn(usize) -> bool,
    ) -> Vec<f64> {
        let occasion = &self.occasions[occasion];
        let taken: Vec<usize> =
            occasion.readings.iter().copied().filter(|&reading| keeps(reading)).collect();
        let not_lifted = if occasion.lifted { self.mistakes.not_lifted } else { 0.0 };
        // Reading after reading, all faults side by side: one fault alone waits for itself.
        let loose = self.cells.loose();
        let mut now = vec![Now::ANEW; loose.len()];
        for (place, &reading) in taken.iter().enumerate() {
            let column = self.cells.closed(reading, scale);
            for (now, &hypothesis) in now.iter_mut().zip(loose) {
                let before = if place > 0 { now.later() } else { *now };
                *now = before.read(column[hypothesis], column[SOUND]);
            }
        }
        let mut likely: Vec<f64> = now.into_iter().map(Now::either).collect();
        if not_lifted > 0.0 {
            let mut unlifted = vec![1.0; loose.len()];
            for &reading in &taken {
                let column = self.cells.unlifted(reading, scale);
                for (unlifted, &hypothesis) in unlifted.iter_mut().zip(loose) {
                    *unlifted *= column[hypothesis];
                }
            }
            for (likely, unlifted) in likely.iter_mut().zip(unlifted) {
                *likely = (1.0 - not_lifted) * *likely + not_lifted * unlifted;
            }
        }
        likely
    }

    /// Adds to likelihoods of faults that stay what they are if they come and go.
    pub(super) fn or_come_and_go(&self, sum: &mut [f64], keeps: &dyn Fn(usize) -> bool) {
        let loose = self.cells.loose();
        if !self.comes_and_goes() || loose.is_empty() {
            return;
        }
        let mut coming = vec![0.0; loose.len()];
        for (scale, &weight) in self.scale_weights.iter().enumerate() {
            let mut product = vec![weight; loose.len()];
            for (occasion, known) in self.loose_by_occasion.iter().enumerate() {
                let readings = &self.occasions[occasion].readings;
                let anew;
                let column = if readings.iter().all(|&reading| keeps(reading)) {
                    &known[scale]
                } else if readings.iter().any(|&reading| keeps(reading)) {
                    anew = self.coming_and_going(occasion, scale, keeps);
                    &anew
                } else {
                    continue;
                };
                product.iter_mut().zip(column).for_each(|(product, value)| *product *= value);
            }
            coming.iter_mut().zip(&product).for_each(|(sum, product)| *sum += product);
        }
        for (&hypothesis, coming) in loose.iter().zip(coming) {
            sum[hypothesis] = (1.0 - COME_AND_GO) * sum[hypothesis] + COME_AND_GO * coming;
        }
    }

    /// Chance that the fault of a hypothesis that comes and goes is at work in a reading more, of
    /// this setup: where it was away in an occasion's last readings it mostly stays away, and
    /// reading the same path once more tells little. `None` where the hypothesis supposes no such
    /// fault.
    pub(crate) fn loose_shows(&self, hypothesis: usize, setup: &Setup) -> Option<f64> {
        if !self.comes_and_goes() {
            return None;
        }
        let place = self.cells.loose().binary_search(&hypothesis).ok()?;
        // Under power it is another occasion than with the meter's volt, unless nothing was noted
        // of warmth and rest.
        let (part_temp_c, stopped_min) = if setup.state.is_some() {
            (None, None)
        } else {
            (setup.part_temp_c, setup.stopped_min)
        };
        let here = self.occasions.iter().position(|occasion| {
            let known = &self.prepared[occasion.readings[0]].setup;
            known.lifted == setup.lifted
                && known.part_temp_c == part_temp_c
                && known.stopped_min == stopped_min
        });
        let (mut shows, mut all) = (0.0, 0.0);
        for (scale, &weight) in self.scale_weights.iter().enumerate() {
            let stays = (1.0 - COME_AND_GO) * weight * self.readings_likelihood(hypothesis, scale);
            let others: f64 = (self.loose_by_occasion.iter().enumerate())
                .filter(|(occasion, _)| Some(*occasion) != here)
                .map(|(_, known)| known[scale][place])
                .product();
            let next = here.map_or(Now::ANEW, |occasion| {
                self.now(&self.occasions[occasion].readings, scale, hypothesis).later()
            });
            let comes = COME_AND_GO * weight * others;
            shows += stays + comes * next.there;
            all += stays + comes * next.either();
        }
        (all > 0.0).then(|| shows / all)
    }
}
