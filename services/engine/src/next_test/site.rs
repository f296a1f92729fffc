//! The site as it stands: what is open and lifted, and what it costs to set up elsewhere.
//!
//! Belongs here: places, connectors, minutes, cautions, the readings that could be taken.
//! Does not belong here: what a reading would tell.

use crate::case::{Case, Power};
use crate::circuit::{Caution, PartKind};
use crate::direct;
use crate::likelihood::reachable;
use crate::model::Model;
use crate::posterior::Weighed;
use crate::predict::Setup;
use crate::units::Quantity;

/// Minutes to put a connector back on.
const PUT_BACK_MIN: f64 = 1.0;

/// Minutes that a danger counts for beside the work (common practice, no source).
pub(super) fn danger_min(caution: Caution) -> f64 {
    match caution {
        Caution::LiveVoltage | Caution::TerminalBlowout | Caution::Combustion => 0.5,
        Caution::FlammableRefrigerant | Caution::Height => 1.0,
        Caution::StoredCharge | Caution::MovingParts | Caution::HotSurface => 0.25,
    }
}

/// What is open and lifted on site, as the latest readings tell.
#[derive(Clone)]
pub(super) struct AtWork {
    pub(super) open_places: Vec<usize>,
    pub(super) lifted: Vec<usize>,
    /// The last reading was taken live.
    pub(super) energised: bool,
    pub(super) part_temp_c: Option<f64>,
    pub(super) stopped_min: Option<f64>,
    pub(super) scale: f64,
}

impl AtWork {
    pub(super) fn of(weighed: &Weighed<'_, '_>, case: &Case) -> Self {
        let model = weighed.model;
        let mut open_places: Vec<usize> = weighed
            .prepared
            .iter()
            .flat_map(|prepared| [prepared.setup.from, prepared.setup.to])
            .filter_map(|point| place_of(model, point))
            .collect();
        // What was lifted lies open too, wherever the probes were.
        open_places.extend(
            weighed
                .prepared
                .iter()
                .flat_map(|prepared| &prepared.setup.lifted)
                .filter_map(|&connector| place_of_connector(model, connector)),
        );
        open_places.sort_unstable();
        open_places.dedup();
        let last = case.readings.last();
        AtWork {
            open_places,
            lifted: last.map_or(Vec::new(), |reading| model.lifted(&reading.lifted)),
            energised: last.is_some_and(|reading| reading.power == Power::Energised),
            part_temp_c: last.and_then(|reading| reading.part_temp_c),
            stopped_min: last.and_then(|reading| reading.stopped_min),
            scale: weighed.scale,
        }
    }

