//! The arms that ask the engine or go by rule: the tool, the checklist, no review.
//!
//! Belongs here: what each does next and when it condemns. Does not belong here: arms that
//! reckon for themselves ([`super::bayes`]).

use engine::case::Case;
use engine::circuit::{Effect, PartKind};
use engine::rates::Rates;
use engine::units::Quantity;
use engine::verdict::{NextTest, Outcome, Verdict};
use serde_json::{Value, json};

use super::site::{Shown, Site, Taken};
use super::table::Table;
use super::topologies::Topology;
use super::wiring::{Ask, What, Wiring};
use super::{Ended, MINUTES_MAX, Stated};

/// Steps after which the tool's technician gives up whatever the clock says.
const STEPS_MAX: usize = 30;

/// Readings after which the tool's technician gives up: a case holds 64.
const READINGS_MAX: usize = 56;
/// Times that one reading is taken.
const READ_MAX: usize = 3;

/// The first readings: volts, a few ohms in the first place, sometimes insulation, and what
/// the customer tells.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn first_readings(
    site: &mut Site<'_>,
    table: &Table,
    habits: &mut crate::seeded::Seeded,
) -> Result<(), String> {
    let circuit = &site.topology.circuit;
    for sign in 0..circuit.signs.len() {
        // No customer looks at contacts.
        let told = !circuit.signs[sign].id.ends_with("look_burnt");
        if told && !circuit.signs[sign].explained_by.is_empty() && habits.chance(0.5) {
            site.observe(sign, true)?;
        }
    }
    let here = |ask: &&Ask| {
        ask.lifted.is_empty()
            && [ask.from, ask.to].iter().all(|&point| {
                circuit.points[point].place.as_deref() == Some(circuit.places[0].id.as_str())
            })
    };
    let of = |what: What| -> Vec<Ask> {
        table.setups.iter().filter(here).filter(|ask| ask.what == what).cloned().collect()
    };
    let volts = of(What::Volts);
    for ask in volts.iter().filter(|ask| is_first_supply(site.topology, ask)) {
        if habits.chance(0.7) {
            site.take(ask)?;
        }
    }
    // Who has the meter in hand reads on: somewhere where volts belong.
    let live: Vec<Ask> = volts
        .into_iter()
        .filter(|ask| ask.command == Some(0) && !is_first_supply(site.topology, ask))
        .filter(|ask| {
            table.setup(ask).and_then(|s| table.sound(s).value).is_some_and(|volt| volt > 5.0)
        })
        .collect();
    if !live.is_empty() && habits.chance(0.5) {
        site.take(&habits_pick(habits, &live))?;
    }
    // Loads first: what reads next to nothing is a wire.
    let mut ohms: Vec<Ask> = of(What::Ohms)
        .into_iter()
        .filter(|ask| {
            table.setup(ask).and_then(|s| table.sound(s).value).is_some_and(|ohm| ohm > 0.3)
        })
        .collect();
    for _ in 0..3 {
        if !ohms.is_empty() {
            let ask = ohms.remove(habits.below(ohms.len()));
            site.take(&ask)?;
        }
    }
    let insulation = of(What::Megger);
    if !insulation.is_empty() && habits.chance(0.3) {
        site.take(&habits_pick(habits, &insulation))?;
    }
    Ok(())
}

fn habits_pick(habits: &mut crate::seeded::Seeded, asks: &[Ask]) -> Ask {
    asks[habits.below(asks.len())].clone()
}

fn judged(
    site: &Site<'_>,
    learned: Option<&Rates>,
    claim: Option<Value>,
) -> Result<Verdict, String> {
    let mut case: Case =
        serde_json::from_value(site.case(claim)).map_err(|error| format!("no case: {error}"))?;
    case.rates = learned.cloned();
    engine::check(&case).map_err(|problems| format!("{}: {problems}", site.topology.name))
}

/// The leading component and its share.
fn leading(topology: &Topology, verdict: &Verdict) -> (Option<usize>, f64) {
    let lead = verdict.components.iter().find(|share| share.replaceable);
    let index = lead.and_then(|lead| {
        topology.circuit.components.iter().position(|known| known.id == lead.component)
    });
    (index, lead.map_or(0.0, |lead| lead.share))
}

