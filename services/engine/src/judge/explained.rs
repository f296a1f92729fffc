//! What a verdict rests on, and how it came about.
//!
//! Belongs here: weighing the evidence less one piece, less one occasion, and piece by piece.
//! Does not belong here: the outcome, which this never changes.

use super::rounded;
use crate::case::Case;
use crate::likelihood::Prepared;
use crate::posterior::Weighed;
use crate::sentences;
use crate::shares::{ModeOf, Shares, best_by_evidence, excluded_by, modes_and_firsts};
use crate::verdict::explained::{
    Explained, Rival, TurnsOn, Waterfall, WaterfallStep, WaterfallSuspect, WithoutOccasion,
};

/// Suspects of the waterfall, everything else not counted.
const SUSPECTS_MAX: usize = 6;
/// A suspect that never held as much is part of everything else.
const SHOWN_MIN: f64 = 0.02;
/// A rival below this share is none.
const RIVAL_MIN: f64 = 1e-6;
/// Hypotheses below this share are not added up where evidence is left out: thousands of them move
/// no sixth decimal.
const LESS_TELLS_MIN: f64 = 1e-10;
/// A share that moves less than this did not move.
const MOVED_MIN: f64 = 0.005;

/// What is left with one reading or observation left out.
pub(super) struct Less {
    /// Readings first, then observations.
    pub(super) piece: usize,
    /// Share of the judged component.
    pub(super) share: f64,
    leads: (Lead, f64),
}

/// Leaves out each piece in turn, so that all who ask look at the same posterior. A sign can be
/// mistaken too.
pub(super) fn less_each(
    weighed: &mut Weighed<'_, '_>,
    judged: Option<usize>,
    claimed: Option<usize>,
) -> Vec<Less> {
    (0..weighed.prepared.len() + weighed.sign_cells.len())
        .filter(|&piece| weighed.prepared.get(piece).is_none_or(Prepared::is_used))
        .collect::<Vec<_>>()
        .into_iter()
        .map(|piece| {
            weighed.without(piece, |less| {
                let (shares, _) = Shares::added_up(less, &less.posterior, claimed, LESS_TELLS_MIN);
                let share = judged.map_or(0.0, |component| shares.components[component]);
                Less { piece, share, leads: lead(&shares) }
            })
        })
        .collect()
}

/// Explains a judgement of `judged`, the claimed component or the leading one.
pub(super) fn explained(
    weighed: &mut Weighed<'_, '_>,
    shares: &Shares,
    case: &Case,
    judged: Option<usize>,
    claimed: Option<usize>,
    less: &[Less],
) -> Explained {
    Explained {
        best_rival: judged.and_then(|component| best_rival(weighed, shares, case, component)),
        turns_on: turns_on(weighed, shares, case, less),
        without_occasion: judged
            .and_then(|component| without_occasion(weighed, case, component, claimed)),
        waterfall: waterfall(weighed, case, claimed),
    }
}

/// The identifier of a piece of evidence: readings first, then observations.
pub(super) fn id_of(case: &Case, piece: usize) -> &str {
    match piece.checked_sub(case.readings.len()) {
        None => &case.readings[piece].id,
        Some(observation) => &case.observations[observation].id,
    }
}

fn best_rival(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    case: &Case,
    component: usize,
) -> Option<Rival> {
    let circuit = weighed.model.circuit;
    let rival = (0..shares.components.len())
        .filter(|&other| other != component && shares.in_all(other) >= RIVAL_MIN)
        .max_by(|&a, &b| shares.in_all(a).total_cmp(&shares.in_all(b)).then(b.cmp(&a)))?;
    let label = &circuit.components[rival].label;
    let share = shares.in_all(rival);
    let strongest = shares
        .modes
        .iter()
        .filter(|(mode, _)| {
            circuit.parts[mode.part].component == circuit.components[rival].id
                && !circuit.parts[mode.part].modes[mode.mode].passing
        })
        .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0)));
    let against = strongest
        .and_then(|(mode, _)| {
            excluded_by(weighed, *mode, &best_by_evidence(weighed)).first().copied()
        })
        .map(|piece| id_of(case, piece).to_owned());
    let stands = format!("The strongest other is the {label}, with {}", sentences::of_100(share));
    let says = match &against {
        Some(id) => format!("{stands}; {id} speaks most against it."),
        None => format!("{stands}; nothing read so far speaks against it by itself."),
    };
    Some(Rival {
        component: circuit.components[rival].id.clone(),
        label: label.clone(),
        share: rounded(share),
        against,
        says,
    })
}

