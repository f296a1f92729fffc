//! One reading's likelihood under many hypotheses.
//!
//! Belongs here: from the predictions of one setting to the cells of its column, once for all
//! hypotheses that predict the same ([`super::classes`]); faults that are at work only some of the
//! time. Does not belong here: which settings and hypotheses there are ([`super::cells`]) and one
//! likelihood ([`crate::likelihood`]).

use super::cells::{Cells, SOUND, UNKNOWN, asked_first, singles};
use super::classes::{Classes, rounded};
use super::hypotheses::{Hypothesis, Kind, indices_of};
use crate::case::Reading;
use crate::likelihood::{
    Judged, Mistakes, Prepared, Seen, broad, may_be_away, presence, size_spread,
};
use crate::model::Model;
use crate::predict::Predicted;

/// One reading as the predictions see it.
pub(super) struct Told<'a> {
    prepared: &'a Prepared,
    seen: Seen<'a>,
    /// What the sound circuit shows, as the predictions have it.
    sound: Predicted,
}

impl<'a> Told<'a> {
    pub(super) fn of(prepared: &'a Prepared, reading: &'a Reading, sound: Predicted) -> Self {
        Told { prepared, seen: prepared.seen(&reading.shown), sound: rounded(sound) }
    }

    /// The likelihood of anything at all.
    pub(super) fn anything(&self) -> f64 {
        broad(self.seen.shown)
    }
}

/// What is asked of each hypothesis again and again, and room to fill a column in.
pub(super) struct Columns<'a, 'm, 'c> {
    pub(super) model: &'m Model<'c>,
    pub(super) hypotheses: &'a [Hypothesis],
    mistakes: &'a Mistakes,
    /// How many are asked first.
    first: usize,
    /// By hypothesis: the one that is left of it with its passing faults gone.
    at_rest: Vec<u32>,
    /// By fault: whether it comes in twos.
    in_twos: Vec<bool>,
    /// The faults that may be at work only some of the time: most always are.
    may_be_away: Vec<usize>,
    /// By fault: the chance that it is at work in the reading that is looked at; passing ones are
    /// looked at both ways.
    at_work: Vec<f64>,
    /// By hypothesis: the largest spread of its faults' sizes.
    spread: Vec<f64>,
    classes: Classes,
    /// By class.
    of_classes: Vec<Judged>,
    /// By hypothesis, from the first told on; but for the neighbouring pins.
    likely: Vec<Judged>,
    beside: Vec<f64>,
}

impl<'a, 'm, 'c> Columns<'a, 'm, 'c> {
    pub(super) fn new(
        model: &'m Model<'c>,
        hypotheses: &'a [Hypothesis],
        mistakes: &'a Mistakes,
    ) -> Self {
        let of_faults: Vec<f64> = model.faults.iter().map(size_spread).collect();
        let largest =
            |kind: Kind| indices_of(kind).map(|fault| of_faults[fault]).fold(0.0, f64::max);
        let spread: Vec<f64> = hypotheses.iter().map(|one| largest(one.kind)).collect();
        let mut in_twos = vec![false; model.faults.len()];
        for one in hypotheses.iter().skip(singles(model)) {
            indices_of(one.kind).for_each(|fault| in_twos[fault] = true);
        }
        Columns {
            model,
            hypotheses,
            mistakes,
            in_twos,
            may_be_away: (model.faults.iter())
                .filter(|fault| !fault.passing && may_be_away(fault))
                .map(|fault| fault.index)
                .collect(),
            at_work: vec![1.0; model.faults.len()],
            first: asked_first(model),
            at_rest: hypotheses
                .iter()
                .enumerate()
                .map(|(index, one)| {
                    let passes = |fault: &usize| model.faults[*fault].passing;
                    match indices_of(one.kind).any(|fault| passes(&fault)) {
                        true => alone(indices_of(one.kind).find(|fault| !passes(fault))) as u32,
                        false => index as u32,
                    }
                })
                .collect(),
            classes: Classes::new(spread.iter().copied()),
            spread,
            of_classes: Vec::new(),
            likely: Vec::new(),
            beside: Vec::new(),
        }
    }

