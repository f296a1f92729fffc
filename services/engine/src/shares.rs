//! Shares: a posterior told by component and by fault.
//!
//! Belongs here: adding up, and what each reading excluded. Does not belong here: thresholds
//! ([`crate::judge`]) and sentences ([`crate::sentences`]).

use std::collections::BTreeMap;

use crate::model::{Fault, Model, Origin};
use crate::posterior::{Kind, SHARE_MIN, UNKNOWN, Weighed, for_each_at_least, largest};

/// A fault mode, sizes taken together; in the order of the parts, and of the modes of each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ModeOf {
    pub(crate) part: usize,
    pub(crate) mode: usize,
}

/// Shares that add up to 1.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shares {
    /// By component index, of what the circuit lists: what the gate goes by.
    pub(crate) components: Vec<f64>,
    /// By component index, of conductors that touch: whose they are, half each where two own them.
    /// To renew them mends it, but who finds them looks and parts them first, so that they condemn
    /// nothing. Tried: to condemn one wiring's own once its wires were followed caught two points
    /// more in the condemnation trial, and brought its false condemnations over their limit.
    pub(crate) touching_of: Vec<f64>,
    /// By fault mode, passing states included.
    pub(crate) modes: BTreeMap<ModeOf, f64>,
    pub(crate) passing: f64,
    pub(crate) sound: f64,
    /// What no circuit lists, conductors that touch among it.
    pub(crate) unknown: f64,
    /// Conductors that touch.
    pub(crate) touching: f64,
}

impl Shares {
    /// Adds up a posterior; `claimed` is the condemned component.
    pub(crate) fn of(weighed: &Weighed<'_, '_>, posterior: &[f64], claimed: Option<usize>) -> Self {
        let (mut shares, by_mode) = Shares::added_up(weighed, posterior, claimed, SHARE_MIN);
        let told = by_mode.iter().zip(&weighed.model.faults).filter_map(|(share, fault)| {
            Some((ModeOf { part: fault.part, mode: fault.mode }, (*share)?))
        });
        shares.modes = told.collect();
        shares
    }

    /// The same without hypotheses below `least`: quicker, and good to as many of them times
    /// `least`. The modes are in a table of their own, by the first fault of each.
    pub(crate) fn added_up(
        weighed: &Weighed<'_, '_>,
        posterior: &[f64],
        claimed: Option<usize>,
        least: f64,
    ) -> (Self, Vec<Option<f64>>) {
        let model = weighed.model;
        let none = vec![0.0; model.circuit.components.len()];
        let mut shares =
            Shares { components: none.clone(), touching_of: none, ..Shares::default() };
        let mut by_mode: Vec<Option<f64>> = vec![None; model.faults.len()];
        for_each_at_least(posterior, least, |index, share| {
            match weighed.hypotheses.all[index].kind {
                Kind::Sound => shares.sound += share,
                Kind::Unknown => shares.unknown += share,
                Kind::Single(fault) => {
                    shares.add(&model.faults[fault], share, &mut by_mode);
                }
                Kind::Double(..) => {
                    for &(fault, weight) in &weighed.attribution(index, claimed) {
                        if weight != 0.0 {
                            shares.add(&model.faults[fault], share * weight, &mut by_mode);
                        }
                    }
                }
            }
        });
        (shares, by_mode)
    }

    /// Adds what is put down to one fault.
    #[inline]
    fn add(&mut self, fault: &Fault, share: f64, by_mode: &mut [Option<f64>]) {
        match fault.origin {
            Origin::Listed => {}
            Origin::Varies => {
                self.sound += share;
                return;
            }
            Origin::Touches => {
                self.unknown += share;
                self.touching += share;
                for owner in [fault.component, fault.other_component] {
                    self.touching_of[owner] += 0.5 * share;
                }
                return;
            }
        }
        *by_mode[fault.first_of_mode].get_or_insert(0.0) += share;
        if fault.passing {
            self.passing += share;
        } else {
            self.components[fault.component] += share;
        }
    }

    /// What a component holds in all, conductors that touch among it.
    pub(crate) fn in_all(&self, component: usize) -> f64 {
        self.components[component] + self.touching_of[component]
    }

    /// What no circuit lists, conductors that touch left out.
    pub(crate) fn unknown_else(&self) -> f64 {
        (self.unknown - self.touching).max(0.0)
    }

