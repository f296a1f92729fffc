//! The best next tests.
//!
//! Belongs here: which tests the circuit allows, what each would tell and cost, which are
//! proposed. Does not belong here: how likely a reading is ([`crate::likelihood`]).
//!
//! A test is valued by the expected information about *which component* has failed, per
//! minute, with danger as further minutes. Opening a place or lifting a plug is paid once
//! for all readings taken there.

use crate::case::Case;
use crate::circuit::{Caution, CheckSpec, PartKind};
use crate::likelihood::{MeterLimits, Prepared, presence, reachable};
use crate::model::Model;
use crate::posterior::{Kind, Weighed, faults_of, sign_chance};
use crate::predict::{Predicted, Setup, predict};
use crate::sentences;
use crate::shares::Shares;
use crate::units::Quantity;
use crate::verdict::{Answer, CautionShown, NextTest, Outcome, Owed, PlannedReading, Retake};

/// Most tests proposed.
const TESTS_MAX: usize = 3;
/// Most readings in one test.
const TAKES_MAX: usize = 3;
/// Hypotheses a test is valued over: those that hold nearly all of the posterior.
const ROWS_MAX: usize = 120;
/// Posterior that the rows must hold together before the list is cut.
const ROWS_SHARE: f64 = 0.9995;
/// A test that tells less than this is not worth the walk, bits.
const BITS_MIN: f64 = 0.02;
/// Kinds of answer kept apart per reading; the rest are merged with their neighbours.
const CLASSES_MAX: usize = 6;
/// Answers shown per test.
const ANSWERS_MAX: usize = 4;
/// Answers less likely than this are not shown.
const ANSWER_CHANCE_MIN: f64 = 0.015;
/// Chance that an answer comes out wrongly.
const WRONG: f64 = 0.02;
/// Minutes to put a connector back on.
const PUT_BACK_MIN: f64 = 1.0;
/// A minute of waiting for a part to cool, against a minute of work.
const WAITING: f64 = 0.15;

/// Minutes that a danger counts for beside the work (common practice, no source).
fn danger_min(caution: Caution) -> f64 {
    match caution {
        Caution::LiveVoltage | Caution::TerminalBlowout | Caution::Combustion => 0.5,
        Caution::FlammableRefrigerant | Caution::Height => 1.0,
        Caution::StoredCharge | Caution::MovingParts | Caution::HotSurface => 0.25,
    }
}

/// Minutes for one reading once everything is open (common practice, no source).
fn reading_min(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Resistance => 0.7,
        Quantity::Insulation | Quantity::Capacitance => 1.0,
        // Energising, standing clear and switching off again.
        Quantity::Voltage | Quantity::Current => 2.0,
    }
}

/// A hypothesis as a test sees it: its share, and how that share is spread over what is told
/// apart (components, then none of them).
struct Row {
    hypothesis: usize,
    share: f64,
    parts: Vec<(usize, f64)>,
}

