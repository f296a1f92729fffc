//! Each reading's likelihood under each hypothesis.
//!
//! Belongs here: from predictions to likelihoods, in columns that later sums run along. Does
//! not belong here: one likelihood ([`crate::likelihood`]) and what is made of them all
//! ([`super`]).

use super::hypotheses::{Hypotheses, Kind, indices_of};
use crate::case::Reading;
use crate::likelihood::{
    Judged, Mistakes, Prepared, Seen, broad, is_loose, neighbours, presence, size_spread,
};
use crate::model::Model;
use crate::predict::many::{Predictions, Supposed, Work, predict_many};
use crate::predict::{Predicted, Setup};

/// Columns of likelihoods, one per reading and scale, along the hypotheses.
pub(super) struct Cells {
    hypotheses: usize,
    scales: usize,
    /// Taken as said; overload closed (or no hot overload supposed).
    closed: Vec<f64>,
    closed_mistaken: Vec<f64>,
    /// Taken as said; hot overload open. Nothing where no overload can be.
    open: Vec<f64>,
    open_mistaken: Vec<f64>,
    /// Connector not really lifted; overload closed.
    unlifted: Vec<f64>,
    /// Hypotheses of one fault that comes and goes, in order.
    loose: Vec<usize>,
    comes_and_goes: f64,
}

impl Cells {
    pub(super) fn of(
        model: &Model<'_>,
        hypotheses: &Hypotheses,
        readings: &[Reading],
        prepared: &[Prepared],
        scales: &[f64],
        mistakes: &Mistakes,
        work: &mut Work,
    ) -> Self {
        let count = hypotheses.all.len();
        let all = readings.len() * scales.len() * count;
        let passes = model.faults.iter().any(|fault| fault.passing);
        let of_hot = if passes { all } else { 0 };
        let mut cells = Cells {
            hypotheses: count,
            scales: scales.len(),
            closed: vec![1.0; all],
            closed_mistaken: vec![0.0; all],
            open: vec![1.0; of_hot],
            open_mistaken: vec![0.0; of_hot],
            unlifted: vec![1.0; all],
            loose: loose_singles(model, hypotheses),
            comes_and_goes: mistakes.comes_and_goes,
        };
        let unlifted: Vec<Option<Prepared>> = {
            let lifted: Vec<usize> = (0..prepared.len())
                .filter(|&reading| prepared[reading].unlifted().is_some())
                .collect();
            let setups =
                lifted.iter().filter_map(|&reading| prepared[reading].unlifted()).collect();
            let mut all: Vec<Option<Prepared>> = (0..prepared.len()).map(|_| None).collect();
            for (reading, known) in lifted.into_iter().zip(Prepared::many(model, setups, work)) {
                all[reading] = Some(known);
            }
            all
        };
        let beside: Vec<Vec<Setup>> =
            prepared.iter().map(|prepared| neighbours(model, &prepared.setup)).collect();
        let suppositions: Vec<Supposed<'_>> = hypotheses
            .all
            .iter()
            .map(|hypothesis| {
                let mut faults = indices_of(hypothesis.kind).map(|fault| &model.faults[fault]);
                Supposed { faults: [faults.next(), faults.next()], moved: None }
            })
            .collect();
        // Nothing wrong, the unknown fault and the single ones come first.
        let singles = &suppositions[..2 + model.faults.len()];
        let setups: Vec<&Setup> =
            prepared.iter().chain(unlifted.iter().flatten()).map(|known| &known.setup).collect();
        let beside_setups: Vec<&Setup> = beside.iter().flatten().collect();
        let of_faults = OfFaults::new(model);
        let mut memos = Memos::new();
        for (scale, &value) in scales.iter().enumerate() {
            let predictions = predict_many(model, &setups, &suppositions, value, work);
            let there = predict_many(model, &beside_setups, singles, value, work);
            let (mut next_unlifted, mut next_beside) = (readings.len(), 0);
            for (index, reading) in readings.iter().enumerate() {
                let as_said = Told {
                    prepared: &prepared[index],
                    predicted: predictions.of(index),
                    beside: Some((&there, next_beside, beside[index].len())),
                    seen: prepared[index].seen(&reading.shown),
                    mistakes,
                };
                next_beside += beside[index].len();
                let nothing_lifted = unlifted[index].as_ref().map(|prepared| {
                    next_unlifted += 1;
                    Told {
                        prepared,
                        predicted: predictions.of(next_unlifted - 1),
                        beside: None,
                        seen: prepared.seen(&reading.shown),
                        mistakes,
                    }
                });
                if prepared[index].is_used() {
                    let column = Column {
                        model,
                        hypotheses,
                        of_faults: &of_faults,
                        as_said,
                        nothing_lifted,
                    };
                    let at = (index * scales.len() + scale) * count;
                    column.fill(&mut cells, at, &mut memos);
                }
            }
        }
        cells
    }

