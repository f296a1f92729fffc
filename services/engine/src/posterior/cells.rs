//! Each reading's likelihood under each hypothesis.
//!
//! Belongs here: from predictions to likelihoods, those of single faults first, in columns that
//! later sums run along. Does not belong here: filling one column ([`super::fill`]), one likelihood
//! ([`crate::likelihood`]), which doubles are hopeless ([`super::hopeless`]) and what is made of
//! them all ([`super`]).

use super::fill::{Columns, Told};
use super::hypotheses::{Hypothesis, Kind, indices_of};
use crate::case::Reading;
use crate::likelihood::{Judged, Mistakes, Prepared, is_loose, neighbours};
use crate::model::{Model, Origin};
use crate::predict::many::{Conditions, Supposed, Work};
use crate::predict::{Predicted, Setup};

/// Columns of likelihoods, one per reading and scale, along the hypotheses: those that are asked
/// first, and then the others that are not hopeless.
pub(super) struct Cells {
    hypotheses: usize,
    /// How many of them are asked first.
    first: usize,
    scales: usize,
    /// Taken as said; overload closed (or no hot overload supposed).
    pub(super) closed: Vec<f64>,
    pub(super) closed_mistaken: Vec<f64>,
    /// Taken as said; hot overload open. Nothing where no overload can be.
    pub(super) open: Vec<f64>,
    pub(super) open_mistaken: Vec<f64>,
    /// Connector not really lifted; overload closed. By place among the readings with one lifted,
    /// along those asked first.
    unlifted: Vec<f64>,
    place_of_unlifted: Vec<Option<usize>>,
    /// Hypotheses of one fault that comes and goes, in order.
    loose: Vec<usize>,
    comes_and_goes: f64,
}

/// Readings as they were taken, and the same with nothing lifted, where something was.
pub(super) struct Taken<'a> {
    pub(super) readings: &'a [Reading],
    pub(super) prepared: &'a [Prepared],
    /// The reading and its setting, in order.
    pub(super) unlifted: &'a [(usize, Prepared)],
}

impl<'a> Taken<'a> {
    /// Settings: the readings, then those with nothing lifted.
    pub(super) fn settings(&self) -> usize {
        self.readings.len() + self.unlifted.len()
    }

    /// The reading that a setting is of, and the setting.
    pub(super) fn setting(&self, index: usize) -> (usize, &'a Prepared) {
        match index.checked_sub(self.readings.len()) {
            None => (index, &self.prepared[index]),
            Some(place) => (self.unlifted[place].0, &self.unlifted[place].1),
        }
    }

    /// Whether the model says anything about a reading.
    pub(super) fn is_used(&self, reading: usize) -> bool {
        self.prepared[reading].is_used()
    }
}

/// What the hypotheses that are asked first make of each setting, at one scale.
pub(super) struct Ones {
    /// Settings with the sound circuit's value at this scale.
    prepared: Vec<Prepared>,
    /// By setting and hypothesis.
    predicted: Vec<Predicted>,
    /// The same, with anything shown at a neighbouring pin.
    plain: Vec<Judged>,
    hypotheses: usize,
}

impl Ones {
    pub(super) fn prepared(&self, setting: usize) -> &Prepared {
        &self.prepared[setting]
    }

    pub(super) fn predicted(&self, setting: usize) -> &[Predicted] {
        &self.predicted[setting * self.hypotheses..][..self.hypotheses]
    }

    fn plain(&self, setting: usize) -> &[Judged] {
        &self.plain[setting * self.hypotheses..][..self.hypotheses]
    }
}

/// What the cells are filled in with. `conditions` are those of the settings, then of the
/// neighbouring pins.
pub(super) struct Asked<'a, 'm, 'c> {
    pub(super) taken: &'a Taken<'a>,
    pub(super) conditions: &'a Conditions<'m, 'c>,
    pub(super) scales: &'a [f64],
}

/// Nothing wrong, the unknown fault and the single ones, which come before the double ones.
pub(super) fn singles(model: &Model<'_>) -> usize {
    2 + model.faults.len()
}