    /// Nothing lifted, each connector alone, what is lifted now, and that with one more.
    pub(super) fn lifted_sets(&self, model: &Model<'_>) -> Vec<Vec<usize>> {
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

/// The place at which a connector is lifted.
pub(super) fn place_of_connector(model: &Model<'_>, connector: usize) -> Option<usize> {
    let place = &model.circuit.connectors[connector].place;
    model.circuit.places.iter().position(|known| known.id == *place)
}

/// The place of a point; the shell is bare metal anywhere and costs nothing to reach.
pub(super) fn place_of(model: &Model<'_>, point: usize) -> Option<usize> {
    if Some(point) == model.shell {
        return None;
    }
    let place = model.circuit.points[point].place.as_ref()?;
    model.circuit.places.iter().position(|known| known.id == *place)
}

/// Minutes to set up, minutes that danger counts for, and the cautions.
pub(super) fn setting_up(
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
        needed.extend(place_of_connector(model, connector));
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

/// Every pair of points that a probe reaches with these connectors lifted.
pub(super) fn setups(model: &Model<'_>, at_work: &AtWork, lifted: &[usize]) -> Vec<Setup> {
    let of = |quantity, from, to| Setup {
        quantity,
        from,
        to,
        lifted: lifted.to_vec(),
        state: None,
        low_impedance: false,
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
        if let Some(shell) = model.shell
            && !harms_electronics(model, from, lifted)
        {
            setups.push(of(Quantity::Insulation, from, shell));
        }
    }
    for part in &model.parts {
        let Some([from, to]) = part.ends else {
            continue;
        };
        let both = reachable(model, from, lifted) && reachable(model, to, lifted);
        match part.kind {
            PartKind::Capacitor if both => setups.push(of(Quantity::Capacitance, from, to)),
            PartKind::Diode if both => {
                setups.push(of(Quantity::Diode, from, to));
                setups.push(of(Quantity::Diode, to, from));
            }
            _ => {}
        }
    }
    for [from, to] in through_hidden_diodes(model, lifted) {
        setups.push(of(Quantity::Diode, from, to));
        setups.push(of(Quantity::Diode, to, from));
    }
    // Volts are read with everything in place.
    if lifted.is_empty() && model.circuit.states.is_empty() {
        let sources = model.parts.iter().filter(|part| part.kind == PartKind::Source);
        for [from, to] in sources.filter_map(|part| part.ends).chain(between_legs(model)) {
            if reachable(model, from, lifted) && reachable(model, to, lifted) {
                setups.push(of(Quantity::Voltage, from, to));
            }
        }
    }
    setups
}

/// The near ends of sources whose far end is a star point that no probe reaches, two by two.
fn between_legs(model: &Model<'_>) -> Vec<[usize; 2]> {
    let sources: Vec<[usize; 2]> = model
        .parts
        .iter()
        .filter(|part| part.kind == PartKind::Source)
        .filter_map(|part| part.ends)
        .filter(|ends| model.circuit.points[ends[1]].place.is_none())
        .collect();
    let mut pairs = Vec::new();
    for (place, leg) in sources.iter().enumerate() {
        let others = sources[place + 1..].iter().filter(|other| other[1] == leg[1]);
        pairs.extend(others.map(|other| [leg[0], other[0]]));
    }
    pairs
}

/// The outer ends, two by two, of diodes that meet where no probe reaches: a bridge in a closed
/// module is read from output to output.
fn through_hidden_diodes(model: &Model<'_>, lifted: &[usize]) -> Vec<[usize; 2]> {
    let reached = |point: usize| reachable(model, point, lifted);
    let mut legs: Vec<(usize, usize)> = Vec::new();
    for [a, b] in
        model.parts.iter().filter(|part| part.kind == PartKind::Diode).filter_map(|part| part.ends)
    {
        match (reached(a), reached(b)) {
            (true, false) => legs.push((b, a)),
            (false, true) => legs.push((a, b)),
            _ => {}
        }
    }
    let mut pairs = Vec::new();
    for (place, &(inner, outer)) in legs.iter().enumerate() {
        for &(other_inner, other_outer) in &legs[place + 1..] {
            let pair = [outer.min(other_outer), outer.max(other_outer)];
            if inner == other_inner && outer != other_outer && !pairs.contains(&pair) {
                pairs.push(pair);
            }
        }
    }
    pairs
}

/// Whether an insulation tester's volts would reach electronics from a point: a diode, or a part
/// that the file calls electronic.
fn harms_electronics(model: &Model<'_>, from: usize, lifted: &[usize]) -> bool {
    let mut reached = vec![false; model.parts.len()];
    let mut points = vec![from];
    while let Some(point) = points.pop() {
        for (index, part) in model.parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            let out = lifted.iter().any(|&known| model.opens[known].contains(&index));
            let open = part.kind == PartKind::Switch && part.rest == crate::circuit::Rest::Open;
            if reached[index] || out || open || (a != point && b != point) {
                continue;
            }
            if part.kind == PartKind::Diode || model.circuit.parts[index].electronic {
                return true;
            }
            reached[index] = true;
            // The shell is what the other lead is on: what lies behind it sees no volts.
            points.extend([a, b].into_iter().filter(|&end| Some(end) != model.shell));
        }
    }
    false
}

/// What is read in a state with everything in place: volts across each part and from each
/// point to the far end of each source, amps on each lead.
pub(super) fn powered_setups(model: &Model<'_>, at_work: &AtWork, state: usize) -> Vec<Setup> {
    let of = |quantity, from, to| Setup {
        quantity,
        from,
        to,
        lifted: Vec::new(),
        state: Some(state),
        low_impedance: false,
        part_temp_c: at_work.part_temp_c,
        stopped_min: at_work.stopped_min,
    };
    let reached = |point: usize| reachable(model, point, &[]);
    let mut volts: Vec<[usize; 2]> = Vec::new();
    let mut setups = Vec::new();
    let across = model.parts.iter().filter_map(|part| part.ends).chain(between_legs(model));
    let sources: Vec<usize> = model
        .parts
        .iter()
        .filter(|part| part.kind == PartKind::Source)
        .filter_map(|part| part.ends.map(|ends| ends[1]))
        .collect();
    let to_source = sources
        .iter()
        .flat_map(|&far| (0..model.circuit.points.len()).map(move |point| [point, far]));
    for ends in across.chain(to_source) {
        let [from, to] = ends;
        let new = !volts.contains(&ends) && !volts.contains(&[to, from]);
        if from != to && new && reached(from) && reached(to) {
            volts.push(ends);
            setups.push(of(Quantity::Voltage, from, to));
        }
    }
    // Volts across a link are direct ones.
    setups.retain(|setup| !direct::is_link(model, setup.from, setup.to));
    setups.extend(
        direct::links(model)
            .filter(|[from, to]| reached(*from) && reached(*to))
            .map(|[from, to]| of(Quantity::DirectVoltage, from, to)),
    );
    for part in &model.parts {
        let Some([from, to]) = part.ends else {
            continue;
        };
        // A clamp goes around a lead whose ends lie in plugs; a contact it gets around where both
        // its ends lie bare.
        let clamped = match part.kind {
            PartKind::Lead => {
                [from, to].iter().all(|&point| model.circuit.points[point].place.is_some())
            }
            PartKind::Contact => reached(from) && reached(to),
            _ => false,
        };
        if clamped {
            setups.push(of(Quantity::Current, from, to));
        }
    }
    setups
}

/// How often this was read before.
pub(super) fn times_taken(model: &Model<'_>, case: &Case, setup: &Setup) -> usize {
    let same = |reading: &&crate::case::Reading| {
        let ends = [model.point(&reading.from), model.point(&reading.to)];
        // A diode is another reading the other way round.
        let reversed = setup.quantity != Quantity::Diode && ends == [setup.to, setup.from];
        // What a usual meter showed may be read again at low impedance, not the other way round.
        let low = reading.meter.as_ref().and_then(|meter| meter.low_impedance) == Some(true);
        reading.quantity == setup.quantity
            && (low || !setup.low_impedance)
            && (ends == [setup.from, setup.to] || reversed)
            && model.lifted(&reading.lifted) == setup.lifted
            && model.state(reading.state.as_deref()).unwrap_or(0) == setup.state.unwrap_or(0)
    };
    case.readings.iter().filter(same).count()
}