    /// The component with the largest share.
    pub(crate) fn leading(&self) -> Option<usize> {
        (0..self.components.len())
            .max_by(|&a, &b| self.components[a].total_cmp(&self.components[b]).then(b.cmp(&a)))
    }
}

/// The index, among the hypotheses, of the size of a mode that explains the evidence best.
pub(crate) fn best_size(weighed: &Weighed<'_, '_>, mode: ModeOf) -> usize {
    sizes_of(weighed, mode)
        .max_by(|&a, &b| weighed.log_likelihood[a].total_cmp(&weighed.log_likelihood[b]))
        .unwrap_or(0)
}

/// The hypotheses of a mode at each of its sizes.
fn sizes_of(weighed: &Weighed<'_, '_>, mode: ModeOf) -> impl Iterator<Item = usize> {
    // Singles come after sound and unknown.
    faults_of_mode(weighed.model, mode).iter().map(|fault| 2 + fault.index)
}

/// The faults of a mode that the circuit lists, one for each of its sizes.
pub(crate) fn faults_of_mode<'m>(model: &'m Model<'_>, mode: ModeOf) -> &'m [Fault] {
    // They stand together, in the order of the part's modes.
    let of_part = model.listed_of(mode.part);
    let from = of_part.partition_point(|fault| fault.mode < mode.mode);
    let to = from + of_part[from..].partition_point(|fault| fault.mode == mode.mode);
    &of_part[from..to]
}

/// All modes of the circuit, in its order.
pub(crate) fn all_modes(model: &Model<'_>) -> Vec<ModeOf> {
    modes_and_firsts(model).into_iter().map(|(mode, _)| mode).collect()
}

/// The same, with the first fault of each.
pub(crate) fn modes_and_firsts(model: &Model<'_>) -> Vec<(ModeOf, usize)> {
    let each = model
        .listed()
        .map(|fault| (ModeOf { part: fault.part, mode: fault.mode }, fault.first_of_mode));
    let mut modes: Vec<(ModeOf, usize)> = each.collect();
    modes.dedup();
    modes
}

/// What each piece of evidence is worth at most under any single explanation: readings, then
/// observations.
pub(crate) fn best_by_evidence(weighed: &Weighed<'_, '_>) -> Vec<f64> {
    let singles = weighed.log_likelihood.len();
    let of_readings = (0..weighed.prepared.len()).map(|reading| weighed.alone(reading));
    let of_signs = weighed.sign_cells.iter().map(|column| &column[..singles]);
    // The unknown fault explains nothing.
    let best = |column: &[f64]| largest(&column[..UNKNOWN]).max(largest(&column[UNKNOWN + 1..]));
    of_readings.chain(of_signs).map(best).collect()
}

/// The likelihood of a piece of evidence under the best of some hypotheses.
fn most(weighed: &Weighed<'_, '_>, among: &[usize], evidence: usize) -> f64 {
    among
        .iter()
        .map(|&index| match evidence.checked_sub(weighed.prepared.len()) {
            None => weighed.reading_likelihood(index, evidence),
            Some(sign) => weighed.sign_cells[sign][index],
        })
        .fold(0.0, f64::max)
}

/// The evidence that speaks against a fault of whatever size: indices of readings, then of
/// observations offset by the number of readings, strongest first. Where each piece alone
/// could be explained by some size, what speaks against the best size. `best` is what
/// [`best_by_evidence`] says.
pub(crate) fn excluded_by(weighed: &Weighed<'_, '_>, mode: ModeOf, best: &[f64]) -> Vec<usize> {
    let sizes: Vec<usize> = sizes_of(weighed, mode).collect();
    let of_any = against(weighed, &sizes, best);
    if of_any.is_empty() { against(weighed, &[best_size(weighed, mode)], best) } else { of_any }
}

fn against(weighed: &Weighed<'_, '_>, hypotheses: &[usize], best: &[f64]) -> Vec<usize> {
    /// Evidence at least ten times likelier under some other single explanation counts.
    const AGAINST: f64 = 0.1;
    let mut against: Vec<(f64, usize)> = Vec::with_capacity(best.len());
    against.extend(
        best.iter()
            .enumerate()
            .map(|(evidence, best)| (most(weighed, hypotheses, evidence) / best, evidence))
            .filter(|(ratio, _)| *ratio < AGAINST),
    );
    against.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    against.into_iter().map(|(_, evidence)| evidence).collect()
}
