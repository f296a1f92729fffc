//! From a case to a verdict.
//!
//! Belongs here: the order of the steps and the rules of the outcome. Does not belong here:
//! each step's own work, which has a module of its own.

mod digest;
mod doubt;
mod expected;
mod explained;
mod fit;
mod outcome;
mod told;

use crate::case::Case;
use crate::checks::{self, Checked};
use crate::circuit::{Circuit, Effect};
use crate::circuit_file;
use crate::likelihood::Mistakes;
use crate::model::Model;
use crate::next_test::{self, Known, Remains, plan};
use crate::policy::Policy;
use crate::posterior::Weighed;
use crate::predict::many::Work;
use crate::problem::{Problem, Problems};
use crate::sentences::{self, Headline};
use crate::shares::{ModeOf, Shares, all_modes};
use crate::validate;
use crate::verdict::plan::{PLAN_FORMAT, PlanStep, TestPlan};
use crate::verdict::{
    CheckResult, CircuitUsed, ClaimJudged, Excluded, NextTest, Outcome, Owed, Suspect,
    VERDICT_FORMAT, Verdict,
};
use digest::{evidence_digest, sha256_hex};
use expected::Expected;
use explained::{Less, id_of};
use outcome::{Facts, outcome, touching_best, touching_mate};
use told::{component_shares, considered, excluded, readings_judged, suspects};

/// Suspects below this share are no news in a sentence.
const LISTED_SHARE_MIN: f64 = 0.01;
/// Where conductors that touch would explain as well, tests are looked for as if they held this.
const MATE_SHARE: f64 = 0.5;

/// Version of the engine; part of every evidence digest.
pub const ENGINE_VERSION: &str = env!("CARGO_PKG_VERSION");
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
    Ok(judge(case, &circuit, &text, Ahead::NextTests).verdict)
}

/// The whole plan of tests from where a case stands: what to do after which answer.
///
/// ```
/// let case: engine::case::Case = serde_json::from_str(
///     r#"{"format": 1, "circuit": "compressor-1ph-plug"}"#).unwrap();
/// let plan = engine::plan_of_tests(&case).unwrap();
/// assert_eq!(plan.steps[0].number, 1);
/// ```
///
/// # Errors
/// Everything that is wrong with the case or its circuit file, each with its place.
pub fn plan_of_tests(case: &Case) -> Result<TestPlan, Problems> {
    let (circuit, text) = circuit_of(case)?;
    let problems = validate::problems(case, &circuit);
    if !problems.is_empty() {
        return Err(Problems { problems });
    }
    let Judged { verdict, steps, exact, .. } = judge(case, &circuit, &text, Ahead::Plan);
    let (expected_min, longest_min) = plan::minutes(&steps);
    let tenth = |minutes: f64| (minutes * 10.0).round() / 10.0;
    Ok(TestPlan {
        format: PLAN_FORMAT,
        circuit: verdict.circuit.title,
        evidence_digest: verdict.evidence_digest,
        outcome: verdict.outcome,
        sentence: verdict.sentence,
        expected_min: tenth(expected_min),
        longest_min: tenth(longest_min),
        exact,
        steps,
    })
}

/// What is worked out beside the verdict proper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ahead {
    /// Nothing.
    Nothing,
    /// The best next tests.
    NextTests,
    /// The whole plan, in place of the next tests.
    Plan,
}

