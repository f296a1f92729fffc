//! The topologies of the trial: those that ship and a dozen of its own.
//!
//! Belongs here: which there are and which half each belongs to. Does not belong here: what is
//! true of a unit ([`super::world`]).

use engine::circuit::Circuit;

use super::controls;
use super::motors;
use super::states::States;

/// What a topology is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Half {
    /// The engine may be tuned on it.
    Tune,
    /// Only reported.
    Report,
}

/// Which topologies a figure is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// All of them.
    All,
    /// Those with power off, as the trial began.
    Bench,
    /// Those read under power too.
    Powered,
}

/// A topology.
pub(super) struct Topology {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) half: Half,
    pub(super) circuit: Circuit,
    /// Read under power in its states; without, power is off but for volts at the supply.
    pub(super) states: Option<States>,
}

/// Shipped circuits that take part, and in which half.
const SHIPPED: [(&str, Half); 3] = [
    ("compressor-1ph-plug", Half::Tune),
    ("compressor-3ph", Half::Report),
    ("condenser-fan-shared-capacitor", Half::Report),
];

/// Shipped circuits that are read under power too, in turn for each half. Left out is the inverter's:
/// its diodes and its direct volts are no network of phasors.
const POWERED: [(&str, Half); 7] = [
    ("control-24v", Half::Tune),
    ("electric-heat-sequencers", Half::Report),
    ("blower-multi-speed", Half::Tune),
    ("compressor-1ph-start-relay", Half::Report),
    ("gas-heating-section", Half::Tune),
    ("heat-pump-reversing-valve", Half::Report),
    ("blower-ecm", Half::Tune),
];

/// Every topology, tuned ones first.
pub(super) fn all() -> Vec<Topology> {
    let shipped = engine::circuit_file::shipped();
    let mut found: Vec<(String, String, Half)> = SHIPPED
        .iter()
        .chain(&POWERED)
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
            let powered = POWERED.iter().any(|known| known.0 == name);
            let states = powered.then(|| States::of(&circuit));
            Topology { name, text, half, circuit, states }
        })
        .collect();
    all.sort_by_key(|topology| topology.half == Half::Report);
    all
}