/// Those of them that are asked first, and most: all but conductors that touch, which come last.
/// They, and double faults, are as rare as a mistake; of a neighbouring pin, or a connector not
/// really lifted, together with one of them nothing more is told than of a mistake at large.
pub(super) fn asked_first(model: &Model<'_>) -> usize {
    2 + model.faults.partition_point(|fault| fault.origin != Origin::Touches)
}

impl Cells {
    /// Room for those asked first; nothing filled in but the readings of which the model says
    /// nothing.
    pub(super) fn of_first(
        model: &Model<'_>,
        hypotheses: &[Hypothesis],
        taken: &Taken<'_>,
        scales: usize,
        mistakes: &Mistakes,
    ) -> Self {
        let count = hypotheses.len();
        let all = taken.readings.len() * scales * count;
        let passes = model.faults.iter().any(|fault| fault.passing);
        let of_hot = if passes { all } else { 0 };
        let mut place_of_unlifted = vec![None; taken.readings.len()];
        for (place, (reading, _)) in taken.unlifted.iter().enumerate() {
            place_of_unlifted[*reading] = Some(place);
        }
        let mut cells = Cells {
            hypotheses: count,
            first: count,
            scales,
            closed: vec![0.0; all],
            closed_mistaken: vec![0.0; all],
            open: vec![0.0; of_hot],
            open_mistaken: vec![0.0; of_hot],
            unlifted: vec![0.0; taken.unlifted.len() * scales * count],
            place_of_unlifted,
            loose: loose_singles(model, hypotheses),
            comes_and_goes: mistakes.comes_and_goes,
        };
        for (reading, prepared) in taken.prepared.iter().enumerate() {
            if !prepared.is_used() {
                for scale in 0..scales {
                    let cells_of = |at: usize| at..at + count;
                    let at = cells.at(reading, scale);
                    cells.closed[cells_of(at)].fill(1.0);
                    if passes {
                        cells.open[cells_of(at)].fill(1.0);
                    }
                    if let Some(place) = cells.place_of_unlifted[reading] {
                        let at = cells.at(place, scale);
                        cells.unlifted[cells_of(at)].fill(1.0);
                    }
                }
            }
        }
        cells
    }

