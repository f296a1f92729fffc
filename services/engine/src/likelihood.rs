//! How likely a reading is, given a prediction.
//!
//! Belongs here: meter error, tolerance, heavy tails, over limit as a censored value, and the
//! ways in which a reading is taken wrongly. Does not belong here: which faults there are.
//!
//! All densities are with respect to the logarithm of (value + the meter's floor), so that
//! readings from milliohms to megohms are comparable and the floor keeps zero finite.
//! Numbers marked "common practice, no source" are judgement, to be replaced by outcomes.

mod most;
mod side_by_side;

pub(crate) use most::OfSpread;

use crate::case::{Meter, Power, Reading, Shown};
use crate::circuit::{Effect, PartKind};
use crate::model::{Fault, Model, Origin};
use crate::predict::many::{Conditions, Work};
use crate::predict::{Predicted, Setup, spread};
use crate::units::Quantity;

/// A sound reading's noise has Student tails with this many degrees of freedom, so that one
/// bad reading cannot carry a verdict. The closed forms below are for 4.
const TAIL_FREEDOM: f64 = 4.0;
/// Natural-log width over which a reading taken wrongly may land.
const BROAD_WIDTH: f64 = 24.0;
/// Chance that a reading taken wrongly, or an unknown fault, shows over limit.
const BROAD_OVER_LIMIT: f64 = 0.3;
/// Spread of insulation from unit to unit, natural log (common practice, no source).
const INSULATION_SPREAD: f64 = 1.2;
/// Above this a prediction is insulation, not copper, ohm.
const INSULATION_OHM: f64 = 1e5;
/// Leads that were not zeroed add this, ohm (common practice, no source).
const LEADS_OHM: f64 = 0.3;
/// An ordinary ohmmeter sees a ground of more than this only half of the time, ohm: its volt
/// or two does not break down what line voltage does.
const OHMMETER_GROUND_OHM: f64 = 1e3;
/// Spread around each value of a sound part that is far off the family's, natural log.
const VARIES_SPREAD: f64 = 0.25;
/// Spread around each resistance at which conductors touch, natural log.
const TOUCHING_SPREAD: f64 = 0.4;
/// A reading taken again differs by this beside the meter's own error, natural log (common
/// practice, no source).
const AGAIN: f64 = 0.05;
/// Spread of copper's resistance where nobody noted how warm it is: a motor that tripped on heat
/// may be 80 °C warmer than one that did not, and nothing else gets so warm (common practice, no
/// source).
const UNKNOWN_WARMTH: f64 = 0.05;
const UNKNOWN_WARMTH_OF_MOTORS: f64 = 0.12;
/// Chance that "still climbing" is shown where a capacitor charges; otherwise over limit.
const CLIMBING_CHANCE: f64 = 0.6;

/// How a mistake comes about; shares of the mistake rate (common practice, no source).
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mistakes {
    /// Poor contact shows over limit.
    pub(crate) poor_contact: f64,
    /// Leads not zeroed, or a poor contact's few tenths.
    pub(crate) leads: f64,
    /// A thousand times too much or too little.
    pub(crate) wrong_unit: f64,
    /// The neighbouring pin.
    pub(crate) neighbour: f64,
    /// Anything else: somewhere in the meter's range.
    pub(crate) slip: f64,
    /// The connector was not really lifted (of all readings taken on that occasion).
    pub(crate) not_lifted: f64,
    /// A bad lead, plug or contact is away when one reading is taken.
    pub(crate) comes_and_goes: f64,
    /// Flip between a value and over limit, nothing else: for check values computed by hand.
    pub(crate) flip: Option<f64>,
}

impl Mistakes {
    /// The usual shares of a mistake rate.
    pub(crate) fn usual(rate: f64) -> Self {
        Mistakes {
            poor_contact: 0.20 * rate,
            leads: 0.20 * rate,
            wrong_unit: 0.10 * rate,
            neighbour: 0.20 * rate,
            slip: 0.15 * rate,
            not_lifted: 0.15 * rate,
            comes_and_goes: crate::posterior::AWAY,
            flip: None,
        }
    }

    fn per_reading(&self) -> f64 {
        self.poor_contact + self.leads + self.wrong_unit + self.neighbour + self.slip
    }
}

