//! Short ways to say a reading in the demo's story.
//!
//! Belongs here: constructors. Does not belong here: values, which the story gives.

use engine::case::{Meter, Power, Reading, Shown};
use engine::units::{Quantity, Unit};

/// A reading with the power off, before its circumstances.
pub(super) fn off(quantity: Quantity, from: &str, to: &str, shown: Shown) -> Reading {
    Reading {
        id: "r0".to_owned(),
        quantity,
        from: from.to_owned(),
        to: to.to_owned(),
        lifted: Vec::new(),
        power: Power::Off,
        state: None,
        shown,
        part_temp_c: None,
        stopped_min: None,
        meter: Some(Meter {
            label: Some("van meter".to_owned()),
            accuracy_pct: None,
            resolution: None,
            highest: None,
            lead_ohm: None,
            zeroed: (quantity == Quantity::Resistance).then_some(true),
            low_impedance: None,
        }),
    }
}

/// Ohms.
pub(super) fn ohm(from: &str, to: &str, value: f64) -> Reading {
    off(Quantity::Resistance, from, to, Shown::Value { value, unit: Unit::Ohm })
}

/// Over limit on ohms.
pub(super) fn open(from: &str, to: &str) -> Reading {
    off(Quantity::Resistance, from, to, Shown::OverLimit)
}

/// Megohms by insulation tester.
pub(super) fn megohm(from: &str, to: &str, value: f64) -> Reading {
    off(Quantity::Insulation, from, to, Shown::Value { value, unit: Unit::Megohm })
}

/// Microfarads.
pub(super) fn microfarad(from: &str, to: &str, value: f64) -> Reading {
    off(Quantity::Capacitance, from, to, Shown::Value { value, unit: Unit::Microfarad })
}

/// Volts, energised.
pub(super) fn volt(from: &str, to: &str, value: f64) -> Reading {
    Reading {
        power: Power::Energised,
        ..off(Quantity::Voltage, from, to, Shown::Value { value, unit: Unit::Volt })
    }
}

/// The circumstances of a reading, chained onto it.
pub(super) trait With {
    /// With these connectors off.
    fn lifted(self, connectors: &[&str]) -> Self;
    /// With the part at this temperature, so many minutes after it stopped.
    fn at(self, part_temp_c: f64, stopped_min: f64) -> Self;
}

impl With for Reading {
    fn lifted(mut self, connectors: &[&str]) -> Self {
        self.lifted = connectors.iter().map(|&id| id.to_owned()).collect();
        self
    }

    fn at(mut self, part_temp_c: f64, stopped_min: f64) -> Self {
        self.part_temp_c = Some(part_temp_c);
        self.stopped_min = Some(stopped_min);
        self
    }
}