fn cleared_share(verdict: &Verdict) -> f64 {
    let of = |id: &str| {
        verdict.components.iter().find(|share| share.component == id).map_or(0.0, |s| s.share)
    };
    of("nothing_wrong") + of("passing_state")
}

/// The tool: what the engine asks for, condemned only when it says isolated, with the claim
/// made; `learned` is what the shop's confirmed calls say.
///
/// # Errors
/// Where the engine or ngspice fails.
pub(super) fn tool(
    site: &mut Site<'_>,
    learned: Option<&Rates>,
    stated: &mut Vec<Stated>,
) -> Result<Ended, String> {
    let mut claim: Option<Value> = None;
    let mut stood: Vec<Ask> = Vec::new();
    // States that cannot be had at all.
    let mut refused: Vec<usize> = Vec::new();
    for _ in 0..STEPS_MAX {
        let verdict = judged(site, learned, claim.clone())?;
        let (lead, share) = leading(site.topology, &verdict);
        stated.push(Stated { component: lead, share });
        let ended = |condemned: Option<usize>, why: &'static str| Ended {
            condemned,
            cleared: condemned.is_none() && cleared_share(&verdict) >= 0.9,
            stated: share,
            lead,
            why,
        };
        if verdict.outcome == Outcome::Isolated {
            if let Some(claim) = &verdict.claim {
                let index = site
                    .topology
                    .circuit
                    .components
                    .iter()
                    .position(|known| known.id == claim.component);
                return Ok(ended(index, "isolated"));
            }
            let component = lead.map(|lead| &site.topology.circuit.components[lead].id);
            let suspect = verdict.suspects.iter().find(|s| Some(&s.component) == component);
            let Some(suspect) = suspect else {
                return Ok(ended(None, "isolated without a suspect"));
            };
            site.trail.push(format!("claims {}.{}", suspect.part, suspect.mode));
            claim = Some(json!({
                "component": suspect.component, "part": suspect.part, "mode": suspect.mode,
            }));
            continue;
        }
        if site.minutes > MINUTES_MAX || site.readings.len() > READINGS_MAX {
            return Ok(ended(None, "out of minutes"));
        }
        if verdict.outcome == Outcome::Contradicted {
            claim = None;
        }
        if !next_taken(site, &verdict, &mut stood, &mut refused)? {
            site.trail
                .extend(verdict.next_tests.iter().map(|test| format!("not taken: {}", test.title)));
            let why = match (verdict.nothing_left, verdict.outcome) {
                (_, Outcome::Inconsistent) => "inconsistent",
                (true, Outcome::Incomplete) => "incomplete, nothing left",
                (true, _) => "nothing left",
                _ => "tests that cannot be taken",
            };
            return Ok(ended(None, why));
        }
    }
    Ok(Ended { condemned: None, cleared: false, stated: 0.0, lead: None, why: "too many steps" })
}

/// Takes the first proposed test that can be taken; false where there is none.
fn next_taken(
    site: &mut Site<'_>,
    verdict: &Verdict,
    stood: &mut Vec<Ask>,
    refused: &mut Vec<usize>,
) -> Result<bool, String> {
    for test in &verdict.next_tests {
        let Some(asks) = asks_of(site.topology, test) else { continue };
        let wanted = wanted_state(site.topology, test);
        if wanted.is_some_and(|state| refused.contains(&state)) {
            continue;
        }
        let had = is_had(site, wanted, &asks)?;
        if had == Had::Not {
            refused.extend(wanted);
            continue;
        }
        if let Some(sign) = &test.sign {
            let sign = site.topology.circuit.signs.iter().position(|known| known.id == *sign);
            let Some(sign) = sign else { continue };
            // An answer that did not help is not asked for again, unless it is owed a second look.
            let owed = test.title.starts_with("Once more");
            if !owed && site.observed.iter().any(|(known, _)| *known == sign) {
                continue;
            }
            site.observe(sign, false)?;
            return Ok(true);
        }
        let again = !test.title.starts_with("After cooling")
            && asks.iter().all(|ask| site.readings.iter().any(|taken| same(&taken.ask, ask)));
        if again && had == Had::Otherwise {
            // It was read in the state that there is.
            continue;
        }
        if again {
            if asks.iter().all(|ask| stood.iter().any(|known| same(known, ask))) {
                // Both stand: the engine says to ask for a second read.
                continue;
            }
            for ask in &asks {
                let times = site.readings.iter().filter(|taken| same(&taken.ask, ask)).count();
                // Where two differ a third decides.
                if retake(site, ask, wanted)? || times + 1 >= READ_MAX {
                    stood.push(ask.clone());
                }
            }
            return Ok(true);
        }
        if test.title.starts_with("After cooling") {
            site.rest();
        }
        for ask in &asks {
            site.take_in(ask, wanted)?;
        }
        return Ok(true);
    }
    Ok(false)
}