    fn column<'a>(&self, of: &'a [f64], reading: usize, scale: usize) -> &'a [f64] {
        &of[(reading * self.scales + scale) * self.hypotheses..][..self.hypotheses]
    }

    pub(super) fn closed(&self, reading: usize, scale: usize) -> &[f64] {
        self.column(&self.closed, reading, scale)
    }

    pub(super) fn open(&self, reading: usize, scale: usize) -> &[f64] {
        self.column(&self.open, reading, scale)
    }

    pub(super) fn unlifted(&self, reading: usize, scale: usize) -> &[f64] {
        self.column(&self.unlifted, reading, scale)
    }

    /// The hypotheses of one fault that comes and goes, in order.
    pub(super) fn loose(&self) -> &[usize] {
        &self.loose
    }

    /// Likelihood of a reading looked at alone: a fault that comes and goes may not have shown.
    pub(super) fn alone(&self, reading: usize, scale: usize, hypothesis: usize) -> f64 {
        self.shown_or_not(self.closed(reading, scale), hypothesis)
    }

    fn shown_or_not(&self, column: &[f64], hypothesis: usize) -> f64 {
        let with = column[hypothesis];
        match self.loose.binary_search(&hypothesis) {
            Ok(_) => with + self.comes_and_goes * (column[SOUND] - with),
            Err(_) => with,
        }
    }

    /// Probability that the reading was taken wrongly if the hypothesis is true.
    pub(super) fn mistaken_ratio(
        &self,
        reading: usize,
        scale: usize,
        hypothesis: usize,
        hot: bool,
    ) -> f64 {
        let closed = self.alone(reading, scale, hypothesis);
        let (total, mistaken) = match hot.then(|| self.open(reading, scale)[hypothesis]) {
            Some(open) if open > closed => {
                (open, self.column(&self.open_mistaken, reading, scale)[hypothesis])
            }
            _ => {
                let column = self.column(&self.closed_mistaken, reading, scale);
                (closed, self.shown_or_not(column, hypothesis))
            }
        };
        if total > 0.0 { mistaken / total } else { 0.0 }
    }
}

/// Where the hypothesis that nothing is wrong stands.
pub(super) const SOUND: usize = 0;

/// The hypotheses of one fault that comes and goes. With a second fault it is rarer than the cut.
fn loose_singles(model: &Model<'_>, hypotheses: &Hypotheses) -> Vec<usize> {
    let loose = |kind: Kind| match kind {
        Kind::Single(fault) => is_loose(model, &model.faults[fault]),
        Kind::Sound | Kind::Double(..) | Kind::Unknown => false,
    };
    (0..hypotheses.all.len()).filter(|&index| loose(hypotheses.all[index].kind)).collect()
}

/// What is asked of each fault again and again.
struct OfFaults {
    size_spread: Vec<f64>,
}

impl OfFaults {
    fn new(model: &Model<'_>) -> Self {
        OfFaults { size_spread: model.faults.iter().map(size_spread).collect() }
    }
}

