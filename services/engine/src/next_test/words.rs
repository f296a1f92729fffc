//! A proposed test in words: title, steps, cautions, what each answer would mean.
//!
//! Belongs here: telling. Does not belong here: choosing.

use super::information::{Chances, NONE, Rows, after};
use super::site::{AtWork, place_of, place_of_connector};
use super::{Bundle, TAKES_MAX, Take, reading_min};
use crate::case::Case;
use crate::checks::prove_discharged;
use crate::circuit::{Caution, CheckSpec};
use crate::model::Model;
use crate::posterior::Weighed;
use crate::sentences;
use crate::verdict::{Answer, CautionShown, NextTest, Owed, PlannedReading, Retake};

/// Answers shown per test.
const ANSWERS_MAX: usize = 4;
/// Answers less likely than this are not shown.
const ANSWER_CHANCE_MIN: f64 = 0.015;

/// What it takes where a usual meter may have shown a ghost.
pub(super) const WITH_LOW_IMPEDANCE: &str = ", once more, with the meter on its low-impedance setting (without one, with a known load such as a relay coil across the two points): what a usual meter showed there may be a ghost";

/// What stands before a question that was answered and is asked again.
const ONCE_MORE: &str = "Once more: ";

/// A question that is owed comes before any reading.
pub(super) fn question(
    circuit: &crate::circuit::Circuit,
    case: &Case,
    owed: &[Owed],
) -> Option<NextTest> {
    let owed = owed.iter().find(|owed| owed.sign.is_some())?;
    let sign = circuit.signs.iter().find(|sign| Some(&sign.id) == owed.sign.as_ref())?;
    let answered = case.observations.iter().any(|known| known.sign == sign.id);
    let title = match answered {
        true => format!("{ONCE_MORE}{}", sign.asks),
        false => sign.asks.clone(),
    };
    Some(NextTest {
        title,
        steps: vec![owed.says.clone()],
        minutes: sign.minutes,
        cautions: Vec::new(),
        takes: Vec::new(),
        sign: Some(sign.id.clone()),
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

/// The one reading that all leans on, once more, where nothing new would bear it out.
pub(crate) fn once_more(
    circuit: &crate::circuit::Circuit,
    case: &Case,
    reading: &crate::case::Reading,
) -> Option<NextTest> {
    let says = format!(
        "Read {} once more ({}): all leans on it. Lift the probes and set them anew.",
        reading.id,
        sentences::reading(circuit, reading)
    );
    let retake = Retake { reading: reading.id.clone(), says };
    let mut test = again(circuit, case, &[retake])?;
    if let Some(last) = test.steps.last_mut() {
        *last = "The same again bears it out. Otherwise let both stand, for a loose joint shows just so, and read a third time.".into();
    }
    Some(test)
}

/// Readings to take again come before any new one: nothing built on a wrong one holds.
pub(super) fn again(
    circuit: &crate::circuit::Circuit,
    case: &Case,
    retake: &[Retake],
) -> Option<NextTest> {
    let readings: Vec<&crate::case::Reading> = retake
        .iter()
        .filter_map(|retake| case.readings.iter().find(|reading| reading.id == retake.reading))
        .take(TAKES_MAX)
        .collect();
    readings.first()?;
    let mut steps: Vec<String> =
        retake.iter().take(TAKES_MAX).map(|retake| retake.says.clone()).collect();
    steps.push(
        "The same again: both stand, ask for a second read. Otherwise: let both stand too, for a loose joint shows just so, and read a third time; two that agree outvote the odd one. Strike a reading only where you saw what went wrong."
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
                state: reading.state.clone(),
                low_impedance: reading.meter.as_ref().and_then(|m| m.low_impedance) == Some(true),
                label: format!("{} to {}", label(&reading.from), label(&reading.to)),
            })
            .collect(),
        sign: None,
        sheet: Vec::new(),
        answers: Vec::new(),
        information_bits: 0.0,
    })
}

