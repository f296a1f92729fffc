//! What the likeliest known explanation expects of each reading.
//!
//! Belongs here: which explanation that is, and its predictions, worked out once for all who ask.
//! Does not belong here: whether it fits ([`super::fit`]) and how it is told ([`super::told`]).

use crate::model::Fault;
use crate::posterior::{Kind, Weighed, faults_of};
use crate::predict::Predicted;
use crate::predict::many::{Conditions, Predictions, Supposed, Work};

/// An explanation and what it predicts of some readings.
pub(super) struct Expected<'m> {
    pub(super) faults: Vec<&'m Fault>,
    /// Of a sound circuit, of the faults, and of the faults less each of them in turn.
    predictions: Predictions,
}

impl<'m> Expected<'m> {
    /// Of the likeliest explanation other than the unknown fault; the first of equals.
    pub(super) fn of_leading(weighed: &Weighed<'m, '_>) -> Self {
        let leading = (0..weighed.posterior.len())
            .filter(|&index| weighed.hypotheses.all[index].kind != Kind::Unknown)
            .max_by(|&a, &b| weighed.posterior[a].total_cmp(&weighed.posterior[b]).then(b.cmp(&a)))
            .unwrap_or(0);
        let faults = faults_of(weighed.model, weighed.hypotheses.all[leading].kind);
        let readings = weighed.prepared.len();
        Expected::of(&weighed.conditions, readings, faults, weighed.scale)
    }

    /// Of the readings that come first in these conditions, so many of them.
    pub(super) fn of(
        conditions: &Conditions<'m, '_>,
        readings: usize,
        faults: Vec<&'m Fault>,
        scale: f64,
    ) -> Self {
        let mut suppositions = vec![Supposed::default(), Supposed::of(&faults)];
        suppositions.extend((0..faults.len()).map(|leave| {
            let mut fewer = faults.clone();
            fewer.remove(leave);
            Supposed::of(&fewer)
        }));
        // Counted nowhere: it repeats what weighing the evidence has done.
        let mut work = Work::default();
        let predictions = conditions.predict_upto(readings, &suppositions, scale, &mut work);
        Expected { faults, predictions }
    }

    pub(super) fn sound(&self, reading: usize) -> Predicted {
        self.predictions.of(reading)[0]
    }

    pub(super) fn leading(&self, reading: usize) -> Predicted {
        self.predictions.of(reading)[1]
    }

    /// With this one of the faults not at work.
    pub(super) fn without(&self, reading: usize, fault: usize) -> Predicted {
        self.predictions.of(reading)[2 + fault]
    }
}