/// Whether the state that a test asks for can be brought about.
#[derive(Clone, Copy, PartialEq)]
enum Had {
    /// As asked for.
    Indeed,
    /// The motor does what it does, and the reading is noted down as of that.
    Otherwise,
    /// No state of the file says what there is.
    Not,
}

fn is_had(site: &mut Site<'_>, wanted: Option<usize>, asks: &[Ask]) -> Result<Had, String> {
    let topology = site.topology;
    let (Some(states), Some(wanted), Some(command)) =
        (&topology.states, wanted, asks.first().and_then(|ask| ask.command))
    else {
        return Ok(Had::Indeed);
    };
    let turning = site.turning(command)?;
    Ok(match states.noted(&topology.circuit, wanted, turning) {
        Some(noted) if noted == wanted => Had::Indeed,
        Some(_) => Had::Otherwise,
        None => {
            // Brought about to no avail.
            site.minutes += topology.circuit.states[wanted].minutes;
            site.trail.push("the state asked for cannot be had".to_owned());
            Had::Not
        }
    })
}

fn same(a: &Ask, b: &Ask) -> bool {
    a.what == b.what
        && a.command == b.command
        && a.lifted == b.lifted
        && ((a.from, a.to) == (b.from, b.to) || (a.to, a.from) == (b.from, b.to))
}

/// Reads again; whether it came out as before. All stand on the record: a loose joint and an
/// overload that closed look just so.
fn retake(site: &mut Site<'_>, ask: &Ask, wanted: Option<usize>) -> Result<bool, String> {
    let older = site.readings.iter().rev().find(|taken| same(&taken.ask, ask)).cloned();
    site.take_in(ask, wanted)?;
    let newer = site.readings.last().cloned();
    Ok(older
        .zip(newer)
        .is_none_or(|(older, newer)| older.state != newer.state || alike(&older, &newer)))
}

fn alike(a: &Taken, b: &Taken) -> bool {
    match (a.shown, b.shown) {
        (Shown::Value(a), Shown::Value(b)) => (a - b).abs() <= 0.1 * a.max(b) + 0.1,
        (Shown::Value(_), _) | (_, Shown::Value(_)) => false,
        _ => true,
    }
}

/// A test's readings; `None` where the trial cannot take one of them.
fn asks_of(topology: &Topology, test: &NextTest) -> Option<Vec<Ask>> {
    let circuit = &topology.circuit;
    let point = |id: &String| circuit.points.iter().position(|known| known.id == *id);
    let command = topology
        .states
        .as_ref()
        .zip(wanted_state(topology, test))
        .map(|(states, state)| states.command(state));
    test.takes
        .iter()
        .map(|take| {
            let (from, to) = (point(&take.from)?, point(&take.to)?);
            let what = match take.quantity {
                Quantity::Resistance => What::Ohms,
                Quantity::Insulation => What::Megger,
                Quantity::Capacitance => What::Microfarad,
                Quantity::Voltage if command.is_some() => What::Volts,
                Quantity::Current if command.is_some() => What::Amps,
                // Volts across a supply only: the bench's units are not energised further.
                Quantity::Voltage if topology.states.is_none() && is_supply(topology, from, to) => {
                    What::Volts
                }
                _ => return None,
            };
            let mut lifted: Vec<usize> = take
                .lifted
                .iter()
                .filter_map(|id| circuit.connectors.iter().position(|known| known.id == *id))
                .collect();
            lifted.sort_unstable();
            Some(Ask { what, from, to, lifted, command })
        })
        .collect()
}

