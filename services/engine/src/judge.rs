//! From a case to a verdict.
//!
//! Belongs here: the order of the steps and the rules of the outcome. Does not belong here:
//! each step's own work, which has a module of its own.

mod outcome;

use sha2::{Digest, Sha256};

use crate::case::Case;
use crate::checks::{self, Checked};
use crate::circuit::Circuit;
use crate::circuit_file;
use crate::likelihood::{Mistakes, Prepared};
use crate::meter;
use crate::model::Model;
use crate::next_test;
use crate::policy::Policy;
use crate::posterior::{Kind, Weighed, faults_of};
use crate::predict::Setup;
use crate::predict::many::{Supposed, Work, predict_many};
use crate::problem::{Problem, Problems};
use crate::sentences::{self, Headline};
use crate::shares::{ModeOf, Shares, all_modes, best_by_evidence, best_size, excluded_by};
use crate::validate;
use crate::verdict::{
    CheckResult, CircuitUsed, ClaimJudged, ComponentShare, Considered, Excluded, Outcome, Owed,
    ReadingJudged, Retake, Suspect, VERDICT_FORMAT, Verdict,
};
use outcome::{Facts, MISTAKEN_MIN, outcome};

/// Version of the engine; part of every evidence digest.
pub const ENGINE_VERSION: &str = env!("CARGO_PKG_VERSION");
/// Suspects below this share are not listed.
const SUSPECT_SHARE_MIN: f64 = 0.005;
/// A fault is excluded when the evidence is this much less likely under it than under the
/// best single explanation.
const EXCLUDED_RATIO: f64 = 0.05;

/// Judges a case.
///
/// ```
/// let case: engine::case::Case = serde_json::from_str(r#"{
///     "format": 1, "circuit": "compressor-1ph-plug",
///     "claim": {"component": "compressor", "part": "run_winding", "mode": "open"},
///     "readings": [{"id": "r1", "quantity": "resistance", "from": "T1", "to": "T2",
///                   "power": "off", "shown": {"is": "over_limit"}}]
/// }"#).unwrap();
/// assert_eq!(engine::check(&case).unwrap().outcome, engine::verdict::Outcome::NotIsolated);
///
/// let unknown = engine::case::Case { circuit: "no-such".into(), ..case };
/// assert!(engine::check(&unknown).unwrap_err().to_string().contains("no-such"));
/// ```
///
/// # Errors
/// Everything that is wrong with the case or its circuit file, each with its place.
pub fn check(case: &Case) -> Result<Verdict, Problems> {
    let (circuit, text) = circuit_of(case)?;
    let problems = validate::problems(case, &circuit);
    if !problems.is_empty() {
        return Err(Problems { problems });
    }
    Ok(judge(case, &circuit, &text, true).0)
}

/// The circuit that a case names or carries, and its text.
///
/// # Errors
/// An unknown name, or what is wrong with the text.
pub fn circuit_of(case: &Case) -> Result<(Circuit, String), Problems> {
    match &case.circuit_text {
        Some(text) => {
            let circuit = circuit_file::parse(&format!("{}.toml", case.circuit), text)?;
            if circuit.name != case.circuit {
                return Err(Problem::new(
                    "/circuit",
                    format!(
                        "the case names the circuit \"{}\", its text calls itself \"{}\"; they must agree",
                        case.circuit, circuit.name
                    ),
                )
                .into());
            }
            Ok((circuit, text.clone()))
        }
        None => {
            let shipped = circuit_file::shipped();
            let found = shipped.iter().find(|shipped| shipped.name == case.circuit);
            let found = found.ok_or_else(|| {
                let names: Vec<&str> = shipped.iter().map(|shipped| shipped.name).collect();
                Problem::new(
                    "/circuit",
                    format!(
                        "no circuit \"{}\" ships with this engine; there are {}; another goes whole into circuit_text",
                        case.circuit,
                        names.join(", ")
                    ),
                )
            })?;
            let circuit = circuit_file::parse(&format!("{}.toml", found.name), found.text)?;
            Ok((circuit, found.text.to_owned()))
        }
    }
}

/// SHA-256 (hex) over everything that a judgement depends on, as canonical JSON (RFC 8785).
fn evidence_digest(case: &Case, policy: &Policy, circuit_text: &str) -> String {
    let body = serde_json::json!({
        "engine": ENGINE_VERSION,
        "circuit": case.circuit,
        "circuit_sha256": sha256_hex(circuit_text.as_bytes()),
        "specs": case.specs,
        "claim": case.claim,
        "readings": case.readings,
        "observations": case.observations,
        "policy": policy,
    });
    // Validated input has finite numbers and string keys only, the two things that could fail.
    let canonical = serde_json_canonicalizer::to_vec(&body).unwrap_or_default();
    sha256_hex(&canonical)
}

fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Judges a valid case; without `wanted` no next tests are looked for.
pub(crate) fn judge(
    case: &Case,
    circuit: &Circuit,
    circuit_text: &str,
    wanted: bool,
) -> (Verdict, Work) {
    let policy = case.policy.clone().unwrap_or_default();
    let model = Model::new(circuit, &case.specs);
    let mut weighed = Weighed::new(
        &model,
        &case.readings,
        &case.observations,
        Mistakes::usual(policy.mistake_rate),
        policy.unknown_rate,
    );
    let checked = checks::run(circuit, case);
    let claimed = case.claim.as_ref().and_then(|claim| {
        circuit.components.iter().position(|component| component.id == claim.component)
    });
    let shares = Shares::of(&weighed, &weighed.posterior, claimed);
    // Without a claim the leading component is judged as if it were claimed.
    let judged = claimed.or_else(|| shares.leading());
    let leave_one_out =
        judged.and_then(|component| leave_one_out(&mut weighed, component, claimed));
    let suspects = suspects(&weighed, &shares);
    let excluded = excluded(&weighed, &shares, case);
    let mistaken: Vec<f64> =
        (0..case.readings.len()).map(|reading| weighed.mistaken_share(reading)).collect();
    let retake = retakes(case, circuit, &checked, &mistaken);
    let owed = owed(case, &checked);
    let facts = Facts {
        policy: &policy,
        weighed: &weighed,
        shares: &shares,
        claimed_modes: claimed_modes(&model, case),
        component: judged,
        has_claim: claimed.is_some(),
        leave_one_out: leave_one_out.as_ref().map(|(share, _)| *share),
        checked: &checked,
        owed: &owed,
        mistaken: &mistaken,
    };
    let (outcome, reasons) = outcome(&facts);
    let claim = claim_judged(case, &facts, leave_one_out.as_ref());
    let component_share = judged.map_or(0.0, |component| shares.components[component]);
    let mut work = weighed.work;
    let (next_tests, nothing_left) = if wanted {
        next_test::best(&weighed, &shares, case, claimed, outcome, &retake, &owed, &mut work)
    } else {
        (Vec::new(), true)
    };
    let because = because(&facts, outcome, &reasons, &suspects, &excluded, &next_tests);
    let sentence = sentences::headline(&Headline {
        outcome,
        claim: claim.as_ref().map_or("", |claim| claim.label.as_str()),
        component: judged.map_or("", |component| circuit.components[component].label.as_str()),
        component_share,
        claimed: claimed.is_some(),
        suspects: &suspects,
        sound_share: shares.sound,
        checks: &checked.checks,
        owed: owed.first().map(|owed| owed.says.as_str()),
        retake: retake.first().map(|retake| retake.says.as_str()),
    });
    let verdict = Verdict {
        format: VERDICT_FORMAT,
        engine: ENGINE_VERSION.to_owned(),
        circuit: CircuitUsed {
            name: circuit.name.clone(),
            title: circuit.title.clone(),
            digest: sha256_hex(circuit_text.as_bytes()),
        },
        evidence_digest: evidence_digest(case, &policy, circuit_text),
        outcome,
        sentence,
        because,
        claim,
        components: component_shares(circuit, &shares, claimed),
        suspects,
        excluded,
        checks: checked.checks,
        owed,
        retake,
        next_tests,
        nothing_left,
        readings: readings_judged(&weighed, case, &mistaken),
        considered: considered(&weighed, &shares, policy.clone()),
    };
    (verdict, work)
}