/// A reading prepared for judging: the setup, the meter's limits, the spread of good parts.
#[derive(Clone, Debug)]
pub(crate) struct Prepared {
    pub(crate) setup: Setup,
    /// What a sound circuit shows at scale 1.
    pub(crate) sound: Predicted,
    /// Relative spread of the sound value from part tolerance (one standard deviation).
    spread: f64,
    /// Logarithm of the sound value with the meter's floor, where there is one.
    sound_log: Option<f64>,
    pub(crate) meter: MeterLimits,
}

/// What a meter showed, as every likelihood of the reading asks for it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen<'s> {
    pub(crate) shown: &'s Shown,
    /// Base unit; the meter's highest where it was over limit.
    base: f64,
    /// Of the base with the meter's floor.
    log: f64,
}

/// A meter's numbers in force.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MeterLimits {
    accuracy: f64,
    resolution: f64,
    pub(crate) highest: f64,
    lead_ohm: f64,
    /// What its leads add to every reading, ohm, known because they were not zeroed.
    adds_ohm: f64,
}

impl MeterLimits {
    /// The meter's own numbers, or those of a usual one (common practice, no source).
    pub(crate) fn of(quantity: Quantity, meter: Option<&Meter>) -> Self {
        let (accuracy, resolution, highest, lead_ohm) = match quantity {
            Quantity::Resistance => (0.01, 0.01, 4e7, 0.05),
            Quantity::Insulation => (0.05, 1e4, 2e9, 0.0),
            Quantity::Capacitance => (0.02, 0.1, 1e4, 0.0),
            Quantity::Voltage | Quantity::DirectVoltage => (0.01, 0.5, 1e3, 0.0),
            Quantity::Current => (0.02, 0.1, 1e3, 0.0),
            // Between 1.5 and 3 V of test current's reach, by meter.
            Quantity::Diode => (0.02, 0.01, 2.0, 0.0),
        };
        let given = |value: Option<f64>, usual: f64| value.unwrap_or(usual);
        let zeroed = meter.and_then(|meter| meter.zeroed);
        let lead_ohm = match zeroed {
            _ if quantity != Quantity::Resistance => 0.0,
            Some(true) => 0.02,
            Some(false) => meter.and_then(|meter| meter.lead_ohm).unwrap_or(LEADS_OHM),
            None => lead_ohm,
        };
        MeterLimits {
            accuracy: given(meter.and_then(|m| m.accuracy_pct).map(|pct| pct / 100.0), accuracy),
            resolution: given(meter.and_then(|m| m.resolution), resolution),
            highest: given(meter.and_then(|m| m.highest), highest),
            lead_ohm,
            adds_ohm: if zeroed == Some(false) { lead_ohm } else { 0.0 },
        }
    }

    /// Those of the meter that a reading was taken with.
    pub(crate) fn of_reading(reading: &Reading) -> Self {
        MeterLimits::of(reading.quantity, reading.meter.as_ref())
    }

    /// Below this the meter tells nothing, base unit; also the log scale's floor.
    pub(crate) fn floor(&self) -> f64 {
        self.resolution + self.lead_ohm
    }

    /// The share of a value that the meter alone may be off by, from 0; without bound at zero.
    pub(crate) fn share(&self, value: f64) -> f64 {
        self.accuracy + self.floor() / value.max(f64::MIN_POSITIVE)
    }

    /// The same, where the leads were taken off.
    pub(crate) fn share_without_leads(&self, value: f64) -> f64 {
        self.accuracy + self.resolution / value.max(f64::MIN_POSITIVE)
    }

    /// The error of one value, base unit, one standard deviation.
    pub(crate) fn one_sigma(&self, value: f64) -> f64 {
        self.accuracy * value / 2.0 + self.floor() / 2.0
    }
}