/// One reading as the predictions see it.
struct Told<'a> {
    prepared: &'a Prepared,
    /// By hypothesis.
    predicted: &'a [Predicted],
    /// Predictions at the neighbouring pins: the first setup, and how many.
    beside: Option<(&'a Predictions, usize, usize)>,
    seen: Seen<'a>,
    mistakes: &'a Mistakes,
}

impl Told<'_> {
    /// `careful` looks at the neighbouring pins.
    fn judged(
        &self,
        hypothesis: usize,
        size_spread: f64,
        careful: bool,
        own: &mut Memo<Judged>,
        beside: &mut Memo<f64>,
    ) -> Judged {
        let predicted = rounded(self.predicted[hypothesis]);
        let mut judged = own.of(predicted, size_spread, || {
            self.prepared.likelihood(self.seen, predicted, size_spread, self.mistakes)
        });
        if predicted != Predicted::Nothing && self.mistakes.flip.is_none() {
            judged.mistaken += match self.beside {
                Some((there, first, count)) if careful && count > 0 => {
                    let each = self.mistakes.neighbour / count as f64;
                    (first..first + count).fold(0.0, |sum, setup| {
                        let there = there.of(setup)[hypothesis];
                        let likely = beside.of(there, size_spread, || {
                            self.prepared.beside(self.seen, there, size_spread)
                        });
                        sum + each * likely
                    })
                }
                // Where there is none, or it is not looked at, anything.
                _ => self.mistakes.neighbour * broad(self.seen.shown),
            };
        }
        judged
    }
}

/// What is remembered of the reading that is looked at.
struct Memos {
    own: Memo<Judged>,
    /// At the neighbouring pins.
    beside: Memo<f64>,
    /// With nothing lifted.
    unlifted: Memo<Judged>,
}

impl Memos {
    fn new() -> Self {
        let nothing = Judged { sound: 0.0, mistaken: 0.0 };
        Memos { own: Memo::new(nothing), beside: Memo::new(0.0), unlifted: Memo::new(nothing) }
    }

    /// Another reading: nothing that was remembered holds any more.
    fn forget(&mut self) {
        self.own.reading += 1;
        self.beside.reading += 1;
        self.unlifted.reading += 1;
    }
}

/// Bits of a prediction that are rounded away: what is left is good to a part in 10⁹, so that
/// hypotheses which differ by rounding alone share a likelihood.
const ROUNDED_BITS: u32 = 22;

/// The prediction as the likelihoods see it, whichever hypothesis asks first.
fn rounded(predicted: Predicted) -> Predicted {
    match predicted {
        Predicted::Value(value) if value.is_finite() => {
            let half = 1u64 << (ROUNDED_BITS - 1);
            let kept = !((1u64 << ROUNDED_BITS) - 1);
            Predicted::Value(f64::from_bits((value.to_bits() + half) & kept))
        }
        _ => predicted,
    }
}

/// Places of a memory, as bits; one prediction pushes out another in the same place.
const MEMO_BITS: u32 = 10;

/// Likelihoods worked out already: many hypotheses predict the same of a reading.
struct Memo<T> {
    /// The reading that is looked at, by number; from 1.
    reading: u32,
    places: Vec<Place<T>>,
}

#[derive(Clone, Copy)]
struct Place<T> {
    /// Of the prediction and of the spread.
    bits: [u64; 2],
    /// The reading that it was worked out for; 0 for none.
    reading: u32,
    known: T,
}

impl<T: Copy> Memo<T> {
    fn new(nothing: T) -> Self {
        Memo {
            reading: 1,
            places: vec![Place { bits: [0; 2], reading: 0, known: nothing }; 1 << MEMO_BITS],
        }
    }

