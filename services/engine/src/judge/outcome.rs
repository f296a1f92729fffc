//! The rules of the outcome, in order.
//!
//! Belongs here: when a verdict is isolated, not isolated, contradicted, inconsistent or
//! incomplete, and the reasons. Does not belong here: gathering the facts ([`super`]).

use crate::checks::Checked;
use crate::model::{Fault, Origin};
use crate::policy::Policy;
use crate::posterior::{Kind, Weighed};
use crate::sentences;
use crate::shares::{ModeOf, Shares, best_size, modes_and_firsts};
use crate::verdict::{CheckResult, Outcome, Owed};

/// A rival fault that explains the evidence at least half as well cannot be told apart.
const MATE_RATIO: f64 = 0.5;
/// Conductors that touch explain the evidence too when they keep this much of the best's
/// likelihood: through how many ohm they touch is known of neither.
const TOUCHING_RATIO: f64 = 0.1;
/// Conductors that touch are told of beside a component's share from here on.
const TOUCHING_TOLD_MIN: f64 = 0.01;
/// A reading more likely wrong than right is to be retaken.
pub(super) const MISTAKEN_MIN: f64 = 0.5;
/// Above this the circuit knows no explanation.
const UNKNOWN_MAX: f64 = 0.5;

/// What the rules look at.
pub(super) struct Facts<'a, 'm, 'c> {
    pub(super) policy: &'a Policy,
    pub(super) weighed: &'a Weighed<'m, 'c>,
    pub(super) shares: &'a Shares,
    pub(super) claimed_modes: Vec<ModeOf>,
    pub(super) component: Option<usize>,
    pub(super) has_claim: bool,
    /// The lowest share with one piece of evidence left out, and the identifier of that piece.
    pub(super) leave_one_out: Option<(f64, &'a str)>,
    pub(super) checked: &'a Checked,
    pub(super) owed: &'a [Owed],
    /// Readings more likely wrong than right that no others have outvoted.
    pub(super) doubted: usize,
    /// Whether the best explanation really fits.
    pub(super) fits: bool,
}