impl Prepared {
    /// Prepares ways of measuring, those that come first, each with its meter.
    pub(crate) fn many(
        conditions: &Conditions<'_, '_>,
        meters: Vec<MeterLimits>,
        work: &mut Work,
    ) -> Vec<Self> {
        let sound = spread::sound(conditions, meters.len(), work);
        let setups = conditions.setups().iter().cloned();
        let trips = conditions.model().faults.iter().any(|fault| fault.passing);
        let warmth = if trips { UNKNOWN_WARMTH_OF_MOTORS } else { UNKNOWN_WARMTH };
        setups
            .zip(meters)
            .zip(sound)
            .map(|((setup, meter), (sound, spread))| {
                // Stated tolerances are limits, taken as two standard deviations.
                let mut spread = spread / 2.0;
                if setup.part_temp_c.is_none() && setup.quantity == Quantity::Resistance {
                    // Copper moves 10 % over 25 °C: not knowing the temperature costs that.
                    spread = spread.hypot(warmth);
                }
                let sound_log = match sound {
                    Predicted::Value(value) => Some((value + meter.adds_ohm + meter.floor()).ln()),
                    _ => None,
                };
                Prepared { setup, sound, spread, sound_log, meter }
            })
            .collect()
    }

    /// The way in which a reading of a validated case was taken.
    pub(crate) fn setup_of(model: &Model<'_>, reading: &Reading) -> Setup {
        // Named or not, a state says that the supply is on: direct volts are read both ways.
        let live = reading.power == Power::Energised && reading.quantity.either_way();
        let state = model.state(reading.state.as_deref()).or(live.then_some(0));
        Setup {
            quantity: reading.quantity,
            from: model.point(&reading.from),
            to: model.point(&reading.to),
            lifted: model.lifted(&reading.lifted),
            state,
            low_impedance: reading.meter.as_ref().and_then(|m| m.low_impedance) == Some(true),
            part_temp_c: reading.part_temp_c,
            stopped_min: reading.stopped_min,
        }
    }

    /// The same where alike parts are at another scale, at which a sound circuit shows `sound`:
    /// what a fault moves is told from that.
    pub(crate) fn moved_from(&self, sound: Predicted) -> Self {
        let sound_log = match sound {
            Predicted::Value(value) => {
                Some((value + self.meter.adds_ohm + self.meter.floor()).ln())
            }
            _ => None,
        };
        Prepared { sound_log, ..self.clone() }
    }

    /// Whether two values were seen that the meter does not tell apart.
    pub(crate) fn same_shown(&self, seen: Seen<'_>, other: Seen<'_>) -> bool {
        let meter = self.meter.one_sigma(seen.base) / (seen.base + self.meter.floor());
        (seen.log - other.log).abs() < 3.0 * meter + AGAIN
    }

    /// Whether the model can say anything about this way of measuring.
    pub(crate) fn is_used(&self) -> bool {
        self.sound != Predicted::Nothing
    }

    /// Centre and standard deviation, in log units, of what a sound meter shows where the
    /// faults predict `value`.
    pub(crate) fn centre_and_spread(&self, value: f64, size_spread: f64) -> (f64, f64) {
        let ([centre], [variance]) = self.centres_and_variances([value], size_spread);
        (centre, variance.sqrt())
    }

    /// Centres and variances of several values side by side.
    #[inline]
    fn centres_and_variances<const N: usize>(
        &self,
        values: [f64; N],
        size_spread: f64,
    ) -> ([f64; N], [f64; N]) {
        let values = values.map(|value| value + self.meter.adds_ohm);
        let with_floor = values.map(|value| value + self.meter.floor());
        let logs = with_floor.map(f64::ln);
        let is_ohms = matches!(self.setup.quantity, Quantity::Resistance | Quantity::Insulation);
        let of_insulation = if is_ohms { INSULATION_SPREAD * INSULATION_SPREAD } else { 0.0 };
        let variances = std::array::from_fn(|place| {
            let (value, share) = (values[place], 1.0 / with_floor[place]);
            let of_parts = self.spread * value * share;
            let of_meter = self.meter.one_sigma(value) * share;
            let mut variance = of_parts * of_parts + of_meter * of_meter;
            variance += if value > INSULATION_OHM { of_insulation } else { 0.0 };
            if size_spread > 0.0 {
                let moved = self
                    .sound_log
                    .map_or(1.0, |sound| ((logs[place] - sound).abs() / 0.2).min(1.0));
                let of_size = size_spread * moved;
                variance += of_size * of_size;
            }
            variance
        });
        (logs, variances)
    }

