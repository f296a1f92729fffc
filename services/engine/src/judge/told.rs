//! The facts of a judgement as the verdict tells them.
//!
//! Belongs here: suspects, what is excluded and by what, each component's share, each reading
//! beside what was expected, how much was considered. Does not belong here: the outcome
//! ([`super::outcome`]) and what moved the shares ([`super::explained`]).

use super::expected::Expected;
use super::rounded;
use crate::case::Case;
use crate::circuit::Circuit;
use crate::meter;
use crate::policy::Policy;
use crate::posterior::{Kind, Weighed};
use crate::rates::Rates;
use crate::sentences;
use crate::shares::{
    ModeOf, Shares, all_modes, best_by_evidence, best_size, excluded_by, faults_of_mode,
};
use crate::verdict::{ComponentShare, Considered, Excluded, ReadingJudged, Suspect};

/// Suspects below this share are not listed.
const SUSPECT_SHARE_MIN: f64 = 0.005;
/// A fault is excluded when the evidence is this much less likely under it than under the
/// best single explanation.
const EXCLUDED_RATIO: f64 = 0.05;

pub(super) fn suspects(weighed: &Weighed<'_, '_>, shares: &Shares) -> Vec<Suspect> {
    let model = weighed.model;
    let mut listed: Vec<(ModeOf, f64)> = shares
        .modes
        .iter()
        .filter(|(_, share)| **share >= SUSPECT_SHARE_MIN)
        .map(|(mode, share)| (*mode, *share))
        .collect();
    listed.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let explains: Vec<usize> = listed.iter().map(|(mode, _)| best_size(weighed, *mode)).collect();
    let same = |a: usize, b: usize| {
        (weighed.log_likelihood[a] - weighed.log_likelihood[b]).abs() < 1e-6
            && (0..weighed.prepared.len()).all(|reading| {
                let (x, y) = (
                    weighed.reading_likelihood(a, reading),
                    weighed.reading_likelihood(b, reading),
                );
                (x - y).abs() <= 1e-6 * x.max(y)
            })
    };
    listed
        .iter()
        .enumerate()
        .filter_map(|(place, (mode, share))| {
            let fault = faults_of_mode(model, *mode).first()?;
            let part = &model.circuit.parts[mode.part];
            let not_told_apart_from = listed
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != place && same(explains[place], explains[*other]))
                .filter_map(|(_, (mode, _))| faults_of_mode(model, *mode).first())
                .map(|fault| model.fault_key(fault))
                .collect();
            Some(Suspect {
                part: part.id.clone(),
                mode: part.modes[mode.mode].id.clone(),
                component: part.component.clone(),
                label: model.fault_label(fault),
                share: rounded(*share),
                not_told_apart_from,
            })
        })
        .collect()
}

pub(super) fn excluded(weighed: &Weighed<'_, '_>, shares: &Shares, case: &Case) -> Vec<Excluded> {
    let model = weighed.model;
    let best = weighed
        .hypotheses
        .all
        .iter()
        .zip(&weighed.log_likelihood)
        .filter(|(hypothesis, _)| matches!(hypothesis.kind, Kind::Sound | Kind::Single(_)))
        .map(|(_, log)| *log)
        .fold(f64::NEG_INFINITY, f64::max);
    let by_evidence = best_by_evidence(weighed);
    all_modes(model)
        .into_iter()
        .filter_map(|mode| {
            let share = shares.modes.get(&mode).copied().unwrap_or(0.0);
            let hypothesis = best_size(weighed, mode);
            let ratio = (weighed.log_likelihood[hypothesis] - best).exp();
            if share >= SUSPECT_SHARE_MIN || ratio > EXCLUDED_RATIO {
                return None;
            }
            let by: Vec<String> = excluded_by(weighed, mode, &by_evidence)
                .into_iter()
                .map(|index| match index.checked_sub(case.readings.len()) {
                    None => case.readings[index].id.clone(),
                    Some(place) => case.observations[place].id.clone(),
                })
                .collect();
            let fault = faults_of_mode(model, mode).first()?;
            let part = &model.circuit.parts[mode.part];
            (!by.is_empty()).then(|| Excluded {
                part: part.id.clone(),
                mode: part.modes[mode.mode].id.clone(),
                component: part.component.clone(),
                label: model.fault_label(fault),
                share: rounded(share),
                by,
            })
        })
        .collect()
}

pub(super) fn component_shares(
    circuit: &Circuit,
    shares: &Shares,
    claimed: Option<usize>,
) -> Vec<ComponentShare> {
    let mut listed: Vec<ComponentShare> = circuit
        .components
        .iter()
        .enumerate()
        .map(|(index, component)| ComponentShare {
            component: component.id.clone(),
            label: component.label.clone(),
            share: shares.in_all(index),
            claimed: claimed == Some(index),
            replaceable: true,
        })
        .collect();
    for (id, label, share) in [
        ("passing_state", "a passing state (open because it is hot)", shares.passing),
        ("nothing_wrong", "nothing wrong", shares.sound),
        ("unknown_fault", "a fault that the circuit does not know", shares.unknown_else()),
    ] {
        listed.push(ComponentShare {
            component: id.into(),
            label: label.into(),
            share,
            claimed: false,
            replaceable: false,
        });
    }
    listed.sort_by(|a, b| b.share.total_cmp(&a.share));
    for share in &mut listed {
        share.share = rounded(share.share);
    }
    listed
}

pub(super) fn readings_judged(
    weighed: &Weighed<'_, '_>,
    case: &Case,
    expected: &Expected<'_>,
    mistaken: &[f64],
) -> Vec<ReadingJudged> {
    case.readings
        .iter()
        .enumerate()
        .map(|(index, reading)| {
            let prepared = &weighed.prepared[index];
            let show = |predicted| {
                sentences::prediction(reading.quantity, predicted, prepared.meter.highest)
            };
            let (meter_share, meter_says) = meter::below(reading).unzip();
            ReadingJudged {
                reading: reading.id.clone(),
                label: sentences::reading(weighed.model.circuit, reading),
                expected_sound: show(expected.sound(index)),
                expected_leading: show(expected.leading(index)),
                mistaken_share: rounded(mistaken[index]),
                used: prepared.is_used(),
                meter_share: meter_share.map(rounded),
                meter_says,
            }
        })
        .collect()
}

pub(super) fn considered(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    policy: Policy,
    rates: Option<&Rates>,
) -> Considered {
    let count = |wanted: fn(&Kind) -> bool| {
        weighed.hypotheses.all.iter().filter(|hypothesis| wanted(&hypothesis.kind)).count() as u32
    };
    let hopeless = weighed.hypotheses.hopeless as u32;
    Considered {
        hypotheses: weighed.hypotheses.all.len() as u32 + hopeless,
        singles: count(|kind| matches!(kind, Kind::Single(_))),
        doubles: count(|kind| matches!(kind, Kind::Double(..))) + hopeless,
        cut_off: rounded(weighed.hypotheses.cut_off),
        unknown_share: rounded(shares.unknown),
        policy,
        confirmed_calls: rates.map(|rates| rates.calls),
    }
}
