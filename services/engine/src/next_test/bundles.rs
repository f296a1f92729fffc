//! Readings from one setting-up, put together.
//!
//! Belongs here: which readings share an opening, which tell most together, which a check needs
//! to be complete. Does not belong here: which of the bundles comes first ([`super::order`]).

use super::answers::{Suppositions, candidates};
use super::information::{Chances, Rows, information};
use super::site::{AtWork, danger_min, place_of, powered_setups, setting_up, setups, times_taken};
use super::{BITS_MIN, Bundle, Candidate, TAKES_MAX, Take};
use crate::case::Case;
use crate::circuit::CheckSpec;
use crate::model::Model;
use crate::posterior::{Weighed, sign_chance};
use crate::predict::Setup;
use crate::predict::many::Work;
use crate::shares::Shares;
use crate::units::Quantity;

/// Minutes to read volts again at the same points with the meter set to low impedance (common
/// practice, no source).
const LOADED_MIN: f64 = 0.7;

/// What a look for tests is made with.
pub(super) struct Look<'l, 'm, 'c> {
    pub(super) weighed: &'l Weighed<'m, 'c>,
    pub(super) case: &'l Case,
    pub(super) rows: &'l Rows,
    pub(super) at_work: &'l AtWork,
    /// The share of nothing wrong and of passing states.
    pub(super) clear: f64,
}

/// Every bundle that tells something, in no particular order.
pub(super) fn all(look: &Look<'_, '_, '_>, shares: &Shares, work: &mut Work) -> Vec<Bundle> {
    let suppositions = Suppositions::of(look.weighed, look.rows);
    let mut bundles = readings(look, &suppositions, 0, work);
    bundles.extend(cooling_bundle(look, shares, &suppositions, work));
    bundles.extend(sign_bundles(look.weighed, look.case, look.rows));
    bundles.retain(|bundle| bundle.is_worth_the_walk(look.clear));
    if bundles.is_empty() {
        // Nothing new would tell: what was read once can still be confirmed once.
        bundles = readings(look, &suppositions, 1, work);
    }
    bundles
}

fn readings(
    look: &Look<'_, '_, '_>,
    suppositions: &Suppositions<'_>,
    times: usize,
    work: &mut Work,
) -> Vec<Bundle> {
    let Look { weighed, case, rows, at_work, .. } = *look;
    let mut of = |lifted: &[usize], state| {
        let all = match state {
            Some(state) => powered_setups(weighed.model, at_work, state),
            None => setups(weighed.model, at_work, lifted),
        };
        let fresh = |setup: &Setup| times_taken(weighed.model, case, setup) <= times;
        let mut loaded = maybe_ghosts(look, suppositions, &all, work);
        loaded.retain(fresh);
        let setups: Vec<Setup> = all.into_iter().filter(fresh).collect();
        let found = candidates(weighed, rows, suppositions, setups, at_work.scale, work);
        let mut bundles = reading_bundles(weighed, rows, at_work, lifted, state, found);
        if loaded.is_empty() {
            return bundles;
        }
        let mut found = candidates(weighed, rows, suppositions, loaded, at_work.scale, work);
        found.iter_mut().for_each(|candidate| candidate.minutes = LOADED_MIN);
        bundles.extend(
            reading_bundles(weighed, rows, at_work, lifted, state, found).into_iter().map(
                |mut bundle| {
                    // The probes were there a moment ago.
                    let state_min =
                        state.map_or(0.0, |state| weighed.model.circuit.states[state].minutes);
                    bundle.setup_min -= if at_work.energised { state_min } else { 0.0 };
                    bundle
                },
            ),
        );
        bundles
    };
    let mut bundles = Vec::new();
    for lifted in at_work.lifted_sets(weighed.model) {
        bundles.extend(of(&lifted, None));
    }
    for state in 0..weighed.model.circuit.states.len() {
        bundles.extend(of(&[], Some(state)));
    }
    bundles.retain(|bundle| bundle.is_worth_the_walk(look.clear));
    bundles
}

/// Volts read with a usual meter where some suspicion has it that nothing joins the two points: read
/// with a load, they are volts or nothing.
fn maybe_ghosts(
    look: &Look<'_, '_, '_>,
    suppositions: &Suppositions<'_>,
    all: &[Setup],
    work: &mut Work,
) -> Vec<Setup> {
    let read: Vec<&Setup> = all
        .iter()
        .filter(|setup| setup.quantity == Quantity::Voltage)
        .filter(|setup| times_taken(look.weighed.model, look.case, setup) > 0)
        .collect();
    let ghosts = suppositions.may_be_ghosts(look.weighed.model, &read, look.at_work.scale, work);
    read.into_iter()
        .zip(ghosts)
        .filter(|(_, ghost)| *ghost)
        .map(|(setup, _)| Setup { low_impedance: true, ..setup.clone() })
        .collect()
}