    /// Densities of a value that was seen, where the faults predict each of these.
    #[inline]
    fn densities<const N: usize>(
        &self,
        seen: Seen<'_>,
        values: [f64; N],
        size_spread: f64,
    ) -> [f64; N] {
        let (centres, variances) = self.centres_and_variances(values, size_spread);
        std::array::from_fn(|place| {
            let off = seen.log - centres[place];
            tail_density(off * off / variances[place], variances[place])
        })
    }

    /// What was shown, looked at once for all likelihoods.
    pub(crate) fn seen<'s>(&self, shown: &'s Shown) -> Seen<'s> {
        let base = match shown {
            Shown::Value { value, unit } => value * unit.to_base(),
            Shown::OverLimit | Shown::Climbing => self.meter.highest,
        };
        Seen { shown, base, log: (base + self.meter.floor()).ln() }
    }

    /// Likelihood that `shown` is what a sound meter shows, without mistakes.
    fn sound_likelihood(&self, seen: Seen<'_>, predicted: Predicted, size_spread: f64) -> f64 {
        match (predicted, seen.shown) {
            (Predicted::Nothing, _) => 1.0,
            (Predicted::Ghost { up_to }, Shown::Value { .. }) => {
                // As often as not nothing; otherwise some part of the nearest live conductor.
                let floor = self.meter.floor();
                let nothing = self.sound_likelihood(seen, Predicted::Value(0.0), 0.0);
                let under = seen.base <= up_to;
                let ghost = if under { (seen.base + floor) / (up_to + floor) } else { 0.0 };
                0.5 * nothing + 0.5 * ghost
            }
            (Predicted::Ghost { .. }, _) => 0.0,
            (Predicted::NoPath { charging }, Shown::OverLimit) => {
                if charging {
                    1.0 - CLIMBING_CHANCE
                } else {
                    1.0
                }
            }
            (Predicted::NoPath { charging }, Shown::Climbing) => {
                if charging {
                    CLIMBING_CHANCE
                } else {
                    0.0
                }
            }
            (Predicted::NoPath { .. }, Shown::Value { .. })
            | (Predicted::Value(_), Shown::Climbing) => 0.0,
            (Predicted::Value(value), Shown::Value { .. }) => {
                let [density] = self.densities(seen, [value], size_spread);
                density
            }
            (Predicted::Value(value), Shown::OverLimit) => {
                let (centre, spread) = self.centre_and_spread(value, size_spread);
                tail_above((seen.log - centre) / spread)
            }
        }
    }

    /// Likelihood of what was seen where the faults predict `predicted`, mistakes included but for
    /// the neighbouring pin, which is the caller's to add ([`Prepared::beside`]).
    pub(crate) fn likelihood(
        &self,
        seen: Seen<'_>,
        predicted: Predicted,
        size_spread: f64,
        mistakes: &Mistakes,
    ) -> Judged {
        let shown = seen.shown;
        if predicted == Predicted::Nothing {
            return Judged { sound: 1.0, mistaken: 0.0 };
        }
        if let (Predicted::Value(value), Quantity::Resistance, None) =
            (predicted, self.setup.quantity, mistakes.flip)
        {
            return self.ohms_likelihood(seen, value, size_spread, mistakes);
        }
        let sound = self.sound_likelihood(seen, predicted, size_spread);
        if let Some(rate) = mistakes.flip {
            // A flip shows a value with the density that a sound reading would have had.
            let flipped = match (predicted, shown) {
                (Predicted::NoPath { .. }, Shown::Value { .. }) => {
                    let base = base_of(self.sound, seen.base);
                    self.sound_likelihood(seen, Predicted::Value(base), 0.0)
                }
                (Predicted::Value(_), Shown::OverLimit) => 1.0,
                _ => 0.0,
            };
            return Judged { sound: (1.0 - rate) * sound, mistaken: rate * flipped };
        }
        let poor_contact = match self.setup.quantity {
            // A probe that does not touch, a clamp around the wrong conductor or around both.
            Quantity::Voltage | Quantity::DirectVoltage | Quantity::Current => {
                self.sound_likelihood(seen, Predicted::Value(0.0), 0.0)
            }
            _ if *shown == Shown::OverLimit => 1.0,
            _ => 0.0,
        };
        let wrong = mistakes.slip * broad(shown)
            + mistakes.poor_contact * poor_contact
            + (mistakes.leads + mistakes.wrong_unit) * broad(shown);
        Judged { sound: (1.0 - mistakes.per_reading()) * sound, mistaken: wrong }
    }

    /// The same for ohms on an ordinary meter, where leads and units can be mistaken too.
    fn ohms_likelihood(
        &self,
        seen: Seen<'_>,
        value: f64,
        size_spread: f64,
        mistakes: &Mistakes,
    ) -> Judged {
        let shown = seen.shown;
        let values = [value, value + LEADS_OHM, value * 1e3, value * 1e-3];
        let [sound, leads, thousandfold, thousandth] = match shown {
            // Side by side: divisions and roots take their time.
            Shown::Value { .. } => self.densities(seen, values, size_spread),
            Shown::OverLimit | Shown::Climbing => values
                .map(|value| self.sound_likelihood(seen, Predicted::Value(value), size_spread)),
        };
        let poor_contact = if *shown == Shown::OverLimit { 1.0 } else { 0.0 };
        let wrong = mistakes.slip * broad(shown)
            + mistakes.poor_contact * poor_contact
            + mistakes.leads * leads
            + mistakes.wrong_unit / 2.0 * thousandfold
            + mistakes.wrong_unit / 2.0 * thousandth;
        Judged { sound: (1.0 - mistakes.per_reading()) * sound, mistaken: wrong }
    }

    /// Likelihood of what was seen at a neighbouring pin where the faults predict `there`.
    pub(crate) fn beside(&self, seen: Seen<'_>, there: Predicted, size_spread: f64) -> f64 {
        self.sound_likelihood(seen, there, size_spread)
    }
}

