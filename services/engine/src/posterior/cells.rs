//! Each reading's likelihood under each hypothesis.
//!
//! Belongs here: from predictions to likelihoods, in columns that later sums run along. Does
//! not belong here: one likelihood ([`crate::likelihood`]) and what is made of them all
//! ([`super`]).

use super::hypotheses::{Hypotheses, Kind, indices_of};
use crate::case::{Reading, Shown};
use crate::likelihood::{
    Judged, Mistakes, Prepared, broad, is_loose, neighbours, presence, size_spread,
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
    /// Taken as said; hot overload open.
    open: Vec<f64>,
    open_mistaken: Vec<f64>,
    /// Connector not really lifted; overload closed.
    unlifted: Vec<f64>,
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
        let mut cells = Cells {
            hypotheses: count,
            scales: scales.len(),
            closed: vec![1.0; all],
            closed_mistaken: vec![0.0; all],
            open: vec![1.0; all],
            open_mistaken: vec![0.0; all],
            unlifted: vec![1.0; all],
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
        for (scale, &value) in scales.iter().enumerate() {
            let predictions = predict_many(model, &setups, &suppositions, value, work);
            let there = predict_many(model, &beside_setups, singles, value, work);
            let (mut next_unlifted, mut next_beside) = (readings.len(), 0);
            for (index, reading) in readings.iter().enumerate() {
                let as_said = Told {
                    prepared: &prepared[index],
                    predicted: predictions.of(index),
                    beside: Some((&there, next_beside, beside[index].len())),
                    shown: &reading.shown,
                    mistakes,
                };
                next_beside += beside[index].len();
                let nothing_lifted = unlifted[index].as_ref().map(|prepared| {
                    next_unlifted += 1;
                    Told {
                        prepared,
                        predicted: predictions.of(next_unlifted - 1),
                        beside: None,
                        shown: &reading.shown,
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
                    column.fill(&mut cells, at);
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

    /// Probability that the reading was taken wrongly if the hypothesis is true.
    pub(super) fn mistaken_ratio(
        &self,
        reading: usize,
        scale: usize,
        hypothesis: usize,
        hot: bool,
    ) -> f64 {
        let closed = self.closed(reading, scale)[hypothesis];
        let open = self.open(reading, scale)[hypothesis];
        let (total, mistaken) = if hot && open > closed {
            (open, self.column(&self.open_mistaken, reading, scale)[hypothesis])
        } else {
            (closed, self.column(&self.closed_mistaken, reading, scale)[hypothesis])
        };
        if total > 0.0 { mistaken / total } else { 0.0 }
    }
}

/// What is asked of each fault again and again.
struct OfFaults {
    size_spread: Vec<f64>,
    loose: Vec<bool>,
}

impl OfFaults {
    fn new(model: &Model<'_>) -> Self {
        OfFaults {
            size_spread: model.faults.iter().map(size_spread).collect(),
            loose: model.faults.iter().map(|fault| is_loose(model, fault)).collect(),
        }
    }
}

/// One reading as the predictions see it.
struct Told<'a> {
    prepared: &'a Prepared,
    /// By hypothesis.
    predicted: &'a [Predicted],
    /// Predictions at the neighbouring pins: the first setup, and how many.
    beside: Option<(&'a Predictions, usize, usize)>,
    shown: &'a Shown,
    mistakes: &'a Mistakes,
}

impl Told<'_> {
    /// `careful` looks at the neighbouring pins.
    fn judged(
        &self,
        hypothesis: usize,
        size_spread: f64,
        careful: bool,
        memo: &mut Memo,
    ) -> Judged {
        let predicted = Memo::rounded(self.predicted[hypothesis]);
        let mut judged = memo.judged(predicted, size_spread, || {
            self.prepared.likelihood(self.shown, predicted, size_spread, self.mistakes)
        });
        if predicted != Predicted::Nothing && self.mistakes.flip.is_none() {
            let (first, count) = match self.beside {
                Some((_, first, count)) if careful => (first, count),
                _ => (0, 0),
            };
            let there = (first..first + count).map(|setup| match self.beside {
                Some((there, ..)) => there.of(setup)[hypothesis],
                None => Predicted::Nothing,
            });
            judged.mistaken += self.prepared.beside(self.shown, there, size_spread, self.mistakes);
        }
        judged
    }
}

/// Likelihoods worked out already: many hypotheses predict the same of a reading.
struct Memo {
    places: Vec<Option<(u64, u64, Judged)>>,
}

impl Memo {
    /// Places; one prediction pushes out another in the same place.
    const PLACES: usize = 256;
    /// Bits of a prediction that are rounded away: what is left is good to a part in 10⁹, so
    /// that hypotheses which differ by rounding alone share a likelihood.
    const ROUNDED: u32 = 22;

    fn new() -> Self {
        Memo { places: vec![None; Memo::PLACES] }
    }

    /// The prediction as the likelihoods see it, whichever hypothesis asks first.
    fn rounded(predicted: Predicted) -> Predicted {
        match predicted {
            Predicted::Value(value) if value.is_finite() => {
                let half = 1u64 << (Memo::ROUNDED - 1);
                let kept = !((1u64 << Memo::ROUNDED) - 1);
                Predicted::Value(f64::from_bits((value.to_bits() + half) & kept))
            }
            _ => predicted,
        }
    }

    fn judged(
        &mut self,
        predicted: Predicted,
        size_spread: f64,
        work_out: impl FnOnce() -> Judged,
    ) -> Judged {
        let Predicted::Value(value) = predicted else {
            return work_out();
        };
        let key = (value.to_bits(), size_spread.to_bits());
        let mixed = (key.0 ^ key.1.rotate_left(17)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let place = &mut self.places[(mixed >> 56) as usize];
        match place {
            Some((bits, spread, judged)) if (*bits, *spread) == key => *judged,
            _ => {
                let judged = work_out();
                *place = Some((key.0, key.1, judged));
                judged
            }
        }
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
    fn fill(&self, cells: &mut Cells, at: usize) {
        let (mut memo, mut memo_unlifted) = (Memo::new(), Memo::new());
        let setup = &self.as_said.prepared.setup;
        let at_work: Vec<f64> =
            self.model.faults.iter().map(|fault| presence(self.model, fault, setup)).collect();
        for (index, hypothesis) in self.hypotheses.all.iter().enumerate() {
            let cell = at + index;
            if hypothesis.kind == Kind::Unknown {
                let anything = broad(self.as_said.shown);
                (cells.closed[cell], cells.open[cell]) = (anything, anything);
                cells.unlifted[cell] = anything;
                continue;
            }
            let faults: [Option<usize>; 2] = {
                let mut faults = indices_of(hypothesis.kind);
                [faults.next(), faults.next()]
            };
            let at_rest =
                faults.map(|fault| fault.filter(|&known| !self.model.faults[known].passing));
            let careful = !matches!(hypothesis.kind, Kind::Double(..));
            let closed = self.sometimes(index, faults, at_rest, careful, &at_work, &mut memo);
            let open = if at_rest == faults {
                closed
            } else {
                self.sometimes(index, faults, faults, careful, &at_work, &mut memo)
            };
            (cells.closed[cell], cells.closed_mistaken[cell]) = (closed.total(), closed.mistaken);
            (cells.open[cell], cells.open_mistaken[cell]) = (open.total(), open.mistaken);
            cells.unlifted[cell] = match &self.nothing_lifted {
                None => closed.total(),
                Some(told) => {
                    let (hypothesis, spread) = self.supposing(index, faults, at_rest);
                    told.judged(hypothesis, spread, false, &mut memo_unlifted).total()
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

    /// Faults that are at work only some of the time split the likelihood. That a contact comes
    /// and goes is asked of single faults only: with a second fault it is rarer than the cut.
    fn sometimes(
        &self,
        hypothesis: usize,
        faults: [Option<usize>; 2],
        these: [Option<usize>; 2],
        careful: bool,
        at_work: &[f64],
        memo: &mut Memo,
    ) -> Judged {
        let mut judged = |these: [Option<usize>; 2]| {
            let (index, spread) = self.supposing(hypothesis, faults, these);
            self.as_said.judged(index, spread, careful, memo)
        };
        let with = judged(these);
        let chance_of = |fault: usize| {
            let loose = careful && self.of_faults.loose[fault];
            let comes_and_goes = self.as_said.mistakes.comes_and_goes;
            if loose { at_work[fault] * (1.0 - comes_and_goes) } else { at_work[fault] }
        };
        let unsure = (0..2).find_map(|place| {
            let fault = these[place].filter(|&fault| !self.model.faults[fault].passing)?;
            let chance = chance_of(fault);
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