    /// Fills in those asked first, at each scale.
    pub(super) fn fill_first<'m>(
        &mut self,
        columns: &mut Columns<'_, 'm, '_>,
        asked: &Asked<'_, 'm, '_>,
        beside: &Beside,
        work: &mut Work,
    ) -> Vec<Ones> {
        let Asked { taken, conditions, scales } = *asked;
        let suppositions = suppositions(columns.model, columns.hypotheses);
        let hypotheses = suppositions.len();
        let mut all = Vec::with_capacity(scales.len());
        for (scale, &value) in scales.iter().enumerate() {
            let mut predicted = vec![Predicted::Nothing; taken.settings() * hypotheses];
            let mut one_off: Vec<Option<Vec<f64>>> = (beside.count.iter())
                .map(|&count| (count > 0).then(|| vec![0.0; hypotheses]))
                .collect();
            conditions.each(&suppositions, value, work, &mut |index, column| match index
                .checked_sub(taken.settings())
            {
                None => predicted[index * hypotheses..][..hypotheses].copy_from_slice(column),
                Some(place) => {
                    let reading = beside.reading[place];
                    if let Some(sums) = &mut one_off[reading]
                        && taken.is_used(reading)
                    {
                        let prepared = &taken.prepared[reading];
                        let told = Told::of(prepared, &taken.readings[reading], prepared.sound);
                        columns.beside(&told, column, beside.count[reading], sums);
                    }
                }
            });
            let room = Vec::with_capacity(taken.settings() * hypotheses);
            let mut ones = Ones { prepared: Vec::new(), predicted, plain: room, hypotheses };
            for index in 0..taken.settings() {
                let (reading, prepared) = taken.setting(index);
                let sound = ones.predicted(index)[SOUND];
                let prepared = prepared.moved_from(sound);
                if !taken.is_used(reading) {
                    ones.plain.extend(vec![Judged { sound: 1.0, mistaken: 0.0 }; hypotheses]);
                    ones.prepared.push(prepared);
                    continue;
                }
                let told = Told::of(&prepared, &taken.readings[reading], sound);
                columns.tell(&told, 0, ones.predicted(index));
                match index.checked_sub(taken.readings.len()) {
                    None => {
                        let at = self.at(reading, scale);
                        let off = one_off[reading].as_deref();
                        let predicted = ones.predicted(index);
                        let plain = columns.careful(&told, predicted, off, self, at);
                        ones.plain.extend(plain);
                    }
                    Some(place) => {
                        let at = (place * self.scales + scale) * self.first;
                        let plain = columns.plain(&told, ones.predicted(index));
                        let into = &mut self.unlifted[at..][..hypotheses];
                        columns.unlifted(&told, &plain, into);
                        ones.plain.extend(plain);
                    }
                }
                ones.prepared.push(prepared);
            }
            all.push(ones);
        }
        all
    }

    /// Fills in the others: conductors that touch and double faults.
    pub(super) fn fill_others<'m>(
        &mut self,
        columns: &mut Columns<'_, 'm, '_>,
        asked: &Asked<'_, 'm, '_>,
        of_first: &[Ones],
        work: &mut Work,
    ) {
        let Asked { taken, conditions, scales } = *asked;
        let (first, singles) = (self.first, singles(columns.model));
        let suppositions = suppositions(columns.model, &columns.hypotheses[first..]);
        let (touching, doubles) = suppositions.split_at(singles - first);
        self.make_room(suppositions.len());
        let readings = taken.readings.len();
        for (scale, (&value, ones)) in scales.iter().zip(of_first).enumerate() {
            for (from, some) in [(first, touching), (singles, doubles)] {
                conditions.each_upto(readings, some, value, work, &mut |reading, predicted| {
                    if taken.is_used(reading) {
                        let sound = ones.predicted(reading)[SOUND];
                        let prepared = ones.prepared(reading);
                        let told = Told::of(prepared, &taken.readings[reading], sound);
                        columns.tell(&told, from, predicted);
                        let at = self.at(reading, scale);
                        columns.as_said(&told, from, predicted, ones.plain(reading), self, at);
                    }
                });
            }
        }
    }

    /// Makes room for so many hypotheses more. A reading of which the model says nothing is as
    /// likely under each of them.
    fn make_room(&mut self, more: usize) {
        let known = self.hypotheses;
        self.hypotheses += more;
        for (of, at_first) in [
            (&mut self.closed, 1.0),
            (&mut self.closed_mistaken, 0.0),
            (&mut self.open, 1.0),
            (&mut self.open_mistaken, 0.0),
        ] {
            let mut wide = Vec::with_capacity(of.len() / known * self.hypotheses);
            for column in of.chunks_exact(known) {
                wide.extend_from_slice(column);
                wide.resize(wide.len() + more, at_first);
            }
            *of = wide;
        }
    }

    /// Of how many hypotheses, those that come first, there are cells.
    pub(super) fn hypotheses(&self) -> usize {
        self.hypotheses
    }

    /// Where the column of a reading (or place) begins.
    fn at(&self, reading: usize, scale: usize) -> usize {
        (reading * self.scales + scale) * self.hypotheses
    }

    fn column<'a>(&self, of: &'a [f64], reading: usize, scale: usize) -> &'a [f64] {
        &of[self.at(reading, scale)..][..self.hypotheses]
    }

    pub(super) fn closed(&self, reading: usize, scale: usize) -> &[f64] {
        self.column(&self.closed, reading, scale)
    }

    pub(super) fn open(&self, reading: usize, scale: usize) -> &[f64] {
        self.column(&self.open, reading, scale)
    }

    /// If nothing was lifted, along those asked first; the same as closed where nothing was said
    /// to be.
    pub(super) fn unlifted(&self, reading: usize, scale: usize) -> &[f64] {
        match self.place_of_unlifted[reading] {
            Some(place) => &self.unlifted[(place * self.scales + scale) * self.first..],
            None => self.closed(reading, scale),
        }
    }

    /// The hypotheses of one fault that comes and goes, in order.
    pub(super) fn loose(&self) -> &[usize] {
        &self.loose
    }

    /// Likelihood of a reading looked at alone: a fault that comes and goes may not have shown.
    pub(super) fn alone(&self, reading: usize, scale: usize, hypothesis: usize) -> f64 {
        self.shown_or_not(self.closed(reading, scale), hypothesis, self.is_loose(hypothesis))
    }

    fn is_loose(&self, hypothesis: usize) -> bool {
        self.loose.binary_search(&hypothesis).is_ok()
    }

    fn shown_or_not(&self, column: &[f64], hypothesis: usize, is_loose: bool) -> f64 {
        let with = column[hypothesis];
        if is_loose { with + self.comes_and_goes * (column[SOUND] - with) } else { with }
    }

    /// Probability that each reading was taken wrongly if the hypothesis is true.
    pub(super) fn mistaken_ratios(
        &self,
        scale: usize,
        hypothesis: usize,
        hot: bool,
    ) -> impl Iterator<Item = f64> {
        let is_loose = self.is_loose(hypothesis);
        (0..self.place_of_unlifted.len()).map(move |reading| {
            let closed = self.shown_or_not(self.closed(reading, scale), hypothesis, is_loose);
            let (total, mistaken) = match hot.then(|| self.open(reading, scale)[hypothesis]) {
                Some(open) if open > closed => {
                    (open, self.column(&self.open_mistaken, reading, scale)[hypothesis])
                }
                _ => {
                    let column = self.column(&self.closed_mistaken, reading, scale);
                    (closed, self.shown_or_not(column, hypothesis, is_loose))
                }
            };
            if total > 0.0 { mistaken / total } else { 0.0 }
        })
    }
}