/// The candidates of one condition, by the places that must be open for them.
fn reading_bundles(
    weighed: &Weighed<'_, '_>,
    rows: &Rows,
    at_work: &AtWork,
    lifted: &[usize],
    state: Option<usize>,
    found: Vec<Candidate>,
) -> Vec<Bundle> {
    let model = weighed.model;
    let mut by_places: Vec<(Vec<usize>, Vec<Candidate>)> = Vec::new();
    for candidate in found {
        let Take::Reading(setup) = &candidate.take else {
            continue;
        };
        if candidate.bits < BITS_MIN / 4.0 {
            continue;
        }
        let mut places: Vec<usize> =
            [setup.from, setup.to].into_iter().filter_map(|point| place_of(model, point)).collect();
        places.sort_unstable();
        places.dedup();
        match by_places.iter_mut().find(|(known, _)| *known == places) {
            Some((_, candidates)) => candidates.push(candidate),
            None => by_places.push((places, vec![candidate])),
        }
    }
    by_places
        .into_iter()
        .map(|(places, candidates)| {
            let (setup_min, danger_min, cautions) = setting_up(model, at_work, lifted, &places);
            let state_min = state.map_or(0.0, |state| model.circuit.states[state].minutes);
            let bundle = Bundle {
                candidates: Vec::new(),
                lifted: lifted.to_vec(),
                state,
                places,
                setup_min: setup_min + state_min,
                danger_min,
                waiting_min: 0.0,
                cautions,
                bits: 0.0,
            };
            filled(model, rows, bundle, candidates)
        })
        .collect()
}

/// Fills a bundle with the candidates that tell most together, then with the readings that a
/// check needs to be complete.
fn filled(
    model: &Model<'_>,
    rows: &Rows,
    mut bundle: Bundle,
    mut candidates: Vec<Candidate>,
) -> Bundle {
    /// A further reading must bring at least this share of the bundle's rate per minute.
    const WORTH: f64 = 0.3;
    /// Candidates looked at for each further reading.
    const LOOKED_AT: usize = 8;
    candidates.sort_by(|a, b| (b.bits / b.minutes).total_cmp(&(a.bits / a.minutes)));
    let mut joint = Chances::nothing(rows);
    while bundle.candidates.len() < TAKES_MAX && !candidates.is_empty() {
        let best = candidates
            .iter()
            .take(LOOKED_AT)
            .enumerate()
            .map(|(place, candidate)| (information(rows, &joint.jointly(&candidate.chance)), place))
            .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        let Some((bits, place)) = best else { break };
        let gain = bits - bundle.bits;
        if !bundle.candidates.is_empty() {
            let rate = bundle.score();
            if gain < BITS_MIN || gain / candidates[place].minutes < WORTH * rate {
                break;
            }
        } else if bits < BITS_MIN {
            break;
        }
        let candidate = candidates.remove(place);
        joint = joint.jointly(&candidate.chance);
        bundle.bits = bits;
        bundle.candidates.push(candidate);
    }
    complete_check(model, &mut bundle, candidates);
    bundle
}