/// The lowest share of a component with any one reading or observation left out, and which
/// that is: readings first, then observations. A sign can be mistaken too.
fn leave_one_out(
    weighed: &mut Weighed<'_, '_>,
    component: usize,
    claimed: Option<usize>,
) -> Option<(f64, usize)> {
    (0..weighed.prepared.len() + weighed.sign_cells.len())
        .filter(|&piece| weighed.prepared.get(piece).is_none_or(Prepared::is_used))
        .collect::<Vec<_>>()
        .into_iter()
        .map(|piece| {
            let share =
                weighed.without(piece, |less| Shares::of_component(less, claimed, component));
            (share, piece)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
}

/// The fault modes that a claim names: exactly, of the part, or of the whole component.
fn claimed_modes(model: &Model<'_>, case: &Case) -> Vec<ModeOf> {
    let Some(claim) = &case.claim else { return Vec::new() };
    all_modes(model)
        .into_iter()
        .filter(|mode| {
            let part = &model.circuit.parts[mode.part];
            let spec = &part.modes[mode.mode];
            part.component == claim.component
                && !spec.passing
                && claim.part.as_ref().is_none_or(|id| part.id == *id)
                && claim.mode.as_ref().is_none_or(|id| spec.id == *id)
        })
        .collect()
}

fn claim_judged(
    case: &Case,
    facts: &Facts<'_, '_, '_>,
    leave_one_out: Option<&(f64, usize)>,
) -> Option<ClaimJudged> {
    let claim = case.claim.as_ref()?;
    let circuit = facts.weighed.model.circuit;
    let component = circuit.components.iter().find(|known| known.id == claim.component)?;
    let part = claim.part.as_ref().and_then(|id| circuit.parts.iter().find(|p| p.id == *id));
    let mode = claim
        .mode
        .as_ref()
        .and_then(|id| part.and_then(|part| part.modes.iter().find(|mode| mode.id == *id)));
    let label = match (part, mode) {
        (Some(part), Some(mode)) => format!("{} {}", part.label, mode.label),
        (Some(part), None) => format!("{} failed", part.label),
        _ => format!("{} failed", component.label),
    };
    let share: f64 =
        facts.claimed_modes.iter().filter_map(|mode| facts.shares.modes.get(mode)).sum();
    Some(ClaimJudged {
        component: claim.component.clone(),
        part: claim.part.clone(),
        mode: claim.mode.clone(),
        label,
        share: rounded(share),
        component_share: rounded(
            facts.component.map_or(0.0, |component| facts.shares.components[component]),
        ),
        leave_one_out_share: leave_one_out.map(|(share, _)| rounded(*share)),
        leans_on: leave_one_out.map(|(_, piece)| match piece.checked_sub(case.readings.len()) {
            None => case.readings[*piece].id.clone(),
            Some(observation) => case.observations[observation].id.clone(),
        }),
    })
}

fn suspects(weighed: &Weighed<'_, '_>, shares: &Shares) -> Vec<Suspect> {
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
            let fault = model
                .faults
                .iter()
                .find(|fault| fault.part == mode.part && fault.mode == mode.mode)?;
            let part = &model.circuit.parts[mode.part];
            let not_told_apart_from = listed
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != place && same(explains[place], explains[*other]))
                .filter_map(|(_, (mode, _))| {
                    model.faults.iter().find(|f| f.part == mode.part && f.mode == mode.mode)
                })
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

fn excluded(weighed: &Weighed<'_, '_>, shares: &Shares, case: &Case) -> Vec<Excluded> {
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
            let fault = model.faults.iter().find(|f| f.part == mode.part && f.mode == mode.mode)?;
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

fn retakes(case: &Case, circuit: &Circuit, checked: &Checked, mistaken: &[f64]) -> Vec<Retake> {
    let mut retake = checked.retake.clone();
    for (reading, share) in case.readings.iter().zip(mistaken) {
        if *share > MISTAKEN_MIN && !retake.iter().any(|known| known.reading == reading.id) {
            retake.push(Retake {
                reading: reading.id.clone(),
                says: format!(
                    "Retake {} ({}): it does not fit the others. Check the pins touched and what was lifted, then strike the wrong one.",
                    reading.id,
                    sentences::reading(circuit, reading)
                ),
            });
        }
    }
    retake
}

fn owed(case: &Case, checked: &Checked) -> Vec<Owed> {
    let mut owed = checked.owed.clone();
    if case.readings.is_empty() {
        owed.push(Owed {
            check: "readings".into(),
            says: "Take a first reading; the tests below say where it tells most.".into(),
            sign: None,
        });
    }
    owed
}

fn because(
    facts: &Facts<'_, '_, '_>,
    outcome: Outcome,
    reasons: &[String],
    suspects: &[Suspect],
    excluded: &[Excluded],
    next_tests: &[crate::verdict::NextTest],
) -> Vec<String> {
    let mut because: Vec<String> = reasons.to_vec();
    for check in &facts.checked.checks {
        if matches!(check.result, CheckResult::Fail | CheckResult::Asks) {
            because.push(check.says.clone());
        }
    }
    // While the readings cannot all be right, or the pins are in doubt, shares say little.
    let in_doubt =
        facts.checked.inconsistent || facts.checked.owed.iter().any(|o| o.sign.is_some());
    if !in_doubt && suspects.len() >= 2 {
        let parts: Vec<String> = suspects
            .iter()
            .take(4)
            .map(|suspect| format!("{} {}", sentences::in_100(suspect.share), suspect.label))
            .collect();
        because.push(format!(
            "Of 100 jobs with these readings: {}.",
            sentences::joined(&parts, "and")
        ));
    }
    if outcome == Outcome::Isolated {
        because.extend(ruled_out(facts, excluded));
    }
    if facts.has_claim {
        for mode in &facts.claimed_modes {
            let part = &facts.weighed.model.circuit.parts[mode.part];
            let found = excluded
                .iter()
                .find(|known| known.part == part.id && known.mode == part.modes[mode.mode].id);
            if let Some(found) = found {
                because.push(format!(
                    "{} is excluded by {}.",
                    sentences::capital(&found.label),
                    sentences::joined(&found.by, "and")
                ));
            }
        }
    }
    if let Some(test) = next_tests.first() {
        because.push(format!(
            "What would settle it: {}, {} min.",
            test.title,
            test.minutes.round()
        ));
    }
    because
}

/// What took the other components out, most telling piece of evidence first.
fn ruled_out(facts: &Facts<'_, '_, '_>, excluded: &[Excluded]) -> Option<String> {
    let circuit = facts.weighed.model.circuit;
    let own = facts.component.map(|component| circuit.components[component].id.as_str());
    let mut by: Vec<&str> = Vec::new();
    for other in excluded.iter().filter(|other| Some(other.component.as_str()) != own) {
        for piece in other.by.iter().take(2) {
            if !by.contains(&piece.as_str()) {
                by.push(piece);
            }
        }
    }
    by.sort_unstable();
    (!by.is_empty())
        .then(|| format!("No other component explains {}.", sentences::joined(&by, "and")))
}

fn component_shares(
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
            share: shares.components[index],
            claimed: claimed == Some(index),
            replaceable: true,
        })
        .collect();
    for (id, label, share) in [
        ("passing_state", "a passing state (open because it is hot)", shares.passing),
        ("nothing_wrong", "nothing wrong", shares.sound),
        ("unknown_fault", "a fault that the circuit does not know", shares.unknown),
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

fn readings_judged(weighed: &Weighed<'_, '_>, case: &Case, mistaken: &[f64]) -> Vec<ReadingJudged> {
    let leading = (0..weighed.posterior.len())
        .filter(|&index| weighed.hypotheses.all[index].kind != Kind::Unknown)
        .max_by(|&a, &b| weighed.posterior[a].total_cmp(&weighed.posterior[b]).then(b.cmp(&a)))
        .unwrap_or(0);
    let leading = Supposed::of(&faults_of(weighed.model, weighed.hypotheses.all[leading].kind));
    let setups: Vec<&Setup> = weighed.prepared.iter().map(|prepared| &prepared.setup).collect();
    let suppositions = [Supposed::default(), leading];
    let mut work = Work::default();
    let expected = predict_many(weighed.model, &setups, &suppositions, weighed.scale, &mut work);
    case.readings
        .iter()
        .enumerate()
        .map(|(index, reading)| {
            let prepared = &weighed.prepared[index];
            let show = |predicted| {
                sentences::prediction(reading.quantity, predicted, prepared.meter.highest)
            };
            let expected = expected.of(index);
            let (meter_share, meter_says) = meter::below(reading).unzip();
            ReadingJudged {
                reading: reading.id.clone(),
                label: sentences::reading(weighed.model.circuit, reading),
                expected_sound: show(expected[0]),
                expected_leading: show(expected[1]),
                mistaken_share: rounded(mistaken[index]),
                used: prepared.is_used(),
                meter_share: meter_share.map(rounded),
                meter_says,
            }
        })
        .collect()
}

fn considered(weighed: &Weighed<'_, '_>, shares: &Shares, policy: Policy) -> Considered {
    let count = |wanted: fn(&Kind) -> bool| {
        weighed.hypotheses.all.iter().filter(|hypothesis| wanted(&hypothesis.kind)).count() as u32
    };
    Considered {
        hypotheses: weighed.hypotheses.all.len() as u32,
        singles: count(|kind| matches!(kind, Kind::Single(_))),
        doubles: count(|kind| matches!(kind, Kind::Double(..))),
        cut_off: rounded(weighed.hypotheses.cut_off),
        unknown_share: rounded(shares.unknown),
        policy,
    }
}

/// Six decimals: enough to compare, few enough that the last bits do not show.
pub(crate) fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}