/// Where the hypothesis that nothing is wrong stands, and the unknown fault. The single ones
/// follow in the order of the faults, then the double ones.
pub(super) const SOUND: usize = 0;
pub(crate) const UNKNOWN: usize = 1;

/// The hypotheses of one fault that comes and goes. With a second fault it is rarer than the cut.
fn loose_singles(model: &Model<'_>, hypotheses: &[Hypothesis]) -> Vec<usize> {
    let loose = |kind: Kind| match kind {
        Kind::Single(fault) => is_loose(model, &model.faults[fault]),
        Kind::Sound | Kind::Double(..) | Kind::Unknown => false,
    };
    (0..hypotheses.len()).filter(|&index| loose(hypotheses[index].kind)).collect()
}

/// What some of the hypotheses suppose.
fn suppositions<'m>(model: &'m Model<'_>, hypotheses: &[Hypothesis]) -> Vec<Supposed<'m>> {
    let of = |kind: Kind| {
        let mut faults = indices_of(kind).map(|fault| &model.faults[fault]);
        Supposed { faults: [faults.next(), faults.next()], moved: None }
    };
    hypotheses.iter().map(|hypothesis| of(hypothesis.kind)).collect()
}

/// The neighbouring pins of every reading.
pub(super) struct Beside {
    pub(super) setups: Vec<Setup>,
    /// The reading that each setup is beside of.
    reading: Vec<usize>,
    /// By reading: how many there are.
    count: Vec<usize>,
}

impl Beside {
    /// `setups` are those of the readings.
    pub(super) fn of(model: &Model<'_>, setups: &[Setup]) -> Self {
        let of_each: Vec<Vec<Setup>> =
            setups.iter().map(|setup| neighbours(model, setup)).collect();
        let count: Vec<usize> = of_each.iter().map(Vec::len).collect();
        let reading =
            count.iter().enumerate().flat_map(|(reading, &count)| vec![reading; count]).collect();
        Beside { setups: of_each.into_iter().flatten().collect(), reading, count }
    }
}