/// The state that a test under power is to be taken in.
fn wanted_state(topology: &Topology, test: &NextTest) -> Option<usize> {
    let take = test.takes.first().filter(|take| take.quantity.needs_power())?;
    let states = &topology.circuit.states;
    match &take.state {
        Some(id) => states.iter().position(|state| state.id == *id),
        None => (!states.is_empty()).then_some(0),
    }
}

/// Volts at a supply, as the first state has it.
fn is_first_supply(topology: &Topology, ask: &Ask) -> bool {
    ask.what == What::Volts
        && ask.command.is_none_or(|command| command == 0)
        && is_supply(topology, ask.from, ask.to)
}

fn is_supply(topology: &Topology, from: usize, to: usize) -> bool {
    let reached = |point: usize| topology.circuit.points[point].place.is_some();
    Wiring::nominal(&topology.circuit)
        .supplies(&reached)
        .iter()
        .any(|pair| *pair == [from, to] || *pair == [to, from])
}

/// Whether a reading is out of what a sheet would call normal.
fn out_of_spec(site: &Site<'_>, table: &Table, taken: &Taken) -> bool {
    let Some(sound) = table.setup(&taken.ask).and_then(|setup| table.sound(setup).value) else {
        return false;
    };
    let plate = site
        .unit
        .plate
        .iter()
        .any(|(part, _)| site.topology.circuit.parts[*part].kind != PartKind::Capacitor);
    match (taken.ask.what, taken.shown) {
        (What::Megger, Shown::Value(ohm)) => ohm < 2e6,
        (What::Megger, _) => false,
        (What::Microfarad, Shown::Value(uf)) => (uf / sound - 1.0).abs() > 0.06,
        (What::Volts, Shown::Value(volt)) if taken.ask.command.is_some() => {
            (volt - sound).abs() > 0.1 * sound + 1.5
        }
        (What::Amps, Shown::Value(ampere)) => (ampere - sound).abs() > 0.35 * sound + 0.3,
        (What::Volts, Shown::Value(volt)) => (volt / sound - 1.0).abs() > 0.10,
        // A sheet's value within a fifth; without a sheet, anything like it.
        (What::Ohms, Shown::Value(ohm)) => {
            let allowed = if plate { 0.2 } else { 0.6 };
            (ohm - sound).abs() > allowed * sound + 0.5
        }
        _ => true,
    }
}

/// The component that a reading is of: the largest load that it goes through, else its lead.
fn named(topology: &Topology, table: &Table, ask: &Ask) -> Option<usize> {
    let setup = table.setup(ask)?;
    let circuit = &topology.circuit;
    let kind_of = |part: usize| match circuit.parts[part].kind {
        PartKind::Winding | PartKind::Coil | PartKind::Heater | PartKind::Capacitor => 3,
        PartKind::Source => 3,
        PartKind::Overload | PartKind::Switch | PartKind::Fuse => 2,
        _ => 1,
    };
    let sound = table.sound(setup);
    table
        .hypotheses
        .iter()
        .zip(&table.shows)
        .filter_map(|(hypothesis, shows)| {
            let (fault, component) = (hypothesis.fault?, hypothesis.component?);
            let moved = match (sound.value, shows[setup].value) {
                (Some(sound), Some(now)) => {
                    (now / sound).ln().abs() > 0.2 || (sound > 0.0 && now == 0.0)
                }
                (a, b) => a.is_some() != b.is_some(),
            };
            moved.then(|| {
                let ohm = circuit.parts[fault.part].ohm.unwrap_or(0.0);
                (kind_of(fault.part), ohm, component)
            })
        })
        .max_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(b.2.cmp(&a.2)))
        .map(|(_, _, component)| component)
}

/// The technician's own first guess: what the first odd reading is of, else what the
/// complaint sounds like.
pub(super) fn no_review(site: &Site<'_>, table: &Table) -> Ended {
    let odd = site.readings.iter().find(|taken| out_of_spec(site, table, taken));
    let circuit = &site.topology.circuit;
    let guess = match odd {
        Some(taken) => named(site.topology, table, &taken.ask),
        None => {
            let mut weight = vec![0.0; circuit.components.len()];
            for (sign, present) in &site.observed {
                for explains in circuit.signs[*sign].explained_by.iter().filter(|_| *present) {
                    let part = circuit.parts.iter().find(|part| part.id == explains.part);
                    for (index, component) in circuit.components.iter().enumerate() {
                        if part.is_some_and(|part| part.component == component.id) {
                            weight[index] += explains.chance;
                        }
                    }
                }
            }
            (0..weight.len())
                .filter(|&index| weight[index] > 0.0)
                .max_by(|&a, &b| weight[a].total_cmp(&weight[b]).then(b.cmp(&a)))
        }
    };
    Ended { condemned: guess, cleared: guess.is_none(), stated: 1.0, lead: guess, why: "guess" }
}