/// What leads: a component by its place, or one of those that stand for themselves.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lead {
    Component(usize),
    Passing,
    Sound,
    Unknown,
}

fn lead(shares: &Shares) -> (Lead, f64) {
    let own = [
        (Lead::Passing, shares.passing),
        (Lead::Sound, shares.sound),
        (Lead::Unknown, shares.unknown_else()),
    ];
    let components =
        (0..shares.components.len()).map(|index| (Lead::Component(index), shares.in_all(index)));
    // The first of equals leads, so that the same evidence is told the same way.
    components.chain(own).fold((Lead::Sound, f64::NEG_INFINITY), |best, next| {
        if next.1 > best.1 { next } else { best }
    })
}

fn turns_on(
    weighed: &Weighed<'_, '_>,
    shares: &Shares,
    case: &Case,
    less: &[Less],
) -> Option<TurnsOn> {
    let (leads, _) = lead(shares);
    let (piece, (other, share)) = less
        .iter()
        .map(|less| (less.piece, less.leads))
        .filter(|(_, (other, _))| *other != leads)
        .reduce(|best, next| if next.1.1 > best.1.1 { next } else { best })?;
    let circuit = weighed.model.circuit;
    let (leads_to, label) = match other {
        Lead::Component(index) => {
            let component = &circuit.components[index];
            (component.id.clone(), format!("the {}", component.label))
        }
        Lead::Passing => ("passing_state".into(), "a passing state".into()),
        Lead::Sound => ("nothing_wrong".into(), "nothing wrong".into()),
        Lead::Unknown => ("unknown_fault".into(), "a fault that the circuit does not know".into()),
    };
    let id = id_of(case, piece);
    Some(TurnsOn {
        evidence: id.to_owned(),
        leads_to,
        share: rounded(share),
        says: format!(
            "It turns on {id}: without it {label} would lead with {}.",
            sentences::of_100(share)
        ),
    })
}

fn without_occasion(
    weighed: &mut Weighed<'_, '_>,
    case: &Case,
    component: usize,
    claimed: Option<usize>,
) -> Option<WithoutOccasion> {
    let occasions = weighed.occasions();
    if occasions.len() < 2 {
        return None;
    }
    let (share, readings) = occasions
        .into_iter()
        .map(|readings| {
            let share = weighed.with_only(&|piece| !readings.contains(&piece), |less| {
                let (shares, _) = Shares::added_up(less, &less.posterior, claimed, LESS_TELLS_MIN);
                shares.components[component]
            });
            (share, readings)
        })
        .reduce(|least, next| if next.0 < least.0 { next } else { least })?;
    let ids: Vec<&str> = readings.iter().map(|&reading| id_of(case, reading)).collect();
    let label = &weighed.model.circuit.components[component].label;
    Some(WithoutOccasion {
        says: format!(
            "Without the readings of one occasion ({}) the {label} would hold {}.",
            sentences::joined(&ids, "and"),
            sentences::of_100(share)
        ),
        readings: ids.into_iter().map(str::to_owned).collect(),
        share: rounded(share),
    })
}

