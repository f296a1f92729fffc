//! What a bad joint still shows on an occasion on which it was read before.
//!
//! Belongs here: the chance that a fault which comes and goes shows itself in one more reading of
//! the same occasion. Does not belong here: how likely the readings taken so far are ([`super`]).

use super::Weighed;
use super::cells::SOUND;
use crate::predict::Setup;

impl Weighed<'_, '_> {
    /// Whether a hypothesis supposes one fault, and that comes and goes.
    pub(crate) fn is_loose(&self, hypothesis: usize) -> bool {
        self.mistakes.comes_and_goes > 0.0 && self.cells.loose().binary_search(&hypothesis).is_ok()
    }

    /// Chance that the fault of a hypothesis that comes and goes is at work in a reading more, of
    /// this setup. Where it made contact through several readings of an occasion, it does so
    /// for all of it, and reading the same path once more tells nothing. `None` where the
    /// hypothesis supposes no such fault.
    pub(crate) fn loose_shows(&self, hypothesis: usize, setup: &Setup) -> Option<f64> {
        if !self.is_loose(hypothesis) {
            return None;
        }
        // Under power it is another occasion than with the meter's volt, unless nothing was noted
        // of warmth and rest.
        let (part_temp_c, stopped_min) = if setup.state.is_some() {
            (None, None)
        } else {
            (setup.part_temp_c, setup.stopped_min)
        };
        let readings: &[usize] = self
            .occasions
            .iter()
            .find(|occasion| {
                let known = &self.prepared[occasion.readings[0]].setup;
                known.lifted == setup.lifted
                    && known.part_temp_c == part_temp_c
                    && known.stopped_min == stopped_min
            })
            .map_or(&[], |occasion| &occasion.readings);
        let away = self.mistakes.comes_and_goes / 2.0;
        let (mut shows, mut all) = (0.0, 0.0);
        for (scale, weight) in self.scale_weights.iter().enumerate() {
            let (mut at_work, mut sound, mut flickers) = (1.0, 1.0, 1.0);
            for &reading in readings {
                let column = self.cells.closed(reading, scale);
                at_work *= column[hypothesis];
                sound *= column[SOUND];
                flickers *= (column[hypothesis] + column[SOUND]) / 2.0;
            }
            let at_work = (1.0 - 2.0 * away) * at_work;
            shows += weight * (at_work + away * flickers / 2.0);
            all += weight * (at_work + away * (sound + flickers));
        }
        (all > 0.0).then(|| shows / all)
    }
}
