//! Each reading's likelihood under each hypothesis.
//!
//! Belongs here: from predictions to likelihoods, in columns that later sums run along. Does
//! not belong here: one likelihood ([`crate::likelihood`]), telling predictions that are the same
//! ([`super::classes`]) and what is made of them all ([`super`]).

use super::classes::Classes;
use super::hypotheses::{Hypotheses, Kind, indices_of};
use crate::case::Reading;
use crate::likelihood::{
    Judged, Mistakes, Prepared, Seen, broad, is_loose, neighbours, presence, size_spread,
};
use crate::model::Model;
use crate::predict::many::{Conditions, Supposed, Work};
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
    /// Connector not really lifted; overload closed. By place among the readings with one lifted.
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

impl Cells {
    /// `conditions` are those of the readings as taken, then of those with nothing lifted.
    pub(super) fn of<'m>(
        conditions: &Conditions<'m, '_>,
        hypotheses: &Hypotheses,
        taken: &Taken<'_>,
        scales: &[f64],
        mistakes: &Mistakes,
        work: &mut Work,
    ) -> Self {
        let model = conditions.model();
        let count = hypotheses.all.len();
        let all = taken.readings.len() * scales.len() * count;
        let passes = model.faults.iter().any(|fault| fault.passing);
        let of_hot = if passes { all } else { 0 };
        let mut place_of_unlifted = vec![None; taken.readings.len()];
        for (place, (reading, _)) in taken.unlifted.iter().enumerate() {
            place_of_unlifted[*reading] = Some(place);
        }
        let mut cells = Cells {
            hypotheses: count,
            scales: scales.len(),
            closed: vec![1.0; all],
            closed_mistaken: vec![0.0; all],
            open: vec![1.0; of_hot],
            open_mistaken: vec![0.0; of_hot],
            unlifted: vec![1.0; taken.unlifted.len() * scales.len() * count],
            place_of_unlifted,
            loose: loose_singles(model, hypotheses),
            comes_and_goes: mistakes.comes_and_goes,
        };
        let suppositions: Vec<Supposed<'m>> = hypotheses
            .all
            .iter()
            .map(|hypothesis| {
                let mut faults = indices_of(hypothesis.kind).map(|fault| &model.faults[fault]);
                Supposed { faults: [faults.next(), faults.next()], moved: None }
            })
            .collect();
        let mut columns = Columns::new(model, hypotheses, mistakes);
        let beside = Beside::of(model, taken, work);
        for (scale, &value) in scales.iter().enumerate() {
            let beside = columns.beside(&beside, taken, &suppositions, value, work);
            conditions.each(&suppositions, value, work, &mut |index, predicted| match index
                .checked_sub(taken.readings.len())
            {
                None if taken.prepared[index].is_used() => {
                    let prepared = taken.prepared[index].moved_from(predicted[SOUND]);
                    let told = Told::of(&prepared, &taken.readings[index]);
                    let at = (index * scales.len() + scale) * count;
                    columns.as_said(&told, predicted, beside[index].as_deref(), &mut cells, at);
                }
                None => {}
                Some(place) => {
                    let (reading, prepared) = &taken.unlifted[place];
                    if taken.prepared[*reading].is_used() {
                        let prepared = prepared.moved_from(predicted[SOUND]);
                        let told = Told::of(&prepared, &taken.readings[*reading]);
                        let at = (place * scales.len() + scale) * count;
                        columns.unlifted(&told, predicted, &mut cells.unlifted[at..][..count]);
                    }
                }
            });
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

    /// The same as closed where nothing was lifted.
    pub(super) fn unlifted(&self, reading: usize, scale: usize) -> &[f64] {
        match self.place_of_unlifted[reading] {
            Some(place) => self.column(&self.unlifted, place, scale),
            None => self.closed(reading, scale),
        }
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

/// Where the hypothesis that nothing is wrong stands, and the unknown fault. The single ones
/// follow in the order of the faults, then the double ones.
pub(super) const SOUND: usize = 0;
const UNKNOWN: usize = 1;

/// The hypotheses of one fault that comes and goes. With a second fault it is rarer than the cut.
fn loose_singles(model: &Model<'_>, hypotheses: &Hypotheses) -> Vec<usize> {
    let loose = |kind: Kind| match kind {
        Kind::Single(fault) => is_loose(model, &model.faults[fault]),
        Kind::Sound | Kind::Double(..) | Kind::Unknown => false,
    };
    (0..hypotheses.all.len()).filter(|&index| loose(hypotheses.all[index].kind)).collect()
}

/// One reading as the predictions see it.
struct Told<'a> {
    prepared: &'a Prepared,
    seen: Seen<'a>,
}

impl<'a> Told<'a> {
    fn of(prepared: &'a Prepared, reading: &'a Reading) -> Self {
        Told { prepared, seen: prepared.seen(&reading.shown) }
    }
}

/// The neighbouring pins of every reading.
struct Beside<'m, 'c> {
    conditions: Conditions<'m, 'c>,
    /// The reading that each setup is beside of.
    reading: Vec<usize>,
    /// By reading: how many there are.
    count: Vec<usize>,
}

impl<'m, 'c> Beside<'m, 'c> {
    fn of(model: &'m Model<'c>, taken: &Taken<'_>, work: &mut Work) -> Self {
        let of_each: Vec<Vec<Setup>> =
            taken.prepared.iter().map(|prepared| neighbours(model, &prepared.setup)).collect();
        let count: Vec<usize> = of_each.iter().map(Vec::len).collect();
        let reading =
            count.iter().enumerate().flat_map(|(reading, &count)| vec![reading; count]).collect();
        let setups = of_each.into_iter().flatten().collect();
        Beside { conditions: Conditions::new(model, setups, work), reading, count }
    }
}

/// What is asked of each hypothesis again and again, and room to fill a column in.
struct Columns<'a, 'm, 'c> {
    model: &'m Model<'c>,
    hypotheses: &'a Hypotheses,
    mistakes: &'a Mistakes,
    /// By hypothesis: the one that is left of it with its passing faults gone.
    at_rest: Vec<u32>,
    classes: Classes,
    /// By class.
    likely: Vec<Judged>,
}

impl<'a, 'm, 'c> Columns<'a, 'm, 'c> {
    fn new(model: &'m Model<'c>, hypotheses: &'a Hypotheses, mistakes: &'a Mistakes) -> Self {
        let of_faults: Vec<f64> = model.faults.iter().map(size_spread).collect();
        let faults = |kind: Kind| indices_of(kind);
        // The largest spread of each hypothesis's faults.
        let size_spread: Vec<f64> = (hypotheses.all.iter())
            .map(|one| faults(one.kind).map(|fault| of_faults[fault]).fold(0.0, f64::max))
            .collect();
        Columns {
            model,
            hypotheses,
            mistakes,
            at_rest: hypotheses
                .all
                .iter()
                .enumerate()
                .map(|(index, one)| {
                    let passes = |fault: &usize| model.faults[*fault].passing;
                    match faults(one.kind).any(|fault| passes(&fault)) {
                        true => alone(faults(one.kind).find(|fault| !passes(fault))) as u32,
                        false => index as u32,
                    }
                })
                .collect(),
            classes: Classes::new(&size_spread),
            likely: Vec::new(),
        }
    }

    /// Nothing wrong, the unknown fault and the single ones, which come first.
    fn singles(&self) -> usize {
        2 + self.model.faults.len()
    }

    /// By reading: the likelihood of having been one pin off, by hypothesis of one fault; none
    /// where there is no neighbouring pin.
    fn beside(
        &mut self,
        beside: &Beside<'m, 'c>,
        taken: &Taken<'_>,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
    ) -> Vec<Option<Vec<f64>>> {
        let singles = self.singles();
        let mut sums: Vec<Option<Vec<f64>>> =
            beside.count.iter().map(|&count| (count > 0).then(|| vec![0.0; singles])).collect();
        let mut likely = Vec::new();
        let suppositions = &suppositions[..singles];
        beside.conditions.each(suppositions, scale, work, &mut |setup, there| {
            let reading = beside.reading[setup];
            let Some(sums) = &mut sums[reading] else { return };
            let each = self.mistakes.neighbour / beside.count[reading] as f64;
            let told = Told::of(&taken.prepared[reading], &taken.readings[reading]);
            self.classes.tell(there);
            told.prepared.all_beside(told.seen, &self.classes.all, &mut likely);
            for (sum, &class) in sums.iter_mut().zip(&self.classes.of) {
                *sum += each * likely[class as usize];
            }
        });
        sums
    }

    /// Tells the classes of a column, and the likelihood of each but for the neighbouring pins.
    fn judge(&mut self, told: &Told<'_>, predicted: &[Predicted]) {
        self.classes.tell(predicted);
        let classes = &self.classes.all;
        told.prepared.likelihoods(told.seen, classes, self.mistakes, &mut self.likely);
    }

    /// The likelihood of having been one pin off, of each class: `beside`, or anything where
    /// nobody looked which pins there are.
    fn one_off(&self, told: &Told<'_>, class: usize, beside: Option<f64>) -> f64 {
        if self.classes.all[class].0 == Predicted::Nothing || self.mistakes.flip.is_some() {
            return 0.0;
        }
        beside.unwrap_or_else(|| self.mistakes.neighbour * broad(told.seen.shown))
    }

    /// Adds to each class that anything was shown where one was one pin off.
    fn look_no_further(&mut self, told: &Told<'_>) {
        for class in 0..self.likely.len() {
            self.likely[class].mistaken += self.one_off(told, class, None);
        }
    }

    /// Fills the columns of a reading as it was said to be taken, from `at` on.
    fn as_said(
        &mut self,
        told: &Told<'_>,
        predicted: &[Predicted],
        beside: Option<&[f64]>,
        cells: &mut Cells,
        at: usize,
    ) {
        self.judge(told, predicted);
        let singles = self.singles();
        let careful: Vec<Judged> = (0..singles)
            .map(|hypothesis| {
                let class = self.classes.of[hypothesis] as usize;
                let mut judged = self.likely[class];
                judged.mistaken += self.one_off(told, class, beside.map(|all| all[hypothesis]));
                judged
            })
            .collect();
        self.look_no_further(told);
        let setup = &told.prepared.setup;
        let at_work: Vec<f64> = (self.model.faults.iter())
            .map(|fault| if fault.passing { 1.0 } else { presence(self.model, fault, setup) })
            .collect();
        let sure = cells.open.is_empty() && at_work.iter().all(|&chance| chance == 1.0);
        let of_one = |hypothesis: usize| careful[hypothesis];
        // With two faults nobody looks which pins there are.
        let of_two = |hypothesis: usize| self.likely[self.classes.of[hypothesis] as usize];
        for index in 0..self.hypotheses.all.len() {
            let cell = at + index;
            let closed = if index < singles {
                self.sometimes(self.at_rest[index] as usize, &at_work, of_one)
            } else if sure {
                of_two(index)
            } else {
                self.sometimes(self.at_rest[index] as usize, &at_work, of_two)
            };
            (cells.closed[cell], cells.closed_mistaken[cell]) = (closed.total(), closed.mistaken);
            if !cells.open.is_empty() {
                let open = if self.at_rest[index] as usize == index {
                    closed
                } else if index < singles {
                    self.sometimes(index, &at_work, of_one)
                } else {
                    self.sometimes(index, &at_work, of_two)
                };
                (cells.open[cell], cells.open_mistaken[cell]) = (open.total(), open.mistaken);
            }
        }
        let anything = broad(told.seen.shown);
        (cells.closed[at + UNKNOWN], cells.closed_mistaken[at + UNKNOWN]) = (anything, 0.0);
        if !cells.open.is_empty() {
            (cells.open[at + UNKNOWN], cells.open_mistaken[at + UNKNOWN]) = (anything, 0.0);
        }
    }

    /// Faults that are at work only some of the time split the likelihood.
    fn sometimes(
        &self,
        hypothesis: usize,
        at_work: &[f64],
        judged: impl Fn(usize) -> Judged,
    ) -> Judged {
        let with = judged(hypothesis);
        let faults = || indices_of(self.hypotheses.all[hypothesis].kind);
        let Some(unsure) = faults().find(|&fault| at_work[fault] < 1.0) else {
            return with;
        };
        let chance = at_work[unsure];
        let without = judged(alone(faults().find(|&fault| fault != unsure)));
        Judged {
            sound: chance * with.sound + (1.0 - chance) * without.sound,
            mistaken: chance * with.mistaken + (1.0 - chance) * without.mistaken,
        }
    }

    /// Fills the column of a reading that was taken with nothing lifted.
    fn unlifted(&mut self, told: &Told<'_>, predicted: &[Predicted], into: &mut [f64]) {
        self.judge(told, predicted);
        self.look_no_further(told);
        for (into, &at_rest) in into.iter_mut().zip(&self.at_rest) {
            *into = self.likely[self.classes.of[at_rest as usize] as usize].total();
        }
        into[UNKNOWN] = broad(told.seen.shown);
    }
}

/// The hypothesis that supposes this fault alone, or nothing wrong.
fn alone(fault: Option<usize>) -> usize {
    fault.map_or(SOUND, |fault| 2 + fault)
}