fn waterfall(weighed: &mut Weighed<'_, '_>, case: &Case, claimed: Option<usize>) -> Waterfall {
    let pieces = case.readings.len() + case.observations.len();
    // Shares, and those of the modes by the first fault of each.
    let falls: Vec<(Shares, Vec<Option<f64>>)> = (0..=pieces)
        .map(|taken| {
            weighed.with_only(&|piece| piece < taken, |less| {
                Shares::added_up(less, &less.posterior, claimed, LESS_TELLS_MIN)
            })
        })
        .collect();
    let model = weighed.model;
    let held = |by_mode: &[Option<f64>], first: usize| by_mode[first].unwrap_or(0.0);
    let last = |first: usize| falls.last().map_or(0.0, |(_, by_mode)| held(by_mode, first));
    let most =
        |first: usize| falls.iter().map(|(_, by_mode)| held(by_mode, first)).fold(0.0, f64::max);
    // What is still suspected first; then what once was.
    let mut shown: Vec<(bool, f64, ModeOf, usize)> = modes_and_firsts(model)
        .into_iter()
        .map(|(mode, first)| (mode, first, most(first)))
        .filter(|(_, _, most)| *most >= SHOWN_MIN)
        .map(|(mode, first, most)| {
            let last = last(first);
            (last >= SHOWN_MIN, last.max(most * 1e-3), mode, first)
        })
        .collect();
    shown.sort_by(|a, b| b.0.cmp(&a.0).then(b.1.total_cmp(&a.1)).then(a.2.cmp(&b.2)));
    shown.truncate(SUSPECTS_MAX);
    let mut suspects: Vec<WaterfallSuspect> = shown
        .iter()
        .map(|(_, _, mode, first)| {
            let fault = &model.faults[*first];
            WaterfallSuspect {
                key: model.fault_key(fault),
                part: Some(model.circuit.parts[mode.part].id.clone()),
                label: model.fault_label(fault),
            }
        })
        .collect();
    for (key, label) in [
        ("nothing_wrong", "nothing wrong"),
        ("unknown_fault", "a fault that the circuit does not know"),
        ("everything_else", "everything else"),
    ] {
        suspects.push(WaterfallSuspect { key: key.into(), part: None, label: label.into() });
    }
    let rows: Vec<Vec<f64>> = falls
        .iter()
        .map(|(shares, by_mode)| {
            let mut row: Vec<f64> =
                shown.iter().map(|(_, _, _, first)| held(by_mode, *first)).collect();
            row.extend([shares.sound, shares.unknown]);
            row.push((1.0 - row.iter().sum::<f64>()).max(0.0));
            row.iter().map(|share| rounded(*share)).collect()
        })
        .collect();
    let steps = rows
        .iter()
        .enumerate()
        .map(|(taken, shares)| {
            let evidence = taken.checked_sub(1).map(|piece| id_of(case, piece).to_owned());
            let before = taken.checked_sub(1).map(|before| &rows[before]);
            WaterfallStep {
                label: match taken.checked_sub(1) {
                    None => "before any reading".into(),
                    Some(piece) => label_of(weighed, case, piece),
                },
                says: moved(&suspects, before, shares),
                evidence,
                shares: shares.clone(),
            }
        })
        .collect();
    Waterfall { suspects, steps }
}

/// "r2: T1 to T2, nothing lifted: OL".
fn label_of(weighed: &Weighed<'_, '_>, case: &Case, piece: usize) -> String {
    let circuit = weighed.model.circuit;
    match piece.checked_sub(case.readings.len()) {
        None => {
            let reading = &case.readings[piece];
            format!("{}: {}", reading.id, sentences::reading(circuit, reading))
        }
        Some(place) => {
            let seen = &case.observations[place];
            let asks = circuit
                .signs
                .iter()
                .find(|sign| sign.id == seen.sign)
                .map_or(seen.sign.as_str(), |sign| sign.asks.as_str());
            format!("{}: {asks} {}", seen.id, if seen.present { "Yes" } else { "No" })
        }
    }
}

/// What rose and what fell most.
fn moved(suspects: &[WaterfallSuspect], before: Option<&Vec<f64>>, after: &[f64]) -> String {
    let Some(before) = before else {
        return "As often as each is found on such a call.".into();
    };
    let by = |sign: f64| {
        (0..after.len())
            .map(|place| (sign * (after[place] - before[place]), place))
            .fold(
                (MOVED_MIN, None),
                |most, (by, place)| {
                    if by > most.0 { (by, Some(place)) } else { most }
                },
            )
            .1
    };
    let told = |place: usize, verb: &str| {
        format!(
            "{} {verb} from {} to {} of 100",
            suspects[place].label,
            sentences::in_100(before[place]),
            sentences::in_100(after[place])
        )
    };
    let parts: Vec<String> = by(1.0)
        .map(|place| told(place, "rises"))
        .into_iter()
        .chain(by(-1.0).map(|place| told(place, "falls")))
        .collect();
    if parts.is_empty() {
        return "It moves nothing.".into();
    }
    format!("{}.", sentences::capital(&parts.join(", ")))
}