/// The fixed checklist: each part by itself where it can be read by itself, place after place,
/// loads before leads; the first reading out of spec condemns.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn checklist(site: &mut Site<'_>, table: &Table) -> Result<Ended, String> {
    for ask in list(site.topology, table) {
        if site.minutes > 3.0 * MINUTES_MAX {
            break;
        }
        site.take(&ask)?;
        let taken = site.readings.last().cloned().ok_or("no reading was taken")?;
        if out_of_spec(site, table, &taken) {
            let condemned = named(site.topology, table, &ask);
            return Ok(Ended {
                condemned,
                cleared: false,
                stated: 1.0,
                lead: condemned,
                why: "out of spec",
            });
        }
    }
    Ok(Ended { condemned: None, cleared: true, stated: 0.0, lead: None, why: "list done" })
}

/// The list of a make: fixed, the same for every unit.
fn list(topology: &Topology, table: &Table) -> Vec<Ask> {
    let circuit = &topology.circuit;
    let place_of = |ask: &Ask| {
        let of = |point: usize| {
            let place = circuit.points[point].place.as_ref()?;
            circuit.places.iter().position(|known| known.id == *place)
        };
        let lifts = ask.lifted.iter().filter_map(|&known| {
            circuit.places.iter().position(|place| place.id == circuit.connectors[known].place)
        });
        [of(ask.from), of(ask.to)].into_iter().flatten().chain(lifts).max().unwrap_or(0)
    };
    // How many parts an open could be in: the fewer, the more the reading is of one part.
    let opens = |setup: usize| -> Vec<usize> {
        let mut parts: Vec<usize> = table
            .hypotheses
            .iter()
            .zip(&table.shows)
            .filter(|(hypothesis, shows)| {
                hypothesis.fault.is_some_and(|fault| fault.effect == Effect::Open)
                    && shows[setup].value.is_none_or(|ohm| ohm > 1e5)
            })
            .filter_map(|(hypothesis, _)| hypothesis.fault.map(|fault| fault.part))
            .collect();
        parts.dedup();
        parts
    };
    let mut steps: Vec<(usize, usize, usize, usize)> = Vec::new();
    let ohms: Vec<(usize, Vec<usize>)> = (0..table.setups.len())
        .filter(|&setup| table.setups[setup].what == What::Ohms)
        .map(|setup| (setup, opens(setup)))
        .collect();
    for part in 0..circuit.parts.len() {
        let wire = matches!(circuit.parts[part].kind, PartKind::Lead | PartKind::Contact);
        let best = ohms
            .iter()
            .filter(|(_, opens)| opens.contains(&part))
            .min_by_key(|(setup, opens)| (opens.len(), place_of(&table.setups[*setup]), *setup));
        if let Some((setup, _)) = best {
            steps.push((usize::from(wire), place_of(&table.setups[*setup]), part, *setup));
        }
    }
    for (setup, ask) in table.setups.iter().enumerate() {
        match ask.what {
            What::Volts if is_first_supply(topology, ask) => steps.push((0, 0, 0, setup)),
            What::Microfarad => steps.push((0, place_of(ask), 0, setup)),
            What::Megger if !ask.lifted.is_empty() => steps.push((0, place_of(ask), 999, setup)),
            _ => {}
        }
    }
    steps.sort_unstable();
    let mut seen: Vec<usize> = Vec::new();
    for (.., setup) in steps {
        let ask = &table.setups[setup];
        let known = seen.iter().any(|&known| {
            let other: &Ask = &table.setups[known];
            known == setup
                || (ask.what == What::Microfarad
                    && other.what == ask.what
                    && (other.from, other.to) == (ask.from, ask.to))
        });
        if !known {
            seen.push(setup);
        }
    }
    seen.into_iter().map(|setup| table.setups[setup].clone()).collect()
}