    /// Adds to `sums`, by hypothesis, the likelihood of having been at this one of `count`
    /// neighbouring pins.
    pub(super) fn beside(
        &mut self,
        told: &Told<'_>,
        there: &[Predicted],
        count: usize,
        sums: &mut [f64],
    ) {
        let each = self.mistakes.neighbour / count as f64;
        let known = there.iter().map(|&there| rounded(there)).zip(self.spread.iter().copied());
        told.prepared.all_beside(told.seen, known, &mut self.beside);
        for (sum, likely) in sums.iter_mut().zip(&self.beside) {
            *sum += each * likely;
        }
    }

    /// Tells the likelihood of predictions, those of the hypotheses from `first` on, but for the
    /// neighbouring pins.
    pub(super) fn tell(&mut self, told: &Told<'_>, first: usize, predicted: &[Predicted]) {
        let (prepared, seen, mistakes) = (told.prepared, told.seen, self.mistakes);
        if prepared.in_lanes(seen, mistakes) {
            let known = predicted.iter().map(|&predicted| rounded(predicted));
            let known = known.zip(self.spread[first..].iter().copied());
            prepared.likelihoods(seen, told.sound, known, mistakes, &mut self.likely);
            return;
        }
        self.classes.tell(first, predicted);
        let classes = self.classes.all.iter().copied();
        prepared.likelihoods(seen, told.sound, classes, mistakes, &mut self.of_classes);
        let of = self.classes.of.iter().map(|&class| self.of_classes[class as usize]);
        self.likely.clear();
        self.likely.extend(of);
    }

    /// The likelihood of having been one pin off where nobody looked which pins there are: of
    /// anything.
    fn one_off(&self, told: &Told<'_>) -> f64 {
        if self.mistakes.flip.is_some() { 0.0 } else { self.mistakes.neighbour * told.anything() }
    }

    /// Adds to what was told of `predicted` that anything was shown where one was one pin off.
    fn look_no_further(&mut self, told: &Told<'_>, predicted: &[Predicted]) {
        let one_off = self.one_off(told);
        for (likely, &predicted) in self.likely.iter_mut().zip(predicted) {
            likely.mistaken += if predicted == Predicted::Nothing { 0.0 } else { one_off };
        }
    }

    /// What was told, by hypothesis, with anything shown where one was one pin off.
    pub(super) fn plain(&mut self, told: &Told<'_>, predicted: &[Predicted]) -> Vec<Judged> {
        self.look_no_further(told, predicted);
        self.likely.clone()
    }

    /// Fills the cells of those asked first, from `at` on, and says what they would be did nobody
    /// look which pins are beside; `beside` is by hypothesis.
    pub(super) fn careful(
        &mut self,
        told: &Told<'_>,
        predicted: &[Predicted],
        beside: Option<&[f64]>,
        cells: &mut Cells,
        at: usize,
    ) -> Vec<Judged> {
        self.look_who_is_at_work(told);
        let anywhere = self.one_off(told);
        let careful = |hypothesis: usize| {
            let mut judged = self.likely[hypothesis];
            if predicted[hypothesis] != Predicted::Nothing && self.mistakes.flip.is_none() {
                judged.mistaken += beside.map_or(anywhere, |beside| beside[hypothesis]);
            }
            judged
        };
        for index in 0..self.first {
            // Most faults stay, and are always at work.
            let fault = index.checked_sub(2);
            let stays = self.at_rest[index] as usize == index
                && fault.is_none_or(|fault| self.at_work[fault] == 1.0);
            if !stays {
                self.put(index, careful, cells, at);
                continue;
            }
            let judged = careful(index);
            let (total, mistaken) = (judged.total(), judged.mistaken);
            (cells.closed[at + index], cells.closed_mistaken[at + index]) = (total, mistaken);
            if !cells.open.is_empty() {
                (cells.open[at + index], cells.open_mistaken[at + index]) = (total, mistaken);
            }
        }
        let anything = told.anything();
        (cells.closed[at + UNKNOWN], cells.closed_mistaken[at + UNKNOWN]) = (anything, 0.0);
        if !cells.open.is_empty() {
            (cells.open[at + UNKNOWN], cells.open_mistaken[at + UNKNOWN]) = (anything, 0.0);
        }
        self.plain(told, predicted)
    }

