//! Whether a reading is below what its meter can tell.
//!
//! Belongs here: the meter's own share of a value, and the sentence about it. Does not belong
//! here: what the reading means for a suspect ([`crate::likelihood`]), which counts the same
//! numbers.

use crate::case::{Reading, Shown};
use crate::likelihood::MeterLimits;
use crate::sentences::in_words;
use crate::units::Quantity;

/// From this share of the value on, the meter itself is worth a sentence (common practice, no
/// source): at a fifth, a winding and its neighbour can no longer be told apart.
pub const METER_SHARE_MIN: f64 = 0.20;

/// The share of a value that the meter alone may be off by, and a sentence about it; `None`
/// where the meter is good enough, or showed no value.
///
/// The share is accuracy + (smallest step + leads that were not taken off) / value.
pub(crate) fn below(reading: &Reading) -> Option<(f64, String)> {
    let Shown::Value { value, unit } = &reading.shown else { return None };
    let limits = MeterLimits::of(reading.quantity, reading.meter.as_ref());
    let base = value * unit.to_base();
    let zeroed = reading.meter.as_ref().and_then(|meter| meter.zeroed) == Some(true);
    // Leads that were taken off are gone from the value.
    let share = if zeroed { limits.share_without_leads(base) } else { limits.share(base) };
    if share < METER_SHARE_MIN {
        return None;
    }
    let shows = |base: f64| in_words(reading.quantity, base);
    if base <= limits.floor() {
        return Some((
            share.min(1.0),
            format!(
                "This is below what the meter can tell: it cannot tell less than {} from nothing{}.",
                shows(limits.floor()),
                advice(reading)
            ),
        ));
    }
    Some((
        share.min(1.0),
        format!(
            "The meter alone is ±{:.0} % of {} here{}.",
            share * 100.0,
            shows(base),
            advice(reading)
        ),
    ))
}

fn advice(reading: &Reading) -> &'static str {
    let zeroed = reading.meter.as_ref().and_then(|meter| meter.zeroed);
    match reading.quantity {
        Quantity::Resistance if zeroed != Some(true) => {
            "; touch the leads together, take that off, or use a milliohm meter"
        }
        Quantity::Resistance => "; a milliohm meter would tell",
        _ => "; a finer range or another meter would tell",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{Meter, Power};
    use crate::units::Unit;

    fn reading(value: f64, resolution: f64, zeroed: bool) -> Reading {
        Reading {
            id: "r1".into(),
            quantity: Quantity::Resistance,
            from: "C".into(),
            to: "R".into(),
            lifted: Vec::new(),
            power: Power::Off,
            state: None,
            shown: Shown::Value { value, unit: Unit::Ohm },
            part_temp_c: None,
            stopped_min: None,
            meter: Some(Meter {
                label: None,
                accuracy_pct: Some(0.0),
                resolution: Some(resolution),
                highest: None,
                lead_ohm: Some(0.3),
                zeroed: Some(zeroed),
                low_impedance: None,
            }),
        }
    }

    #[test]
    fn a_step_of_a_tenth_on_four_tenths_of_an_ohm_is_a_quarter() {
        // With 0.1 ohm resolution and 0.4 ohm windings the meter alone is ±25 % (the design's
        // own figure).
        let (share, says) = below(&reading(0.4, 0.1, true)).unwrap();
        assert!((share - 0.25).abs() < 1e-12, "{share}");
        assert!(says.contains("±25 %"), "{says}");
    }

    #[test]
    fn a_good_meter_says_nothing_and_a_coarse_one_says_that_it_cannot_tell() {
        assert_eq!(below(&reading(4.0, 0.01, true)), None);
        let (share, says) = below(&reading(0.2, 0.1, false)).unwrap();
        assert_eq!(share, 1.0);
        assert!(says.contains("from nothing") && says.contains("touch the leads"), "{says}");
    }
}
