//! The maker's own values, where the family's are too wide to tell by.
//!
//! Belongs here: whose value is worth looking up, and the words. Does not belong here: tests that
//! are valued by information ([`super::order`]).

use super::Known;
use crate::circuit::{Effect, PartKind};
use crate::model::FAMILY_IS_WIDE;
use crate::sentences;
use crate::shares::ModeOf;
use crate::units::Quantity;
use crate::verdict::NextTest;

/// Shorted turns that hold less than this are no reason to look for the sheet.
const SHARE_MIN: f64 = 0.05;
/// Minutes to find a sheet (common practice, no source).
const SHEET_MIN: f64 = 5.0;

/// Turns that are shorted lower a winding's resistance by less than one make differs from the
/// next: without the unit's own value no reading proves them.
pub(crate) fn sheet(known: &Known<'_, '_, '_>) -> Option<NextTest> {
    let model = known.weighed.model;
    let circuit = model.circuit;
    let ohms = known.case.readings.iter().any(|one| one.quantity == Quantity::Resistance);
    if !ohms {
        return None;
    }
    let wanted: Vec<usize> = (0..model.parts.len())
        .filter(|&part| {
            let of = &model.parts[part];
            let spec = &circuit.parts[part];
            matches!(of.kind, PartKind::Winding | PartKind::Coil)
                && !of.scaled
                && of.tolerance >= FAMILY_IS_WIDE
                && !known.case.specs.contains_key(&spec.id)
                && spec.modes.iter().enumerate().any(|(mode, known_mode)| {
                    let share = known.shares.modes.get(&ModeOf { part, mode });
                    known_mode.effect == Effect::Fraction
                        && share.is_some_and(|share| *share >= SHARE_MIN)
                })
        })
        .collect();
    wanted.first()?;
    let labels: Vec<&str> = wanted.iter().map(|&part| circuit.parts[part].label.as_str()).collect();
    let named = sentences::joined(&labels, "and");
    Some(NextTest {
        title: format!("Look up the maker's value: {named}"),
        steps: vec![
            format!("Find the maker's sheet for this unit's own model, and what it gives for: {named}."),
            "Give it with the unit's values, brought to 25 °C where the sheet names another temperature: times 259.5 over 234.5 plus its degrees Celsius (copper).".to_owned(),
            "Note the part's temperature with every reading in ohms, and zero the leads: shorted turns are told from another make only against the unit's own value.".to_owned(),
        ],
        minutes: SHEET_MIN,
        cautions: Vec::new(),
        takes: Vec::new(),
        sign: None,
        sheet: wanted.iter().map(|&part| circuit.parts[part].id.clone()).collect(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}