    fn of(&mut self, predicted: Predicted, size_spread: f64, work_out: impl FnOnce() -> T) -> T {
        let Predicted::Value(value) = predicted else {
            return work_out();
        };
        let bits = [value.to_bits(), size_spread.to_bits()];
        let mixed = (bits[0] ^ bits[1].rotate_left(17)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let place = &mut self.places[(mixed >> (64 - MEMO_BITS)) as usize];
        if place.bits != bits || place.reading != self.reading {
            *place = Place { bits, reading: self.reading, known: work_out() };
        }
        place.known
    }
}

/// A reading's column being filled.
struct Column<'a, 'c> {
    model: &'a Model<'c>,
    hypotheses: &'a Hypotheses,
    of_faults: &'a OfFaults,
    as_said: Told<'a>,
    nothing_lifted: Option<Told<'a>>,
}

impl Column<'_, '_> {
    fn fill(&self, cells: &mut Cells, at: usize, memos: &mut Memos) {
        memos.forget();
        let setup = &self.as_said.prepared.setup;
        let at_work: Vec<f64> =
            self.model.faults.iter().map(|fault| presence(self.model, fault, setup)).collect();
        for (index, hypothesis) in self.hypotheses.all.iter().enumerate() {
            let cell = at + index;
            if hypothesis.kind == Kind::Unknown {
                let anything = broad(self.as_said.seen.shown);
                cells.closed[cell] = anything;
                cells.unlifted[cell] = anything;
                if !cells.open.is_empty() {
                    cells.open[cell] = anything;
                }
                continue;
            }
            let faults: [Option<usize>; 2] = {
                let mut faults = indices_of(hypothesis.kind);
                [faults.next(), faults.next()]
            };
            let at_rest =
                faults.map(|fault| fault.filter(|&known| !self.model.faults[known].passing));
            let careful = !matches!(hypothesis.kind, Kind::Double(..));
            let closed = self.sometimes(index, faults, at_rest, careful, &at_work, memos);
            (cells.closed[cell], cells.closed_mistaken[cell]) = (closed.total(), closed.mistaken);
            if !cells.open.is_empty() {
                let open = if at_rest == faults {
                    closed
                } else {
                    self.sometimes(index, faults, faults, careful, &at_work, memos)
                };
                (cells.open[cell], cells.open_mistaken[cell]) = (open.total(), open.mistaken);
            }
            cells.unlifted[cell] = match &self.nothing_lifted {
                None => closed.total(),
                Some(told) => {
                    let (hypothesis, spread) = self.supposing(index, faults, at_rest);
                    told.judged(hypothesis, spread, false, &mut memos.unlifted, &mut memos.beside)
                        .total()
                }
            };
        }
    }

    /// The hypothesis that supposes just these of a hypothesis's faults, and the spread of
    /// their sizes.
    fn supposing(
        &self,
        hypothesis: usize,
        faults: [Option<usize>; 2],
        these: [Option<usize>; 2],
    ) -> (usize, f64) {
        let spread = these
            .into_iter()
            .flatten()
            .map(|fault| self.of_faults.size_spread[fault])
            .fold(0.0, f64::max);
        let index = match these {
            _ if these == faults => hypothesis,
            [Some(one), None] | [None, Some(one)] => 2 + one,
            _ => 0,
        };
        (index, spread)
    }

    /// Faults that are at work only some of the time split the likelihood.
    fn sometimes(
        &self,
        hypothesis: usize,
        faults: [Option<usize>; 2],
        these: [Option<usize>; 2],
        careful: bool,
        at_work: &[f64],
        memos: &mut Memos,
    ) -> Judged {
        let mut judged = |these: [Option<usize>; 2]| {
            let (index, spread) = self.supposing(hypothesis, faults, these);
            self.as_said.judged(index, spread, careful, &mut memos.own, &mut memos.beside)
        };
        let with = judged(these);
        let unsure = (0..2).find_map(|place| {
            let fault = these[place].filter(|&fault| !self.model.faults[fault].passing)?;
            let chance = at_work[fault];
            (chance < 1.0).then_some((place, chance))
        });
        let Some((place, chance)) = unsure else {
            return with;
        };
        let mut fewer = these;
        fewer[place] = None;
        let without = judged(fewer);
        Judged {
            sound: chance * with.sound + (1.0 - chance) * without.sound,
            mistaken: chance * with.mistaken + (1.0 - chance) * without.mistaken,
        }
    }
}