/// A judgement and what it took.
pub(crate) struct Judged {
    pub(crate) verdict: Verdict,
    /// The plan's steps, where it was asked for, and whether they are exact.
    steps: Vec<PlanStep>,
    exact: bool,
    pub(crate) work: Work,
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

/// Judges a valid case.
pub(crate) fn judge(case: &Case, circuit: &Circuit, circuit_text: &str, ahead: Ahead) -> Judged {
    let policy = case.policy.clone().unwrap_or_default();
    let model = Model::new(circuit, &case.specs).with_rates(case.rates.as_ref());
    let mut weighed = Weighed::new(
        &model,
        &case.readings,
        &case.observations,
        Mistakes::usual(policy.mistake_rate),
        policy.unknown_rate,
    );
    let mut checked = checks::run(circuit, case);
    let expected = Expected::of_leading(&weighed);
    let fit = fit::fit(&model, &weighed.prepared, &case.readings, &expected, policy.mistake_rate);
    checked.checks.extend(fit.check(case));
    let claimed = case.claim.as_ref().and_then(|claim| {
        circuit.components.iter().position(|component| component.id == claim.component)
    });
    let shares = Shares::of(&weighed, &weighed.posterior, claimed);
    // Without a claim the leading component is judged as if it were claimed.
    let judged = claimed.or_else(|| shares.leading());
    if let Some(component) = judged {
        let mechanical = by_mechanism(&model, &shares, component, &claimed_modes(&model, case));
        checks::supply::first(
            circuit,
            case,
            &circuit.components[component].id,
            mechanical,
            &mut checked,
        );
    }
    let less = explained::less_each(&mut weighed, judged, claimed);
    let leave_one_out = judged.and_then(|_| leave_one_out(&less));
    let explained = explained::explained(&mut weighed, &shares, case, judged, claimed, &less);
    let suspects = suspects(&weighed, &shares);
    let excluded = excluded(&weighed, &shares, case);
    let mistaken = weighed.mistaken_shares();
    let doubted = doubt::doubted(case, &weighed.prepared, &mistaken);
    let mut retake = doubt::retakes(case, circuit, &checked, &doubted);
    for more in fit.retakes(&weighed, case) {
        if !retake.iter().any(|known| known.reading == more.reading) {
            retake.push(more);
        }
    }
    let owed = owed(case, &checked);
    let facts = Facts {
        policy: &policy,
        weighed: &weighed,
        shares: &shares,
        claimed_modes: claimed_modes(&model, case),
        component: judged,
        has_claim: claimed.is_some(),
        leave_one_out: leave_one_out.map(|(share, piece)| (share, id_of(case, piece))),
        checked: &checked,
        owed: &owed,
        doubted: doubted.iter().filter(|doubted| **doubted).count(),
        fits: !fit.is_refused(),
    };
    let (outcome, reasons) = outcome(&facts);
    let touching = judged.and_then(|component| touching_mate(&facts, component));
    let claim = claim_judged(case, &facts, leave_one_out.as_ref());
    let mut because = because(&facts, outcome, &reasons, &suspects, &excluded);
    let component_share = judged.map_or(0.0, |component| shares.components[component]);
    let mut work = weighed.work;
    // Where all is told but for one piece on which it leans, that is what is looked for again.
    let leaning = leave_one_out.filter(|(share, _)| *share < policy.leave_one_out_min);
    let only_leans = outcome == Outcome::NotIsolated
        && ahead == Ahead::NextTests
        && retake.is_empty()
        && owed.iter().all(|owed| owed.sign.is_none())
        && judged.is_some_and(|component| holds_alone(&shares, component, &policy));
    let confirmed_by = match leaning {
        Some((_, piece)) if only_leans => {
            Some(confirming(&mut weighed, piece, case, &policy, claimed, &mut work))
        }
        _ => None,
    };
    let known = Known {
        weighed: &weighed,
        shares: &shares,
        case,
        policy: &policy,
        claimed,
        outcome,
        retake: &retake,
        owed: &owed,
        checks: &checked.checks,
    };
    let (mut next_tests, remains) = match (ahead, confirmed_by) {
        (Ahead::NextTests, Some((tests, false))) => (tests, Remains::Tests),
        (Ahead::NextTests, _) => next_test::best(&known, &mut work),
        (Ahead::Nothing | Ahead::Plan, _) => (Vec::new(), Remains::NothingTells),
    };
    let mut nothing_left = remains.is_nothing();
    let sheet = next_test::sheet::sheet(&known);
    let (steps, exact) = match ahead {
        Ahead::Plan => plan::steps(&known, &mut work),
        Ahead::Nothing | Ahead::NextTests => (Vec::new(), false),
    };
    if ahead == Ahead::NextTests
        && remains == Remains::NothingTells
        && outcome == Outcome::NotIsolated
    {
        // Where it only leans this was looked for first, and nothing was found.
        if let (false, Some((_, piece))) = (only_leans, leaning) {
            (next_tests, nothing_left) =
                confirming(&mut weighed, piece, case, &policy, claimed, &mut work);
        }
        if let (true, Some((_, piece))) = (nothing_left, leaning)
            && let Some(reading) = case.readings.get(piece)
            && doubt::times_taken(&weighed.prepared, piece) < doubt::BORNE_OUT_BY
        {
            next_tests.extend(next_test::once_more(circuit, case, reading));
            nothing_left = next_tests.is_empty();
        }
        if let (true, Some((mate, _))) = (nothing_left, touching) {
            (next_tests, nothing_left) = weighed.as_if(mate, MATE_SHARE, |supposed| {
                telling_apart(supposed, case, &policy, claimed, &mut work)
            });
        }
    }
    // Beside what can be read; before it where the claim itself needs the maker's value.
    if ahead == Ahead::NextTests
        && outcome == Outcome::NotIsolated
        && retake.is_empty()
        && owed.iter().all(|owed| owed.sign.is_none())
        && let Some(sheet) = sheet
    {
        next_tests.truncate(next_test::TESTS_MAX - 1);
        let of_claim = claimed_modes(&model, case);
        let first = of_claim.len() == 1
            && of_claim.iter().any(|mode| {
                let part = &circuit.parts[mode.part];
                part.modes[mode.mode].effect == Effect::Fraction && sheet.sheet.contains(&part.id)
            });
        next_tests.insert(if first { 0 } else { next_tests.len() }, sheet);
        nothing_left = false;
    }
    if let Some(test) = next_tests.first() {
        because.push(format!(
            "What would {}: {}{} {} min.",
            if remains == Remains::OnlyTells { "tell more" } else { "settle it" },
            test.title,
            // A question keeps its mark.
            if test.sign.is_some() { " About" } else { "," },
            test.minutes.round()
        ));
    } else if remains == Remains::NothingSettles && !is_certain(&shares, &policy) {
        because.push(
            "Nothing left to read could isolate a component, or show for certain whether anything is wrong."
                .into(),
        );
    }
    let sentence = sentences::headline(&Headline {
        outcome,
        claim: claim.as_ref().map_or("", |claim| claim.label.as_str()),
        component: judged.map_or("", |component| circuit.components[component].label.as_str()),
        component_share,
        claimed: claimed.is_some(),
        suspects: &suspects,
        sound_share: shares.sound,
        passing_share: shares.passing,
        touching: touching_best(&weighed, &shares),
        certain: policy.isolated_min,
        checks: &checked.checks,
        owed: owed.first().map(|owed| owed.says.as_str()),
        retake: retake.first().map(|retake| retake.says.as_str()),
    });
    let circuit_digest = sha256_hex(circuit_text.as_bytes());
    let verdict = Verdict {
        format: VERDICT_FORMAT,
        engine: ENGINE_VERSION.to_owned(),
        evidence_digest: evidence_digest(case, &policy, &circuit_digest),
        circuit: CircuitUsed {
            name: circuit.name.clone(),
            title: circuit.title.clone(),
            digest: circuit_digest,
        },
        outcome,
        sentence,
        because,
        claim,
        components: component_shares(circuit, &shares, claimed),
        suspects,
        excluded,
        explained: Some(explained),
        checks: checked.checks,
        owed,
        retake,
        next_tests,
        nothing_left,
        readings: readings_judged(&weighed, case, &expected, &mistaken),
        considered: considered(&weighed, &shares, policy.clone(), case.rates.as_ref()),
    };
    Judged { verdict, steps, exact, work }
}

/// Whether a component is judged by a mechanism of its own: the claim names one, or names no fault
/// and one leads.
fn by_mechanism(model: &Model<'_>, shares: &Shares, component: usize, claimed: &[ModeOf]) -> bool {
    let effect = |mode: &ModeOf| model.circuit.parts[mode.part].modes[mode.mode].effect;
    if let [only] = claimed {
        return effect(only) == Effect::Mechanical;
    }
    model
        .listed()
        .filter(|fault| fault.component == component && !fault.passing)
        .map(|fault| ModeOf { part: fault.part, mode: fault.mode })
        .max_by(|a, b| {
            let share = |mode| shares.modes.get(mode).copied().unwrap_or(0.0);
            share(a).total_cmp(&share(b)).then(b.cmp(a))
        })
        .is_some_and(|mode| effect(&mode) == Effect::Mechanical)
}

/// Whether a component holds what is required and no other more than is allowed.
fn holds_alone(shares: &Shares, component: usize, policy: &Policy) -> bool {
    let mut others = shares.components.iter().enumerate().filter(|(other, _)| *other != component);
    shares.components[component] >= policy.isolated_min
        && others.all(|(_, share)| *share <= policy.rival_max)
}

/// Whether it is certain that nothing is to be replaced, or that it is conductors that touch.
fn is_certain(shares: &Shares, policy: &Policy) -> bool {
    shares.sound + shares.passing >= policy.isolated_min || shares.touching >= policy.isolated_min
}

/// The tests that would tell if the piece that a judgement leans on were wrong: what it has shown
/// is looked for again by other readings.
fn confirming(
    weighed: &mut Weighed<'_, '_>,
    piece: usize,
    case: &Case,
    policy: &Policy,
    claimed: Option<usize>,
    work: &mut Work,
) -> (Vec<NextTest>, bool) {
    weighed.without(piece, |less| telling_apart(less, case, policy, claimed, work))
}

/// The best tests of a posterior other than the verdict's own.
fn telling_apart(
    supposed: &Weighed<'_, '_>,
    case: &Case,
    policy: &Policy,
    claimed: Option<usize>,
    work: &mut Work,
) -> (Vec<NextTest>, bool) {
    let known = Known {
        weighed: supposed,
        shares: &Shares::of(supposed, &supposed.posterior, claimed),
        case,
        policy,
        claimed,
        outcome: Outcome::NotIsolated,
        retake: &[],
        owed: &[],
        checks: &[],
    };
    let (tests, remains) = next_test::best(&known, work);
    (tests, remains.is_nothing())
}

/// The lowest share of the judged component with any one reading or observation left out, and
/// which that is.
fn leave_one_out(less: &[Less]) -> Option<(f64, usize)> {
    less.iter()
        .map(|less| (less.share, less.piece))
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
}

/// The fault modes that a claim names: exactly, of the part, or of the whole component.
fn claimed_modes(model: &Model<'_>, case: &Case) -> Vec<ModeOf> {
    let Some(claim) = &case.claim else {
        return Vec::new();
    };
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
        leans_on: leave_one_out.map(|(_, piece)| id_of(case, *piece).to_owned()),
    })
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
            .enumerate()
            .take_while(|(place, suspect)| *place < 2 || suspect.share >= LISTED_SHARE_MIN)
            .map(|(_, suspect)| format!("{} {}", sentences::in_100(suspect.share), suspect.label))
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

/// Six decimals: enough to compare, few enough that the last bits do not show.
pub(crate) fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}
