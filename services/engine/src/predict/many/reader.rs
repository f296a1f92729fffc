//! How a reading is read off a network with power off.
//!
//! Belongs here: which pairs of joints a reading asks for, and what it makes of the resistances
//! between them. Does not belong here: how those are come by ([`super::off`]).

use super::super::{
    CAPACITANCE_PATH_OHM, Predicted, REACHES_OHM, Setup, capacitors_reached, insulation,
};
use super::Supposed;
use super::charging::Charging;
use crate::circuit::{Effect, PartKind};
use crate::model::Model;
use crate::units::Quantity;

/// A bleeder often has just the resistance that divides a path from none: it is none, and the
/// last bit does not decide.
const DIRECT_PATH_OHM: f64 = CAPACITANCE_PATH_OHM * (1.0 - f64::EPSILON);

/// How a reading is read off.
pub(super) enum Reader {
    /// By ohmmeter or insulation tester: the place of its pair.
    Ohms(usize),
    Farads(Vec<Tab>),
    /// Both probes on one joint.
    Nothing,
}

/// A capacitor and the pairs between the probes and its tabs; none where a probe is on the tab.
pub(super) struct Tab {
    part: usize,
    straight: [Option<usize>; 2],
    crossed: [Option<usize>; 2],
}

/// Resistances between pairs of joints, networks side by side.
pub(super) struct Resistances<'a> {
    pub(super) ohm: &'a [f64],
    /// Networks of one pair.
    pub(super) wide: usize,
    /// By supposition.
    pub(super) network_of: &'a [u32],
}

impl Reader {
    /// `pair` gives the place of a pair of joints, none for a joint and itself.
    pub(super) fn new(
        model: &Model<'_>,
        setup: &Setup,
        pair: &mut dyn FnMut(usize, usize) -> Option<usize>,
    ) -> Self {
        if setup.quantity != Quantity::Capacitance {
            return pair(setup.from, setup.to).map_or(Reader::Nothing, Reader::Ohms);
        }
        let tabs = model.parts.iter().enumerate().filter_map(|(index, part)| {
            let [a, b] = part.ends?;
            (part.kind == PartKind::Capacitor).then(|| Tab {
                part: index,
                straight: [pair(setup.from, a), pair(setup.to, b)],
                crossed: [pair(setup.from, b), pair(setup.to, a)],
            })
        });
        Reader::Farads(tabs.collect())
    }

    /// What is shown under each supposition.
    pub(super) fn read(
        &self,
        charging: &mut Charging<'_, '_, '_>,
        setup: &Setup,
        suppositions: &[Supposed<'_>],
        of: &Resistances<'_>,
        into: &mut [Predicted],
    ) {
        let each = into.iter_mut().zip(suppositions).zip(of.network_of);
        match self {
            Reader::Nothing => into.fill(Predicted::Nothing),
            Reader::Ohms(pair) => {
                let ohm = &of.ohm[pair * of.wide..][..of.wide];
                let of_network = of.network_of.iter().map(|&network| ohm[network as usize]);
                into.iter_mut().zip(of_network).for_each(|(into, ohm)| {
                    *into = Predicted::Value(ohm);
                });
                for (into, supposed) in into.iter_mut().zip(suppositions) {
                    let Predicted::Value(ohm) = *into else { continue };
                    if ohm < DIRECT_PATH_OHM {
                        continue;
                    }
                    *into = if setup.quantity == Quantity::Insulation {
                        insulation(ohm.is_finite().then_some(ohm))
                    } else {
                        charging.past_the_path(ohm, setup.from, setup.to, supposed)
                    };
                }
            }
            Reader::Farads(tabs) => {
                let condition = charging.condition();
                let Some(sound) = capacitors_reached(condition.model, setup, condition.scale)
                else {
                    into.fill(Predicted::Nothing);
                    return;
                };
                for ((into, supposed), &network) in each {
                    let ohm = |pair: usize| of.ohm[pair * of.wide + network as usize];
                    *into = farads(condition.model, tabs, &sound, supposed, &ohm);
                }
            }
        }
    }
}

/// Microfarads of the capacitors that the probes reach, `sound` those of the sound circuit; the
/// rule is that of [`super::super::capacitance`].
fn farads(
    model: &Model<'_>,
    tabs: &[Tab],
    sound: &[usize],
    supposed: &Supposed<'_>,
    ohm: &dyn Fn(usize) -> f64,
) -> Predicted {
    let near = |pairs: &[Option<usize>; 2]| {
        pairs.iter().all(|pair| pair.is_none_or(|pair| ohm(pair) < REACHES_OHM))
    };
    let mut microfarad = 0.0;
    for tab in tabs {
        let shorted = supposed.of_part(tab.part).any(|fault| fault.effect == Effect::Series);
        if shorted && sound.contains(&tab.part) {
            return Predicted::Value(0.0);
        }
        if near(&tab.straight) || near(&tab.crossed) {
            microfarad += supposed
                .of_part(tab.part)
                .filter(|fault| fault.effect == Effect::Fraction)
                .fold(model.parts[tab.part].microfarad, |sum, fault| sum * fault.size);
        }
    }
    Predicted::Value(microfarad)
}