    /// Fills the cells of some others, which were told, from the hypothesis `first` on; `plain` is
    /// what was told so of those asked first.
    pub(super) fn as_said(
        &mut self,
        told: &Told<'_>,
        first: usize,
        predicted: &[Predicted],
        plain: &[Judged],
        cells: &mut Cells,
        at: usize,
    ) {
        self.look_no_further(told, predicted);
        self.look_who_is_at_work(told);
        let mut unsure = self.may_be_away.iter().filter(|&&fault| self.at_work[fault] < 1.0);
        if cells.open.is_empty() && !unsure.any(|&fault| self.in_twos[fault]) {
            let some = at + first..at + first + self.likely.len();
            let closed = cells.closed[some.clone()].iter_mut();
            let into = closed.zip(&mut cells.closed_mistaken[some]);
            for ((total, mistaken), judged) in into.zip(&self.likely) {
                (*total, *mistaken) = (judged.total(), judged.mistaken);
            }
            return;
        }
        let judged = |hypothesis: usize| match hypothesis.checked_sub(first) {
            Some(place) => self.likely[place],
            None => plain[hypothesis],
        };
        for index in first..first + self.likely.len() {
            self.put(index, judged, cells, at);
        }
    }

    /// Notes the chance of each fault to be at work in a reading.
    fn look_who_is_at_work(&mut self, told: &Told<'_>) {
        for &fault in &self.may_be_away {
            self.at_work[fault] =
                presence(self.model, &self.model.faults[fault], &told.prepared.setup);
        }
    }

    /// Fills one hypothesis's cells.
    fn put(&self, index: usize, judged: impl Fn(usize) -> Judged, cells: &mut Cells, at: usize) {
        let (cell, at_rest) = (at + index, self.at_rest[index] as usize);
        let closed = self.sometimes(at_rest, &judged);
        (cells.closed[cell], cells.closed_mistaken[cell]) = (closed.total(), closed.mistaken);
        if !cells.open.is_empty() {
            let open = match at_rest == index {
                true => closed,
                false => self.sometimes(index, &judged),
            };
            (cells.open[cell], cells.open_mistaken[cell]) = (open.total(), open.mistaken);
        }
    }

    /// Faults that are at work only some of the time split the likelihood.
    fn sometimes(&self, hypothesis: usize, judged: impl Fn(usize) -> Judged) -> Judged {
        let with = judged(hypothesis);
        let faults = || indices_of(self.hypotheses[hypothesis].kind);
        let Some(unsure) = faults().find(|&fault| self.at_work[fault] < 1.0) else {
            return with;
        };
        let chance = self.at_work[unsure];
        let without = judged(alone(faults().find(|&fault| fault != unsure)));
        Judged {
            sound: chance * with.sound + (1.0 - chance) * without.sound,
            mistaken: chance * with.mistaken + (1.0 - chance) * without.mistaken,
        }
    }

    /// Fills the cells of a reading that was taken with nothing lifted, of which `plain` was told.
    pub(super) fn unlifted(&self, told: &Told<'_>, plain: &[Judged], into: &mut [f64]) {
        for (into, &at_rest) in into.iter_mut().zip(&self.at_rest) {
            *into = plain[at_rest as usize].total();
        }
        into[UNKNOWN] = told.anything();
    }
}

/// The hypothesis that supposes this fault alone, or nothing wrong.
fn alone(fault: Option<usize>) -> usize {
    fault.map_or(SOUND, |fault| 2 + fault)
}