/// One reading (or question) that could be taken, with its kinds of answer.
struct Candidate {
    take: Take,
    minutes: f64,
    /// Words per kind of answer.
    shows: Vec<String>,
    /// chance[row][kind]
    chance: Vec<Vec<f64>>,
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
pub(crate) fn best(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    case: &Case,
    claimed: Option<usize>,
    outcome: Outcome,
    retake: &[Retake],
    owed: &[Owed],
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
    let mut bundles = Vec::new();
    for lifted in at_work.lifted_sets(weighed.model) {
        bundles.extend(reading_bundles(weighed, case, &rows, &at_work, &lifted));
    }
    bundles.extend(cooling_bundle(weighed, shares, &rows, &at_work));
    bundles.extend(sign_bundles(weighed, case, &rows));
    bundles.retain(|bundle| bundle.bits >= BITS_MIN);
    bundles.sort_by(|a, b| b.score().total_cmp(&a.score()));
    let nothing_left = bundles.is_empty();
    let tests = bundles
        .into_iter()
        .take(TESTS_MAX)
        .map(|bundle| shown(weighed, &rows, &at_work, bundle))
        .collect();
    (tests, nothing_left)
}

/// A question that is owed comes before any reading.
fn question(circuit: &crate::circuit::Circuit, owed: &[Owed]) -> Option<NextTest> {
    let owed = owed.iter().find(|owed| owed.sign.is_some())?;
    let sign = circuit.signs.iter().find(|sign| Some(&sign.id) == owed.sign.as_ref())?;
    Some(NextTest {
        title: sign.asks.clone(),
        steps: vec![owed.says.clone()],
        minutes: sign.minutes,
        cautions: Vec::new(),
        takes: Vec::new(),
        sign: Some(sign.id.clone()),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

/// Readings to take again come before any new one: nothing built on a wrong one holds.
fn again(circuit: &crate::circuit::Circuit, case: &Case, retake: &[Retake]) -> Option<NextTest> {
    let readings: Vec<&crate::case::Reading> = retake
        .iter()
        .filter_map(|retake| case.readings.iter().find(|reading| reading.id == retake.reading))
        .take(TAKES_MAX)
        .collect();
    readings.first()?;
    let mut steps: Vec<String> =
        retake.iter().take(TAKES_MAX).map(|retake| retake.says.clone()).collect();
    steps.push(
        "If they come out the same again, both stand: strike none and ask for a second read."
            .into(),
    );
    let label = |id: &str| {
        circuit.points.iter().find(|p| p.id == id).map_or(id.to_owned(), |p| p.label.clone())
    };
    let pairs: Vec<String> = readings.iter().map(|r| format!("{}–{}", r.from, r.to)).collect();
    let minutes: f64 = readings.iter().map(|reading| reading_min(reading.quantity)).sum();
    let mut cautions: Vec<Caution> = readings
        .iter()
        .flat_map(|reading| [&reading.from, &reading.to])
        .filter_map(|id| circuit.points.iter().find(|point| point.id == *id)?.place.as_ref())
        .filter_map(|place| circuit.places.iter().find(|known| known.id == *place))
        .flat_map(|place| place.cautions.iter().copied())
        .collect();
    cautions.sort_unstable();
    cautions.dedup();
    Some(NextTest {
        title: format!("Read again: {}", pairs.join(", ")),
        steps,
        minutes: (minutes * 10.0).round() / 10.0,
        cautions: cautions
            .into_iter()
            .map(|caution| CautionShown { caution, says: caution.says().to_owned() })
            .collect(),
        takes: readings
            .iter()
            .map(|reading| PlannedReading {
                quantity: reading.quantity,
                from: reading.from.clone(),
                to: reading.to.clone(),
                lifted: reading.lifted.clone(),
                label: format!("{} to {}", label(&reading.from), label(&reading.to)),
            })
            .collect(),
        sign: None,
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

/// What is open and lifted on site, as the latest readings tell.
struct AtWork {
    open_places: Vec<usize>,
    lifted: Vec<usize>,
    part_temp_c: Option<f64>,
    stopped_min: Option<f64>,
    scale: f64,
}

impl AtWork {
    fn of(weighed: &Weighed<'_, '_>, case: &Case) -> Self {
        let model = weighed.model;
        let mut open_places: Vec<usize> = weighed
            .prepared
            .iter()
            .flat_map(|prepared| [prepared.setup.from, prepared.setup.to])
            .filter_map(|point| place_of(model, point))
            .collect();
        open_places.sort_unstable();
        open_places.dedup();
        let last = case.readings.last();
        AtWork {
            open_places,
            lifted: last.map_or(Vec::new(), |reading| model.lifted(&reading.lifted)),
            part_temp_c: last.and_then(|reading| reading.part_temp_c),
            stopped_min: last.and_then(|reading| reading.stopped_min),
            scale: weighed.likeliest_scale(),
        }
    }

    /// Nothing lifted, each connector alone, what is lifted now, and that with one more.
    fn lifted_sets(&self, model: &Model<'_>) -> Vec<Vec<usize>> {
        let mut sets = vec![Vec::new(), self.lifted.clone()];
        for connector in 0..model.opens.len() {
            sets.push(vec![connector]);
            let mut more = self.lifted.clone();
            more.push(connector);
            more.sort_unstable();
            more.dedup();
            sets.push(more);
        }
        sets.sort();
        sets.dedup();
        sets
    }
}

/// The place of a point; the shell is bare metal anywhere and costs nothing to reach.
fn place_of(model: &Model<'_>, point: usize) -> Option<usize> {
    if Some(point) == model.shell {
        return None;
    }
    let place = model.circuit.points[point].place.as_ref()?;
    model.circuit.places.iter().position(|known| known.id == *place)
}

/// What a test is to tell apart.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Telling {
    Components,
    Parts,
}

/// The group of "none of them": nothing wrong, a passing state, an unknown fault.
const NONE: usize = 0;

fn rows(weighed: &Weighed<'_, '_>, claimed: Option<usize>, telling: Telling) -> Vec<Row> {
    let mut order: Vec<usize> = (0..weighed.posterior.len()).collect();
    order.sort_by(|&a, &b| weighed.posterior[b].total_cmp(&weighed.posterior[a]).then(a.cmp(&b)));
    let mut rows = Vec::new();
    let mut held = 0.0;
    for hypothesis in order {
        let share = weighed.posterior[hypothesis];
        if rows.len() >= ROWS_MAX || held >= ROWS_SHARE || share <= 0.0 {
            break;
        }
        held += share;
        let parts = match weighed.hypotheses.all[hypothesis].kind {
            Kind::Sound | Kind::Unknown => vec![(NONE, 1.0)],
            _ => weighed
                .attribution(hypothesis, claimed)
                .into_iter()
                .map(|(fault, weight)| {
                    let fault = &weighed.model.faults[fault];
                    let group = match telling {
                        _ if fault.passing => NONE,
                        Telling::Components => 1 + fault.component,
                        Telling::Parts => 1 + weighed.model.circuit.components.len() + fault.part,
                    };
                    (group, weight)
                })
                .collect(),
        };
        rows.push(Row { hypothesis, share, parts });
    }
    for row in &mut rows {
        row.share /= held;
    }
    rows
}

fn groups(weighed: &Weighed<'_, '_>) -> usize {
    1 + weighed.model.circuit.components.len() + weighed.model.parts.len()
}

fn entropy(shares: &[f64]) -> f64 {
    let sum: f64 = shares.iter().sum();
    shares
        .iter()
        .filter(|share| **share > 0.0)
        .map(|share| {
            let p = share / sum;
            -p * p.log2()
        })
        .sum()
}

/// Expected information, in bits, of answers with `chance[row][kind]`.
fn information(rows: &[Row], groups: usize, chance: &[Vec<f64>]) -> f64 {
    let kinds = chance.first().map_or(0, Vec::len);
    let mut before = vec![0.0; groups];
    let mut after = vec![vec![0.0; groups]; kinds];
    for (row, chances) in rows.iter().zip(chance) {
        for &(group, weight) in &row.parts {
            before[group] += row.share * weight;
            for (kind, chance) in chances.iter().enumerate() {
                after[kind][group] += row.share * weight * chance;
            }
        }
    }
    let expected: f64 = after
        .iter()
        .map(|shares| {
            let sum: f64 = shares.iter().sum();
            if sum > 0.0 { sum * entropy(shares) } else { 0.0 }
        })
        .sum();
    (entropy(&before) - expected).max(0.0)
}

/// The joint answers of two tests, independent given the hypothesis.
fn jointly(first: &[Vec<f64>], second: &[Vec<f64>]) -> Vec<Vec<f64>> {
    first
        .iter()
        .zip(second)
        .map(|(a, b)| a.iter().flat_map(|x| b.iter().map(move |y| x * y)).collect())
        .collect()
}

fn reading_bundles(
    weighed: &Weighed<'_, '_>,
    case: &Case,
    rows: &[Row],
    at_work: &AtWork,
    lifted: &[usize],
) -> Vec<Bundle> {
    let model = weighed.model;
    let mut by_places: Vec<(Vec<usize>, Vec<Candidate>)> = Vec::new();
    for setup in setups(model, at_work, lifted) {
        if taken_before(model, case, &setup) {
            continue;
        }
        let mut places: Vec<usize> =
            [setup.from, setup.to].into_iter().filter_map(|point| place_of(model, point)).collect();
        places.sort_unstable();
        places.dedup();
        let candidate = candidate(weighed, rows, setup, at_work.scale);
        if candidate.bits < BITS_MIN / 4.0 {
            continue;
        }
        match by_places.iter_mut().find(|(known, _)| *known == places) {
            Some((_, candidates)) => candidates.push(candidate),
            None => by_places.push((places, vec![candidate])),
        }
    }
    by_places
        .into_iter()
        .map(|(places, candidates)| {
            let (setup_min, danger_min, cautions) = setting_up(model, at_work, lifted, &places);
            let bundle = Bundle {
                candidates: Vec::new(),
                lifted: lifted.to_vec(),
                places,
                setup_min,
                danger_min,
                waiting_min: 0.0,
                cautions,
                bits: 0.0,
            };
            filled(weighed, rows, bundle, candidates)
        })
        .collect()
}

/// Minutes to set up, minutes that danger counts for, and the cautions.
fn setting_up(
    model: &Model<'_>,
    at_work: &AtWork,
    lifted: &[usize],
    places: &[usize],
) -> (f64, f64, Vec<Caution>) {
    let mut minutes = 0.0;
    let mut needed: Vec<usize> = places.to_vec();
    for &connector in lifted {
        if at_work.lifted.contains(&connector) {
            continue;
        }
        let spec = &model.circuit.connectors[connector];
        minutes += spec.minutes;
        needed.extend(model.circuit.places.iter().position(|place| place.id == spec.place));
    }
    minutes +=
        at_work.lifted.iter().filter(|known| !lifted.contains(known)).count() as f64 * PUT_BACK_MIN;
    needed.sort_unstable();
    needed.dedup();
    let mut cautions: Vec<Caution> = Vec::new();
    let mut danger = 0.0;
    for place in needed {
        let spec = &model.circuit.places[place];
        let opened = at_work.open_places.contains(&place);
        if !opened {
            minutes += spec.minutes;
        }
        for &caution in &spec.cautions {
            if !cautions.contains(&caution) {
                cautions.push(caution);
                danger += if opened { 0.0 } else { danger_min(caution) };
            }
        }
    }
    cautions.sort_unstable();
    (minutes, danger, cautions)
}

/// Fills a bundle with the candidates that tell most together, then with the readings that a
/// check needs to be complete.
fn filled(
    weighed: &Weighed<'_, '_>,
    rows: &[Row],
    mut bundle: Bundle,
    mut candidates: Vec<Candidate>,
) -> Bundle {
    /// A further reading must bring at least this share of the bundle's rate per minute.
    const WORTH: f64 = 0.3;
    /// Candidates looked at for each further reading.
    const LOOKED_AT: usize = 8;
    let groups = groups(weighed);
    candidates.sort_by(|a, b| (b.bits / b.minutes).total_cmp(&(a.bits / a.minutes)));
    let mut joint: Vec<Vec<f64>> = vec![vec![1.0]; rows.len()];
    while bundle.candidates.len() < TAKES_MAX && !candidates.is_empty() {
        let best = candidates
            .iter()
            .take(LOOKED_AT)
            .enumerate()
            .map(|(place, candidate)| {
                let together = jointly(&joint, &candidate.chance);
                (information(rows, groups, &together), place)
            })
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
        joint = jointly(&joint, &candidate.chance);
        bundle.bits = bits;
        bundle.candidates.push(candidate);
    }
    complete_check(weighed.model, &mut bundle, candidates);
    bundle
}

/// Readings between the pins of one check come together: three pins, three readings, so that
/// they can be checked against each other.
fn complete_check(model: &Model<'_>, bundle: &mut Bundle, rest: Vec<Candidate>) {
    let pin_sets: Vec<Vec<usize>> = model
        .circuit
        .checks
        .iter()
        .filter_map(|check| match check {
            CheckSpec::WindingSum { common, start, run, .. } => Some(vec![common, start, run]),
            CheckSpec::WindingBalance { pins, .. } => Some(pins.iter().collect()),
            _ => None,
        })
        .map(|pins| pins.into_iter().map(|pin| model.point(pin)).collect())
        .collect();
    let between = |candidate: &Candidate, pins: &[usize]| match &candidate.take {
        Take::Reading(setup) => {
            setup.quantity == Quantity::Resistance
                && pins.contains(&setup.from)
                && pins.contains(&setup.to)
        }
        Take::Sign(_) => false,
    };
    let Some(pins) = pin_sets
        .iter()
        .find(|pins| bundle.candidates.first().is_some_and(|candidate| between(candidate, pins)))
    else {
        return;
    };
    bundle.candidates.retain(|candidate| between(candidate, pins));
    for candidate in rest {
        if bundle.candidates.len() >= TAKES_MAX {
            break;
        }
        if between(&candidate, pins) {
            bundle.candidates.push(candidate);
        }
    }
}

/// Every pair of points that a probe reaches with these connectors lifted.
fn setups(model: &Model<'_>, at_work: &AtWork, lifted: &[usize]) -> Vec<Setup> {
    let of = |quantity, from, to| Setup {
        quantity,
        from,
        to,
        lifted: lifted.to_vec(),
        part_temp_c: at_work.part_temp_c,
        stopped_min: at_work.stopped_min,
    };
    let joined = |point: usize, kinds: fn(PartKind) -> bool| {
        model
            .parts
            .iter()
            .any(|part| kinds(part.kind) && part.ends.is_some_and(|ends| ends.contains(&point)))
    };
    let points: Vec<usize> = (0..model.circuit.points.len())
        .filter(|&point| Some(point) != model.shell && reachable(model, point, lifted))
        .filter(|&point| joined(point, |kind| kind != PartKind::Source))
        .collect();
    let mut setups = Vec::new();
    for (place, &from) in points.iter().enumerate() {
        for &to in &points[place + 1..] {
            setups.push(of(Quantity::Resistance, from, to));
        }
        if let Some(shell) = model.shell {
            setups.push(of(Quantity::Insulation, from, shell));
        }
    }
    for part in &model.parts {
        let Some([from, to]) = part.ends else { continue };
        let both = reachable(model, from, lifted) && reachable(model, to, lifted);
        match part.kind {
            PartKind::Capacitor if both => setups.push(of(Quantity::Capacitance, from, to)),
            // Volts are read with everything in place.
            PartKind::Source if both && lifted.is_empty() => {
                setups.push(of(Quantity::Voltage, from, to));
            }
            _ => {}
        }
    }
    setups
}

fn taken_before(model: &Model<'_>, case: &Case, setup: &Setup) -> bool {
    case.readings.iter().any(|reading| {
        let ends = [model.point(&reading.from), model.point(&reading.to)];
        reading.quantity == setup.quantity
            && (ends == [setup.from, setup.to] || ends == [setup.to, setup.from])
            && model.lifted(&reading.lifted) == setup.lifted
    })
}

fn candidate(weighed: &Weighed<'_, '_>, rows: &[Row], setup: Setup, scale: f64) -> Candidate {
    let model = weighed.model;
    let meter = MeterLimits::of(setup.quantity, None);
    let prepared = Prepared::new(model, setup.clone(), meter);
    // What each row expects, with the chance that an overload is open where it supposes one.
    let expected: Vec<Vec<(f64, Predicted, f64)>> = rows
        .iter()
        .map(|row| {
            let kind = weighed.hypotheses.all[row.hypothesis].kind;
            let faults = faults_of(model, kind);
            let see = |faults: &[&crate::model::Fault]| {
                let predicted = predict(model, &setup, faults, scale);
                let spread = match predicted {
                    Predicted::Value(value) => prepared.centre_and_spread(value, faults).1,
                    _ => 0.0,
                };
                (predicted, spread)
            };
            match faults.iter().position(|fault| fault.passing) {
                Some(place) => {
                    let open = weighed
                        .open_chance_now(row.hypothesis, &setup)
                        .unwrap_or_else(|| presence(model, faults[place], &setup));
                    let mut at_rest = faults.clone();
                    at_rest.remove(place);
                    let (with, wide) = see(&faults);
                    let (without, narrow) = see(&at_rest);
                    vec![(open, with, wide), (1.0 - open, without, narrow)]
                }
                None => {
                    let (predicted, spread) = see(&faults);
                    vec![(1.0, predicted, spread)]
                }
            }
        })
        .collect();
    let classes = Classes::of(&expected, rows, &meter);
    let is_unknown = |row: &Row| weighed.hypotheses.all[row.hypothesis].kind == Kind::Unknown;
    let mut chance: Vec<Vec<f64>> =
        expected.iter().map(|expected| classes.chances(expected, &meter)).collect();
    // An unknown fault may show anything, so no answer speaks for or against it.
    let mut usual = vec![0.0; classes.count()];
    let known: f64 = rows.iter().filter(|row| !is_unknown(row)).map(|row| row.share).sum();
    for (row, chances) in rows.iter().zip(&chance).filter(|(row, _)| !is_unknown(row)) {
        for (kind, chance) in chances.iter().enumerate() {
            usual[kind] += row.share * chance / known;
        }
    }
    for (row, chances) in rows.iter().zip(&mut chance) {
        if is_unknown(row) {
            chances.clone_from(&usual);
        }
    }
    let bits = information(rows, groups(weighed), &chance);
    let shows = classes.words(&model.circuit.points, &setup, &meter);
    Candidate {
        minutes: reading_min(setup.quantity),
        take: Take::Reading(setup),
        shows,
        chance,
        bits,
    }
}

/// Kinds of answer: over limit, and clusters of values that a meter tells apart.
struct Classes {
    /// Upper bounds (log units) of the clusters but the last.
    bounds: Vec<f64>,
    /// A typical value per cluster, base unit.
    typical: Vec<f64>,
}

impl Classes {
    fn of(expected: &[Vec<(f64, Predicted, f64)>], rows: &[Row], meter: &MeterLimits) -> Self {
        /// Clusters further apart than this many standard deviations are told apart.
        const APART: f64 = 2.0;
        let mut values: Vec<(f64, f64, f64)> = Vec::new();
        for (row, expected) in rows.iter().zip(expected) {
            for &(chance, predicted, spread) in expected {
                if let Predicted::Value(value) = predicted
                    && value <= meter.highest
                {
                    values.push(((value + meter.floor()).ln(), spread, row.share * chance));
                }
            }
        }
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut clusters: Vec<Vec<(f64, f64, f64)>> = Vec::new();
        for value in values {
            match clusters.last_mut() {
                Some(cluster) => {
                    let near = cluster.last().copied().unwrap_or(value);
                    if value.0 - near.0 > APART * near.1.max(value.1).max(0.05) {
                        clusters.push(vec![value]);
                    } else {
                        cluster.push(value);
                    }
                }
                None => clusters.push(vec![value]),
            }
        }
        let weight = |cluster: &[(f64, f64, f64)]| cluster.iter().map(|value| value.2).sum::<f64>();
        while clusters.len() > CLASSES_MAX {
            let least = (0..clusters.len())
                .min_by(|&a, &b| weight(&clusters[a]).total_cmp(&weight(&clusters[b])))
                .unwrap_or(0);
            let lost = clusters.remove(least);
            let into = least.saturating_sub(1);
            clusters[into].extend(lost);
            clusters[into].sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        let bounds = clusters
            .windows(2)
            .map(|pair| {
                let end = pair[0].last().map_or(0.0, |value| value.0);
                let start = pair[1].first().map_or(0.0, |value| value.0);
                (end + start) / 2.0
            })
            .collect();
        let typical = clusters
            .iter()
            .map(|cluster| {
                let heaviest =
                    cluster.iter().max_by(|a, b| a.2.total_cmp(&b.2)).map_or(0.0, |value| value.0);
                (heaviest.exp() - meter.floor()).max(0.0)
            })
            .collect();
        Classes { bounds, typical }
    }

    fn count(&self) -> usize {
        self.typical.len() + 1
    }

    fn chances(&self, expected: &[(f64, Predicted, f64)], meter: &MeterLimits) -> Vec<f64> {
        let count = self.count();
        let mut chances = vec![WRONG / count as f64; count];
        for &(chance, predicted, spread) in expected {
            let sure = (1.0 - WRONG) * chance;
            match predicted {
                Predicted::Value(value) => {
                    let centre = (value + meter.floor()).ln();
                    let above = |bound: f64| {
                        crate::likelihood::tail_above((bound - centre) / spread.max(0.02))
                    };
                    let over = above((meter.highest + meter.floor()).ln());
                    chances[count - 1] += sure * over;
                    let mut left = 1.0 - over;
                    for (kind, &bound) in self.bounds.iter().enumerate() {
                        let beyond = above(bound).min(left);
                        chances[kind] += sure * (left - beyond);
                        left = beyond;
                    }
                    if count >= 2 {
                        chances[count - 2] += sure * left;
                    } else {
                        chances[0] += sure * left;
                    }
                }
                Predicted::NoPath { .. } => chances[count - 1] += sure,
                Predicted::Nothing => {
                    chances.iter_mut().for_each(|kind| *kind += sure / count as f64);
                }
            }
        }
        chances
    }

    fn words(
        &self,
        points: &[crate::circuit::Point],
        setup: &Setup,
        _meter: &MeterLimits,
    ) -> Vec<String> {
        let pair = format!("{}–{}", points[setup.from].id, points[setup.to].id);
        self.typical
            .iter()
            .map(|&value| format!("{pair} about {}", sentences::in_words(setup.quantity, value)))
            .chain([format!("{pair} OL")])
            .collect()
    }
}

/// Waiting until a hot overload must have reset, then reading across it again.
fn cooling_bundle(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    rows: &[Row],
    at_work: &AtWork,
) -> Option<Bundle> {
    /// Below this share of a passing state there is nothing to wait for.
    const PASSING_MIN: f64 = 0.05;
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
        part_temp_c: Some(cool_c.min(30.0)),
        stopped_min: Some(rest_min),
    };
    let places: Vec<usize> = place_of(model, common).into_iter().collect();
    let (setup_min, danger_min, cautions) = setting_up(model, at_work, &lifted, &places);
    let waiting_min = (rest_min - at_work.stopped_min.unwrap_or(0.0)).max(30.0);
    let candidate = candidate(weighed, rows, setup, at_work.scale);
    let bits = candidate.bits;
    Some(Bundle {
        candidates: vec![candidate],
        lifted,
        places,
        setup_min,
        danger_min,
        waiting_min,
        cautions,
        bits,
    })
}

fn sign_bundles(weighed: &Weighed<'_, '_>, case: &Case, rows: &[Row]) -> Vec<Bundle> {
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
            let chance: Vec<Vec<f64>> = rows
                .iter()
                .map(|row| {
                    let kind = weighed.hypotheses.all[row.hypothesis].kind;
                    let present = sign_chance(model, sign, kind);
                    vec![present, 1.0 - present]
                })
                .collect();
            let bits = information(rows, groups(weighed), &chance);
            Bundle {
                candidates: vec![Candidate {
                    take: Take::Sign(index),
                    minutes: sign.minutes,
                    shows: vec!["Yes".into(), "No".into()],
                    chance,
                    bits,
                }],
                lifted: Vec::new(),
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

fn shown(weighed: &Weighed<'_, '_>, rows: &[Row], at_work: &AtWork, bundle: Bundle) -> NextTest {
    let circuit = weighed.model.circuit;
    let ids = |lifted: &[usize]| -> Vec<String> {
        lifted.iter().map(|&index| circuit.connectors[index].id.clone()).collect()
    };
    let mut takes = Vec::new();
    let mut sign = None;
    let mut steps = Vec::new();
    let places: Vec<&str> =
        bundle.places.iter().map(|&place| circuit.places[place].label.as_str()).collect();
    let energised = bundle.candidates.iter().any(
        |candidate| matches!(&candidate.take, Take::Reading(setup) if setup.quantity.needs_power()),
    );
    if bundle.waiting_min > 0.0 {
        steps.push(format!("Leave it off and let it cool, about {:.0} min.", bundle.waiting_min));
    }
    let closed: Vec<&str> = bundle
        .places
        .iter()
        .filter(|place| !at_work.open_places.contains(place))
        .map(|&place| circuit.places[place].label.as_str())
        .collect();
    if !closed.is_empty() {
        steps.push(format!(
            "Disconnect, lock out, prove dead; open the {}.",
            sentences::joined(&closed, "and")
        ));
    }
    let off: Vec<usize> =
        bundle.lifted.iter().copied().filter(|known| !at_work.lifted.contains(known)).collect();
    if !off.is_empty() {
        steps.push(format!("Take off: {}.", sentences::connectors(circuit, &ids(&off))));
    }
    let back: Vec<usize> =
        at_work.lifted.iter().copied().filter(|known| !bundle.lifted.contains(known)).collect();
    if !back.is_empty() && !bundle.places.is_empty() {
        steps.push(format!("Put back on: {}.", sentences::connectors(circuit, &ids(&back))));
    }
    if energised {
        steps.push("Energise for the reading only, by someone licensed to work live.".to_owned());
    }
    for candidate in &bundle.candidates {
        match &candidate.take {
            Take::Reading(setup) => {
                let (from, to) = (&circuit.points[setup.from], &circuit.points[setup.to]);
                steps.push(format!(
                    "Measure {} from {} to {}.",
                    setup.quantity.word(),
                    from.label,
                    to.label
                ));
                takes.push(PlannedReading {
                    quantity: setup.quantity,
                    from: from.id.clone(),
                    to: to.id.clone(),
                    lifted: ids(&setup.lifted),
                    label: format!("{} to {}", from.label, to.label),
                });
            }
            Take::Sign(index) => {
                steps.push(circuit.signs[*index].asks.clone());
                sign = Some(circuit.signs[*index].id.clone());
            }
        }
    }
    let title = match (&sign, bundle.waiting_min > 0.0) {
        (Some(_), _) => steps.last().cloned().unwrap_or_default(),
        (None, waits) => {
            let where_to = if places.is_empty() {
                "At the unit".to_owned()
            } else {
                format!("At the {}", sentences::joined(&places, "and"))
            };
            let lifted = if bundle.lifted.is_empty() {
                ", nothing lifted".to_owned()
            } else {
                format!(", {} off", sentences::connectors(circuit, &ids(&bundle.lifted)))
            };
            let again = if waits { "After cooling: " } else { "" };
            let pins: Vec<String> =
                takes.iter().map(|take| format!("{}–{}", take.from, take.to)).collect();
            format!("{again}{where_to}{lifted}: {}", pins.join(", "))
        }
    };
    NextTest {
        title,
        steps,
        minutes: (bundle.minutes() * 10.0).round() / 10.0,
        cautions: bundle
            .cautions
            .iter()
            .map(|&caution| CautionShown { caution, says: caution.says().to_owned() })
            .collect(),
        takes,
        sign,
        answers: answers(weighed, rows, &bundle),
        information_bits: (bundle.bits * 1e4).round() / 1e4,
    }
}

fn group_label(circuit: &crate::circuit::Circuit, group: usize) -> String {
    let components = circuit.components.len();
    match group {
        NONE => "none of them".to_owned(),
        group if group <= components => circuit.components[group - 1].label.clone(),
        group => circuit.parts[group - 1 - components].label.clone(),
    }
}

/// What each likely answer would mean.
fn answers(weighed: &Weighed<'_, '_>, rows: &[Row], bundle: &Bundle) -> Vec<Answer> {
    let circuit = weighed.model.circuit;
    let mut joint: Vec<Vec<f64>> = vec![vec![1.0]; rows.len()];
    let mut shows: Vec<String> = vec![String::new()];
    for candidate in &bundle.candidates {
        joint = jointly(&joint, &candidate.chance);
        shows = shows
            .iter()
            .flat_map(|first| {
                candidate.shows.iter().map(move |second| {
                    if first.is_empty() { second.clone() } else { format!("{first}; {second}") }
                })
            })
            .collect();
    }
    let groups = groups(weighed);
    let mut answers: Vec<Answer> = shows
        .into_iter()
        .enumerate()
        .filter_map(|(kind, shows)| {
            let mut after = vec![0.0; groups];
            for (row, chances) in rows.iter().zip(&joint) {
                for &(group, weight) in &row.parts {
                    after[group] += row.share * weight * chances[kind];
                }
            }
            let chance: f64 = after.iter().sum();
            if chance < ANSWER_CHANCE_MIN {
                return None;
            }
            let lead = (0..groups)
                .max_by(|&a, &b| after[a].total_cmp(&after[b]).then(b.cmp(&a)))
                .unwrap_or(0);
            let share = after[lead] / chance;
            let label = group_label(circuit, lead);
            Some(Answer {
                means: format!("{}: {}.", sentences::capital(&label), sentences::of_100(share)),
                shows,
                chance: crate::judge::rounded(chance),
                leads_to: label,
                share: crate::judge::rounded(share),
            })
        })
        .collect();
    answers.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    answers.truncate(ANSWERS_MAX);
    answers
}