fn base_of(sound: Predicted, otherwise: f64) -> f64 {
    match sound {
        Predicted::Value(value) => value,
        _ => otherwise,
    }
}

/// A likelihood in two parts, so that the chance of a mistake can be told afterwards.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Judged {
    pub(crate) sound: f64,
    pub(crate) mistaken: f64,
}

impl Judged {
    pub(crate) fn total(self) -> f64 {
        self.sound + self.mistaken
    }
}

/// Whether a fault may come and go by itself, as a loose joint does.
pub(crate) fn is_loose(model: &Model<'_>, fault: &Fault) -> bool {
    matches!(fault.effect, Effect::Open | Effect::Series)
        && matches!(
            model.parts[fault.part].kind,
            PartKind::Lead | PartKind::Contact | PartKind::Switch
        )
}

/// Chance that a fault is at work while a reading is taken.
pub(crate) fn presence(model: &Model<'_>, fault: &Fault, setup: &Setup) -> f64 {
    match fault.effect {
        Effect::OpenHot => overload_open_chance(model, setup),
        Effect::ToShell
            if setup.quantity == Quantity::Resistance && fault.size > OHMMETER_GROUND_OHM =>
        {
            0.5
        }
        _ => 1.0,
    }
}

/// Whether a fault is in any reading at work only some of the time ([`presence`]).
pub(crate) fn may_be_away(fault: &Fault) -> bool {
    let is_high = fault.size > OHMMETER_GROUND_OHM;
    fault.effect == Effect::OpenHot || fault.effect == Effect::ToShell && is_high
}

/// Chance that an overload that tripped on heat is still open when the reading is taken.
/// Makers ask for hours of cooling before a second reading; the steps between are common
/// practice, no source.
fn overload_open_chance(model: &Model<'_>, setup: &Setup) -> f64 {
    let (cool_c, rest_min) = model
        .circuit
        .checks
        .iter()
        .find_map(|check| match check {
            crate::circuit::CheckSpec::OverloadCooling { cool_c, rest_min, .. } => {
                Some((*cool_c, *rest_min))
            }
            _ => None,
        })
        .unwrap_or((45.0, 180.0));
    let cool = setup.part_temp_c.map(|celsius| celsius <= cool_c);
    let rested = setup.stopped_min.map(|minutes| minutes >= rest_min);
    match (cool, rested) {
        (Some(true), Some(true)) => 0.002,
        (Some(true), _) => 0.06,
        (None, Some(true)) => 0.05,
        (None, _) => 0.7,
        // It may have closed since the shell was felt.
        (Some(false), _) => 0.9,
    }
}