impl Facts<'_, '_, '_> {
    /// Log likelihood of the best single explanation, a sound circuit included.
    fn best_single(&self) -> f64 {
        self.weighed
            .hypotheses
            .all
            .iter()
            .zip(&self.weighed.log_likelihood)
            .filter(|(hypothesis, _)| matches!(hypothesis.kind, Kind::Sound | Kind::Single(_)))
            .map(|(_, log)| *log)
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Log likelihood of the best of some fault modes, each alone.
    fn best_of(&self, modes: &[ModeOf]) -> f64 {
        modes
            .iter()
            .map(|&mode| self.weighed.log_likelihood[best_size(self.weighed, mode)])
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The rules of the outcome, in order, with the reasons that kept it from being isolated.
pub(super) fn outcome(facts: &Facts<'_, '_, '_>) -> (Outcome, Vec<String>) {
    let used = facts.weighed.prepared.iter().filter(|prepared| prepared.is_used()).count();
    if facts.checked.inconsistent {
        return (Outcome::Inconsistent, Vec::new());
    }
    // Conductors that touch explain the readings; they are no doubt about them.
    if facts.shares.unknown_else() > UNKNOWN_MAX || facts.doubted >= 2 || !facts.fits {
        return (Outcome::Inconsistent, Vec::new());
    }
    // A question about the pins' labels puts every name in doubt: it comes before all else.
    let asks = facts
        .checked
        .checks
        .iter()
        .any(|check| check.id == "winding_sum" && check.result == CheckResult::Asks);
    if asks || used == 0 {
        return (Outcome::Incomplete, Vec::new());
    }
    if facts.has_claim && contradicted(facts) {
        return (Outcome::Contradicted, Vec::new());
    }
    let reasons = not_isolated_reasons(facts);
    let outcome = match (reasons.is_empty(), facts.owed.is_empty()) {
        (true, true) => Outcome::Isolated,
        (true, false) => Outcome::Incomplete,
        (false, _) => Outcome::NotIsolated,
    };
    (outcome, reasons)
}

/// The claimed fault holds next to nothing, and it is the evidence that took it away.
fn contradicted(facts: &Facts<'_, '_, '_>) -> bool {
    let share: f64 =
        facts.claimed_modes.iter().filter_map(|mode| facts.shares.modes.get(mode)).sum();
    let ratio = (facts.best_of(&facts.claimed_modes) - facts.best_single()).exp();
    // Another part of the same component may be what failed: that condemns it all the same.
    let component_isolated = facts
        .component
        .is_some_and(|component| facts.shares.components[component] >= facts.policy.isolated_min);
    share <= facts.policy.contradicted_max && ratio <= 0.25 && !component_isolated
}

fn not_isolated_reasons(facts: &Facts<'_, '_, '_>) -> Vec<String> {
    let mut reasons = Vec::new();
    let circuit = facts.weighed.model.circuit;
    let Some(component) = facts.component else {
        return vec!["Nothing is suspected.".into()];
    };
    let label = &circuit.components[component].label;
    let share = facts.shares.components[component];
    if share < facts.policy.isolated_min {
        reasons.push(format!(
            "The {label} holds {}{}; {} is required.",
            below(share, facts.policy.isolated_min),
            beside(facts, component),
            sentences::of_100(facts.policy.isolated_min)
        ));
    }
    for (rival, &rival_share) in facts.shares.components.iter().enumerate() {
        if rival != component && rival_share > facts.policy.rival_max {
            reasons.push(format!(
                "The {} still holds {}{}; no other may hold more than {}.",
                circuit.components[rival].label,
                sentences::of_100(rival_share),
                beside(facts, rival),
                sentences::of_100(facts.policy.rival_max)
            ));
        }
    }
    if let Some((without, piece)) = facts.leave_one_out
        && without < facts.policy.leave_one_out_min
        && share >= facts.policy.isolated_min
    {
        reasons.push(format!(
            "It leans on {piece} alone: without it the {label} holds {}; {} is required.",
            below(without, facts.policy.leave_one_out_min),
            sentences::of_100(facts.policy.leave_one_out_min)
        ));
    }
    if facts.doubted > 0 {
        reasons.push("One reading does not fit the others and must be taken again.".into());
    }
    let mate = ambiguity_mate(facts, component);
    if let Some(mate) = mate.or_else(|| touching_mate(facts, component).map(|(_, says)| says)) {
        reasons.push(format!("No reading so far tells it apart from {mate}."));
    }
    reasons
}

/// What a component is said to hold beside what the gate goes by; nothing where that is next to
/// nothing.
fn beside(facts: &Facts<'_, '_, '_>, component: usize) -> String {
    let touching = facts.shares.touching_of[component];
    if touching < TOUCHING_TOLD_MIN {
        return String::new();
    }
    format!(", beside {} for conductors that touch", sentences::of_100(touching))
}

/// A share that falls short, so that rounding does not make it look as if it did not.
fn below(share: f64, wanted: f64) -> String {
    let (share, wanted) = (sentences::of_100(share), sentences::of_100(wanted));
    if share == wanted { format!("just under {share}") } else { share }
}

/// A fault of another component that explains the evidence as well as the best of this one.
fn ambiguity_mate(facts: &Facts<'_, '_, '_>, component: usize) -> Option<String> {
    let model = facts.weighed.model;
    let enough = best_that_condemns(facts, component) + MATE_RATIO.ln();
    modes_and_firsts(model)
        .into_iter()
        .map(|(mode, first)| (mode, &model.faults[first]))
        .filter(|(_, fault)| fault.condemns.is_some_and(|condemned| condemned != component))
        .find(|(mode, _)| facts.best_of(&[*mode]) >= enough)
        .map(|(_, fault)| model.fault_label(fault))
}

/// Log likelihood of the best fault, alone, that condemns a component.
fn best_that_condemns(facts: &Facts<'_, '_, '_>, component: usize) -> f64 {
    alone(facts)
        .filter(|(_, fault)| fault.condemns == Some(component))
        .map(|(index, _)| facts.weighed.log_likelihood[index])
        .fold(f64::NEG_INFINITY, f64::max)
}

/// The faults alone, each with the index of its hypothesis.
fn alone<'f>(facts: &'f Facts<'_, '_, '_>) -> impl Iterator<Item = (usize, &'f Fault)> {
    let model = facts.weighed.model;
    facts.weighed.hypotheses.all.iter().enumerate().filter_map(|(index, one)| match one.kind {
        Kind::Single(fault) => Some((index, &model.faults[fault])),
        Kind::Sound | Kind::Double(..) | Kind::Unknown => None,
    })
}

/// Conductors of another component that may touch, and so explain the evidence as well as the best
/// of this one: the hypothesis, and its words.
pub(super) fn touching_mate(
    facts: &Facts<'_, '_, '_>,
    component: usize,
) -> Option<(usize, String)> {
    let log = &facts.weighed.log_likelihood;
    let enough = best_that_condemns(facts, component) + TOUCHING_RATIO.ln();
    let (index, fault) = alone(facts)
        .filter(|(_, fault)| fault.origin == Origin::Touches && fault.component != component)
        .filter(|(index, _)| log[*index] >= enough)
        .max_by(|(a, _), (b, _)| log[*a].total_cmp(&log[*b]).then(b.cmp(a)))?;
    let pair = pair(facts.weighed, fault)?;
    Some((index, format!("{pair} touching each other")))
}

/// The conductors that likeliest touch, and the share of all that may, where these explain the
/// evidence better than all else.
pub(super) fn touching_best(weighed: &Weighed<'_, '_>, shares: &Shares) -> Option<(String, f64)> {
    if shares.touching <= 0.5 {
        return None;
    }
    let touch = |index: usize| match weighed.hypotheses.all[index].kind {
        Kind::Single(fault) => {
            Some(&weighed.model.faults[fault]).filter(|fault| fault.origin == Origin::Touches)
        }
        Kind::Sound | Kind::Double(..) | Kind::Unknown => None,
    };
    let posterior = &weighed.posterior;
    let best = (0..posterior.len())
        .filter(|&index| touch(index).is_some())
        .max_by(|&a, &b| posterior[a].total_cmp(&posterior[b]).then(b.cmp(&a)))?;
    Some((pair(weighed, touch(best)?)?, shares.touching))
}

/// "plug, hot and plug, neutral".
fn pair(weighed: &Weighed<'_, '_>, fault: &Fault) -> Option<String> {
    let [a, b] = fault.joins?;
    let label = |point: usize| weighed.model.circuit.points[point].label.as_str();
    Some(format!("{} and {}", label(a), label(b)))
}