/// The readings of one check come together: three pins, three readings, so that they can be
/// checked against each other and none is owed afterwards.
fn complete_check(model: &Model<'_>, bundle: &mut Bundle, rest: Vec<Candidate>) {
    type Belongs<'b> = Box<dyn Fn(&Setup) -> bool + 'b>;
    let of_checks = model.circuit.checks.iter().filter_map(|check| -> Option<Belongs<'_>> {
        let points =
            |ids: &[&String]| -> Vec<usize> { ids.iter().map(|id| model.point(id)).collect() };
        let between = |pins: Vec<usize>| -> Belongs<'_> {
            Box::new(move |setup| {
                setup.quantity == Quantity::Resistance
                    && pins.contains(&setup.from)
                    && pins.contains(&setup.to)
            })
        };
        match check {
            CheckSpec::WindingSum { common, start, run, .. } => {
                Some(between(points(&[common, start, run])))
            }
            CheckSpec::WindingBalance { pins, .. } => {
                Some(between(points(&pins.iter().collect::<Vec<_>>())))
            }
            CheckSpec::Ground { pins, shell, .. } => {
                let (pins, shell) = (points(&pins.iter().collect::<Vec<_>>()), model.point(shell));
                Some(Box::new(move |setup| {
                    setup.quantity == Quantity::Insulation
                        && pins.contains(&setup.from)
                        && setup.to == shell
                }))
            }
            _ => None,
        }
    });
    let is_of = |candidate: &Candidate, belongs: &Belongs<'_>| match &candidate.take {
        Take::Reading(setup) => belongs(setup),
        Take::Sign(_) => false,
    };
    let Some(belongs) = of_checks.into_iter().find(|belongs| {
        bundle.candidates.first().is_some_and(|candidate| is_of(candidate, belongs))
    }) else {
        return;
    };
    bundle.candidates.retain(|candidate| is_of(candidate, &belongs));
    for candidate in rest {
        if bundle.candidates.len() >= TAKES_MAX {
            break;
        }
        if is_of(&candidate, &belongs) {
            bundle.candidates.push(candidate);
        }
    }
}

/// Waiting until a hot overload must have reset, then reading across it again.
fn cooling_bundle(
    look: &Look<'_, '_, '_>,
    shares: &Shares,
    suppositions: &Suppositions<'_>,
    work: &mut Work,
) -> Option<Bundle> {
    let Look { weighed, rows, at_work, .. } = *look;
    /// Below this share of a passing state there is nothing to wait for.
    const PASSING_MIN: f64 = 0.15;
    if shares.passing < PASSING_MIN {
        return None;
    }
    let model = weighed.model;
    let (common, run, cool_c, rest_min) =
        model.circuit.checks.iter().find_map(|check| match check {
            CheckSpec::OverloadCooling { common, run, cool_c, rest_min, .. } => {
                Some((model.point(common), model.point(run), *cool_c, *rest_min))
            }
            _ => None,
        })?;
    let lifted = {
        let mut lifted = at_work.lifted.clone();
        for point in [common, run] {
            lifted.extend(model.lifted(&model.circuit.points[point].needs_lifted));
        }
        lifted.sort_unstable();
        lifted.dedup();
        lifted
    };
    let setup = Setup {
        quantity: Quantity::Resistance,
        from: common,
        to: run,
        lifted: lifted.clone(),
        state: None,
        low_impedance: false,
        part_temp_c: Some(cool_c.min(30.0)),
        stopped_min: Some(rest_min),
    };
    let places: Vec<usize> = place_of(model, common).into_iter().collect();
    let (setup_min, danger_min, cautions) = setting_up(model, at_work, &lifted, &places);
    let waiting_min = (rest_min - at_work.stopped_min.unwrap_or(0.0)).max(30.0);
    let found = candidates(weighed, rows, suppositions, vec![setup], at_work.scale, work);
    let candidate = found.into_iter().next()?;
    let bits = candidate.bits;
    Some(Bundle {
        candidates: vec![candidate],
        lifted,
        state: None,
        places,
        setup_min,
        danger_min,
        waiting_min,
        cautions,
        bits,
    })
}

fn sign_bundles(weighed: &Weighed<'_, '_>, case: &Case, rows: &Rows) -> Vec<Bundle> {
    let model = weighed.model;
    model
        .circuit
        .signs
        .iter()
        .enumerate()
        .filter(|(_, sign)| {
            !sign.explained_by.is_empty()
                && !case.observations.iter().any(|known| known.sign == sign.id)
        })
        .map(|(index, sign)| {
            let all = rows.all.iter().flat_map(|row| {
                let kind = weighed.hypotheses.all[row.hypothesis].kind;
                let present = sign_chance(model, sign, kind);
                [present, 1.0 - present]
            });
            let chance = Chances { kinds: 2, all: all.collect() };
            let bits = information(rows, &chance);
            Bundle {
                candidates: vec![Candidate {
                    take: Take::Sign(index),
                    minutes: sign.minutes,
                    shows: vec!["Yes".into(), "No".into()],
                    chance,
                    bits,
                }],
                lifted: Vec::new(),
                state: None,
                places: Vec::new(),
                setup_min: 0.0,
                danger_min: sign.cautions.iter().map(|caution| danger_min(*caution)).sum(),
                waiting_min: 0.0,
                cautions: sign.cautions.clone(),
                bits,
            }
        })
        .collect()
}
