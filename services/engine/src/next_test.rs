//! The best next tests.
//!
//! Belongs here: which tests the circuit allows, what each would tell and cost, which are
//! proposed. Does not belong here: how likely a reading is ([`crate::likelihood`]).
//!
//! A test is valued by the expected information about *which component* has failed, per

mod answers;
mod information;
mod site;
mod words;

use crate::case::Case;
use crate::circuit::{Caution, CheckSpec};
use crate::model::Model;
use crate::posterior::{Weighed, sign_chance};
use crate::predict::Setup;
use crate::predict::many::Work;
use crate::shares::Shares;
use crate::units::Quantity;
use crate::verdict::{NextTest, Outcome, Owed, Retake};

use answers::{Suppositions, candidates};
use information::{Chances, Rows, Telling, information, rows};
use site::{AtWork, danger_min, place_of, powered_setups, setting_up, setups, times_taken};
use words::{again, question, shown};

/// Most tests proposed.
const TESTS_MAX: usize = 3;
/// Most readings in one test.
const TAKES_MAX: usize = 3;
/// A test that tells less than this is not worth the walk, bits.
const BITS_MIN: f64 = 0.02;
/// A test that tells less than this share of what the most telling one does is not shown.
const BESIDE_BEST: f64 = 0.2;
/// A minute of waiting for a part to cool, against a minute of work.
const WAITING: f64 = 0.15;

/// Minutes for one reading once everything is open (common practice, no source).
fn reading_min(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Resistance => 0.7,
        Quantity::Insulation | Quantity::Capacitance | Quantity::Diode => 1.0,
        // Energising, standing clear and switching off again.
        Quantity::Voltage | Quantity::Current => 2.0,
    }
}

/// One reading (or question) that could be taken, with its kinds of answer.
struct Candidate {
    take: Take,
    minutes: f64,
    /// Words per kind of answer.
    shows: Vec<String>,
    chance: Chances,
    bits: f64,
}

enum Take {
    Reading(Setup),
    Sign(usize),
}

/// Readings from one setting-up.
struct Bundle {
    candidates: Vec<Candidate>,
    lifted: Vec<usize>,
    /// Under power: the state to bring about.
    state: Option<usize>,
    places: Vec<usize>,
    setup_min: f64,
    danger_min: f64,
    waiting_min: f64,
    cautions: Vec<Caution>,
    bits: f64,
}

impl Bundle {
    fn minutes(&self) -> f64 {
        let reading: f64 = self.candidates.iter().map(|candidate| candidate.minutes).sum();
        self.setup_min + self.waiting_min + reading
    }

    fn score(&self) -> f64 {
        let reading: f64 = self.candidates.iter().map(|candidate| candidate.minutes).sum();
        let cost = self.setup_min + self.danger_min + self.waiting_min * WAITING + reading;
        self.bits / cost.max(0.1)
    }
}

/// The best tests, best first, and whether nothing that the circuit allows is left to tell.
#[expect(clippy::too_many_arguments, reason = "what is known of a case, unpacked")]
pub(crate) fn best(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    case: &Case,
    claimed: Option<usize>,
    outcome: Outcome,
    retake: &[Retake],
    owed: &[Owed],
    work: &mut Work,
) -> (Vec<NextTest>, bool) {
    if outcome == Outcome::Isolated {
        return (Vec::new(), true);
    }
    if let Some(again) = again(weighed.model.circuit, case, retake) {
        return (vec![again], false);
    }
    if let Some(question) = question(weighed.model.circuit, owed) {
        return (vec![question], false);
    }
    // Once the claim has fallen the question is which part it is instead, leads told apart.
    let telling =
        if outcome == Outcome::Contradicted { Telling::Parts } else { Telling::Components };
    let rows = rows(weighed, claimed, telling);
    let at_work = AtWork::of(weighed, case);
    let suppositions = Suppositions::of(weighed, &rows);
    let readings = |times: usize, work: &mut Work| {
        let mut of = |lifted: &[usize], state| {
            let setups: Vec<Setup> = match state {
                Some(state) => powered_setups(weighed.model, &at_work, state),
                None => setups(weighed.model, &at_work, lifted),
            }
            .into_iter()
            .filter(|setup| times_taken(weighed.model, case, setup) <= times)
            .collect();
            let found = candidates(weighed, &rows, &suppositions, setups, at_work.scale, work);
            reading_bundles(weighed, &rows, &at_work, lifted, state, found)
        };
        let mut bundles = Vec::new();
        for lifted in at_work.lifted_sets(weighed.model) {
            bundles.extend(of(&lifted, None));
        }
        for state in 0..weighed.model.circuit.states.len() {
            bundles.extend(of(&[], Some(state)));
        }
        bundles.retain(|bundle| bundle.bits >= BITS_MIN);
        bundles
    };
    let mut bundles = readings(0, work);
    bundles.extend(cooling_bundle(weighed, shares, &rows, &suppositions, &at_work, work));
    bundles.extend(sign_bundles(weighed, case, &rows));
    bundles.retain(|bundle| bundle.bits >= BITS_MIN);
    if bundles.is_empty() {
        // Nothing new would tell: what was read once can still be confirmed once.
        bundles = readings(1, work);
    }
    bundles.sort_by(|a, b| b.score().total_cmp(&a.score()));
    let most = bundles.iter().map(|bundle| bundle.bits).fold(0.0, f64::max);
    bundles.retain(|bundle| bundle.bits >= BESIDE_BEST * most);
    let nothing_left = bundles.is_empty();
    let tests = bundles
        .into_iter()
        .take(TESTS_MAX)
        .map(|bundle| shown(weighed, &rows, &at_work, bundle))
        .collect();
    (tests, nothing_left)
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
        let Take::Reading(setup) = &candidate.take else { continue };
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
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    rows: &Rows,
    suppositions: &Suppositions<'_>,
    at_work: &AtWork,
    work: &mut Work,
) -> Option<Bundle> {
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
