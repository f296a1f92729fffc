//! The topologies of the trial: those that ship and a dozen of its own.
//!
//! Belongs here: which there are and which half each belongs to. Does not belong here: what is
//! true of a unit ([`super::world`]).

use engine::circuit::Circuit;

use super::controls;
use super::motors;

/// What a topology is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    /// The engine may be tuned on it.
    Tune,
    /// Only reported.
    Report,
}

/// A topology.
pub(super) struct Topology {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) half: Half,
    pub(super) circuit: Circuit,
}

/// Shipped circuits that take part, and in which half.
const SHIPPED: [(&str, Half); 3] = [
    ("compressor-1ph-plug", Half::Tune),
    ("compressor-3ph", Half::Report),
    ("condenser-fan-shared-capacitor", Half::Report),
];

/// Every topology, tuned ones first.
pub(super) fn all() -> Vec<Topology> {
    let shipped = engine::circuit_file::shipped();
    let mut found: Vec<(String, String, Half)> = SHIPPED
        .iter()
        .filter_map(|(name, half)| {
            let shipped = shipped.iter().find(|shipped| shipped.name == *name)?;
            Some(((*name).to_owned(), shipped.text.to_owned(), *half))
        })
        .collect();
    for (sheet, half) in [
        (motors::three_phase("trial-star-long-harness", false, 0.12), Half::Tune),
        (motors::three_phase("trial-delta-two-plugs", true, 0.03), Half::Report),
        (motors::blower("trial-blower-three-speeds", 3), Half::Tune),
        (motors::blower("trial-blower-five-taps", 5), Half::Report),
        (motors::dual_capacitor(), Half::Report),
        (motors::start_relay(), Half::Tune),
        (controls::contactor_chain(), Half::Tune),
        (controls::gas_valve_string(), Half::Report),
        (controls::heater_bank("trial-heaters-three", 3, false), Half::Tune),
        (controls::heater_bank("trial-heaters-sequenced", 2, true), Half::Report),
        (controls::reversing_valve(), Half::Tune),
        (controls::ignition(), Half::Report),
    ] {
        let (name, text) = sheet.written();
        found.push((name, text, half));
    }
    let mut all: Vec<Topology> = found
        .into_iter()
        .map(|(name, text, half)| {
            let circuit = engine::circuit_file::parse(&format!("{name}.toml"), &text)
                .unwrap_or_else(|problems| panic!("{name}: {problems}"));
            Topology { name, text, half, circuit }
        })
        .collect();
    all.sort_by_key(|topology| topology.half == Half::Report);
    all
}