pub(super) fn shown(
    weighed: &Weighed<'_, '_>,
    rows: &Rows,
    at_work: &AtWork,
    bundle: Bundle,
) -> NextTest {
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
    let off: Vec<usize> =
        bundle.lifted.iter().copied().filter(|known| !at_work.lifted.contains(known)).collect();
    let back: Vec<usize> = if bundle.places.is_empty() {
        Vec::new()
    } else {
        at_work.lifted.iter().copied().filter(|known| !bundle.lifted.contains(known)).collect()
    };
    steps.extend(made_safe(weighed.model, at_work, &bundle, &[&off[..], &back[..]].concat()));
    if !off.is_empty() {
        steps.push(format!("Take off: {}.", sentences::connectors(circuit, &ids(&off))));
    }
    if !back.is_empty() {
        steps.push(format!("Put back on: {}.", sentences::connectors(circuit, &ids(&back))));
    }
    if energised {
        let state = bundle.state.map_or(String::new(), |state| {
            format!(" Bring about: {}.", circuit.states[state].label)
        });
        steps.push(format!(
            "Energise for the reading only, by someone licensed to work live.{state}"
        ));
    }
    for candidate in &bundle.candidates {
        match &candidate.take {
            Take::Reading(setup) => {
                let (from, to) = (&circuit.points[setup.from], &circuit.points[setup.to]);
                let with = if setup.low_impedance { WITH_LOW_IMPEDANCE } else { "" };
                steps.push(format!(
                    "Measure {} from {} to {}{with}.",
                    setup.quantity.word(),
                    from.label,
                    to.label
                ));
                takes.push(PlannedReading {
                    quantity: setup.quantity,
                    from: from.id.clone(),
                    to: to.id.clone(),
                    lifted: ids(&setup.lifted),
                    state: setup.state.map(|state| circuit.states[state].id.clone()),
                    low_impedance: setup.low_impedance,
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
            let lifted = if let Some(state) = bundle.state {
                format!(", {}", circuit.states[state].label)
            } else if bundle.lifted.is_empty() {
                ", nothing lifted".to_owned()
            } else {
                format!(", {} off", sentences::connectors(circuit, &ids(&bundle.lifted)))
            };
            let again = if waits { "After cooling: " } else { "" };
            let pins: Vec<String> = takes
                .iter()
                .map(|take| {
                    let with = if take.low_impedance { " at low impedance" } else { "" };
                    format!("{}–{}{with}", take.from, take.to)
                })
                .collect();
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
        sheet: Vec::new(),
        answers: answers(weighed, rows, &bundle),
        information_bits: (bundle.bits * 1e4).round() / 1e4,
    }
}

/// The step before hands go in: whatever is worked at, by probe or at a connector, is dead
/// first.
fn made_safe(
    model: &Model<'_>,
    at_work: &AtWork,
    bundle: &Bundle,
    connectors: &[usize],
) -> Option<String> {
    let mut places = bundle.places.clone();
    places.extend(connectors.iter().filter_map(|&connector| place_of_connector(model, connector)));
    places.sort_unstable();
    places.dedup();
    let closed: Vec<&str> = places
        .iter()
        .filter(|place| !at_work.open_places.contains(place))
        .map(|&place| model.circuit.places[place].label.as_str())
        .collect();
    let dead = match (closed.is_empty(), at_work.energised && !places.is_empty()) {
        (false, _) => format!(
            "Disconnect, lock out, prove dead; open the {}.",
            sentences::joined(&closed, "and")
        ),
        (true, true) => "Disconnect, lock out, prove dead.".to_owned(),
        (true, false) => return None,
    };
    Some(match link_at(model, &places) {
        Some(discharged) => format!("{dead} {discharged}"),
        None => dead,
    })
}

/// How a link at one of these places is proved discharged.
fn link_at(model: &Model<'_>, places: &[usize]) -> Option<String> {
    model.circuit.checks.iter().find_map(|check| {
        let CheckSpec::StoredCharge { points, safe_volt } = check else { return None };
        let points = points.each_ref().map(|id| model.point(id));
        let near = points
            .iter()
            .any(|&point| place_of(model, point).is_some_and(|place| places.contains(&place)));
        let labels = points.map(|point| model.circuit.points[point].label.as_str());
        near.then(|| prove_discharged(labels, *safe_volt))
    })
}

/// What a group of suspects is called.
pub(super) fn group_label(circuit: &crate::circuit::Circuit, group: usize) -> String {
    let components = circuit.components.len();
    match group {
        NONE => "none of them".to_owned(),
        group if group <= components => circuit.components[group - 1].label.clone(),
        group => circuit.parts[group - 1 - components].label.clone(),
    }
}

/// The words of each joint answer, in the order of the joint chances.
pub(super) fn shows(bundle: &Bundle) -> Vec<String> {
    bundle.candidates.iter().fold(vec![String::new()], |shows, candidate| {
        shows
            .iter()
            .flat_map(|first| {
                candidate.shows.iter().map(move |second| {
                    if first.is_empty() { second.clone() } else { format!("{first}; {second}") }
                })
            })
            .collect()
    })
}

/// What each likely answer would mean.
fn answers(weighed: &Weighed<'_, '_>, rows: &Rows, bundle: &Bundle) -> Vec<Answer> {
    let circuit = weighed.model.circuit;
    let joint = bundle
        .candidates
        .iter()
        .fold(Chances::nothing(rows), |joint, candidate| joint.jointly(&candidate.chance));
    let groups = rows.groups.len();
    let after = after(rows, &joint);
    let mut answers: Vec<Answer> = shows(bundle)
        .into_iter()
        .zip(after.chunks_exact(groups))
        .filter_map(|(shows, after)| {
            let chance: f64 = after.iter().sum();
            if chance < ANSWER_CHANCE_MIN {
                return None;
            }
            let lead = (0..groups)
                .max_by(|&a, &b| after[a].total_cmp(&after[b]).then(b.cmp(&a)))
                .unwrap_or(0);
            let share = after[lead] / chance;
            let label = group_label(circuit, rows.groups[lead]);
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