/// Spread of a fault's own size, natural log: sizes stand for all those around them.
pub(crate) fn size_spread(fault: &Fault) -> f64 {
    match fault.effect {
        _ if fault.origin == Origin::Varies => VARIES_SPREAD,
        _ if fault.origin == Origin::Touches => TOUCHING_SPREAD,
        Effect::Series | Effect::ToShell => 1.2,
        Effect::Fraction => 0.2,
        Effect::SourceFraction => 0.05,
        Effect::Open | Effect::OpenHot | Effect::StuckClosed | Effect::Mechanical => 0.0,
    }
}

/// Likelihood of anything at all, for mistakes and for the unknown fault.
pub(crate) fn broad(shown: &Shown) -> f64 {
    match shown {
        Shown::OverLimit => BROAD_OVER_LIMIT,
        Shown::Climbing => 0.05,
        Shown::Value { .. } => (1.0 - BROAD_OVER_LIMIT - 0.05) / BROAD_WIDTH,
    }
}

/// Student density with 4 degrees of freedom, of a value whose distance, squared, is `off` variances.
fn tail_density(off: f64, variance: f64) -> f64 {
    // (1 + off/4)^(−5/2) over the standard deviation, without a power.
    let wide = 1.0 + off / TAIL_FREEDOM;
    0.375 / (wide * wide * (wide * variance).sqrt())
}

/// Probability above `t` of a Student variable with 4 degrees of freedom.
pub(crate) fn tail_above(t: f64) -> f64 {
    let u = t / (t * t + TAIL_FREEDOM).sqrt();
    // F(t) = 1/2 + 3/4·(u − u³/3) with u = t/√(t²+4): the closed form for 4 degrees.
    (0.5 - 0.75 * (u - u * u * u / 3.0)).max(0.0)
}

/// The ways to be one pin off: the other reachable points at the same places, nearest first.
pub(crate) fn neighbours(model: &Model<'_>, setup: &Setup) -> Vec<Setup> {
    /// Neighbours looked at per probe.
    const NEIGHBOURS_MAX: usize = 2;
    if setup.quantity != Quantity::Resistance && setup.quantity != Quantity::Insulation {
        return Vec::new();
    }
    let points = &model.circuit.points;
    let mut found = Vec::new();
    for (probe, other) in [(setup.from, setup.to), (setup.to, setup.from)] {
        if Some(probe) == model.shell {
            continue;
        }
        let mut near: Vec<(f64, usize)> = points
            .iter()
            .enumerate()
            .filter(|(index, point)| {
                *index != probe
                    && *index != other
                    && Some(*index) != model.shell
                    && point.place.is_some()
                    && point.place == points[probe].place
                    && reachable(model, *index, &setup.lifted)
            })
            .map(|(index, point)| {
                let [x, y] = points[probe].at;
                ((point.at[0] - x).hypot(point.at[1] - y), index)
            })
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (_, index) in near.into_iter().take(NEIGHBOURS_MAX) {
            found.push(Setup { from: index, to: other, ..setup.clone() });
        }
    }
    found
}

/// Whether a probe reaches a point with these connectors lifted.
pub(crate) fn reachable(model: &Model<'_>, point: usize, lifted: &[usize]) -> bool {
    let point = &model.circuit.points[point];
    point.place.is_some()
        && model.lifted(&point.needs_lifted).iter().all(|needed| lifted.contains(needed))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tail_is_that_of_student_with_four_degrees() {
        // Published quantiles (any table of Student's t): P(T > 2.132) = 0.05, P(T > 2.776) = 0.025.
        assert!((tail_above(2.132) - 0.05).abs() < 1e-4);
        assert!((tail_above(2.776) - 0.025).abs() < 1e-4);
        assert!((tail_above(0.0) - 0.5).abs() < 1e-12);
        let area: f64 =
            (-4000..4000).map(|i| tail_density((f64::from(i) * 0.01).powi(2), 1.0) * 0.01).sum();
        assert!((area - 1.0).abs() < 1e-3);
    }
}
