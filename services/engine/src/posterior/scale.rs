//! The unknown common scale of alike parts: which values of it are looked at.
//!
//! Belongs here: the scales and their weights. Does not belong here: what is weighed at each
//! ([`super::cells`]).
//!
//! Alike windings differ from each other by a few percent and from make to make by tens, so a grid
//! over the makes is far too wide for the windings: between two of its scales even a balanced set
//! would fit neither, and a fault whose size is unknown would fit better. So scales stand close
//! together where the readings say that the make is, and far apart elsewhere.

use crate::case::{Reading, Shown};
use crate::likelihood::Prepared;
use crate::predict::Predicted;
use crate::predict::many::{Conditions, Supposed, Work};
use crate::units::Quantity;

/// Scales over all makes.
const MAKES: usize = 9;
/// Their width in standard deviations to either side.
const REACH: f64 = 2.0;
/// A scale that a reading tells is looked at with these beside it, natural log.
const BESIDE: [f64; 5] = [-0.035, -0.012, 0.0, 0.012, 0.035];
/// Told scales closer than this are one, natural log.
const ONE: f64 = 0.03;
/// Told scales looked at, those that most readings tell first.
const TOLD_MAX: usize = 4;
/// Scales closer than this are one in the grid, natural log.
const APART: f64 = 0.004;
/// How a reading follows the scale is told from what a sound circuit shows at this one.
const TRIED: f64 = 1.1;
/// A reading tells the scale where it follows it at least so much.
const FOLLOWS_MIN: f64 = 0.7;

/// Scales of the alike parts and their weights, which add up to 1: a bell over the logarithm of
/// the scale, as wide as the family. The first of the conditions are those of the readings.
pub(super) fn grid(
    conditions: &Conditions<'_, '_>,
    readings: &[Reading],
    prepared: &[Prepared],
    work: &mut Work,
) -> (Vec<f64>, Vec<f64>) {
    let Some(spread) = conditions.model().scale_spread else {
        return (vec![1.0], vec![1.0]);
    };
    let sigma = spread / 2.0;
    let mut logs: Vec<f64> = (0..MAKES)
        .map(|step| (step as f64 / (MAKES - 1) as f64 * 2.0 - 1.0) * REACH * sigma)
        .collect();
    let most = (REACH + 1.0) * sigma;
    for told in told(conditions, readings, prepared, work) {
        logs.extend(BESIDE.map(|beside| (told + beside).clamp(-most, most)));
    }
    logs.sort_by(f64::total_cmp);
    logs.dedup_by(|later, earlier| *later - *earlier < APART);
    // Each scale stands for what lies half-way to its neighbours.
    let last = logs.len() - 1;
    let raw: Vec<f64> = (0..logs.len())
        .map(|place| {
            let width = logs[(place + 1).min(last)] - logs[place.saturating_sub(1)];
            let off = logs[place] / sigma;
            width * (-off * off / 2.0).exp()
        })
        .collect();
    let sum: f64 = raw.iter().sum();
    (logs.iter().map(|log| log.exp()).collect(), raw.iter().map(|weight| weight / sum).collect())
}

/// What the readings tell of the scale, natural log, were the circuit sound.
fn told(
    conditions: &Conditions<'_, '_>,
    readings: &[Reading],
    prepared: &[Prepared],
    work: &mut Work,
) -> Vec<f64> {
    let tried = conditions.predict(&[Supposed::default()], TRIED, work);
    let mut all: Vec<f64> = readings
        .iter()
        .zip(prepared)
        .enumerate()
        .filter_map(|(place, (reading, known))| {
            let Shown::Value { value, unit } = &reading.shown else { return None };
            let (Predicted::Value(sound), Predicted::Value(there)) =
                (known.sound, tried.of(place)[0])
            else {
                return None;
            };
            let follows = (there / sound).ln() / TRIED.ln();
            let seen = value * unit.to_base();
            (reading.quantity == Quantity::Resistance && follows >= FOLLOWS_MIN && seen > 0.0)
                .then(|| (seen / sound).ln() / follows)
        })
        .collect();
    all.sort_by(f64::total_cmp);
    let tell = |scale: f64| all.iter().filter(|other| (**other - scale).abs() < ONE).count();
    let mut by_most = all.clone();
    by_most.sort_by(|a, b| tell(*b).cmp(&tell(*a)).then(a.abs().total_cmp(&b.abs())));
    let mut kept: Vec<f64> = Vec::new();
    for scale in by_most {
        if kept.len() < TOLD_MAX && kept.iter().all(|known| (known - scale).abs() >= ONE) {
            kept.push(scale);
        }
    }
    kept
}
