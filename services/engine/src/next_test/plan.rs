//! The whole plan: test after test, by what each answer leaves.
//!
//! Belongs here: growing the plan from where the evidence stands, until enough is known or
//! nothing helps. Does not belong here: which test comes first ([`super::order`]).

use super::Known;
use super::bundles::{self, Look};
use super::information::{Rows, after as groups_after, information, rows};
use super::order::{Pool, Start, answered, enough};
use super::site::AtWork;
use super::words::{group_label, shown, shows};
use crate::predict::many::Work;
use crate::verdict::Outcome;
use crate::verdict::plan::{PlanBranch, PlanEnd, PlanStep};

/// Most steps of a plan: what a sheet of paper holds. What would come after is planned anew on
/// site, with the readings taken by then.
const STEPS_MAX: usize = 16;
/// Most tests one after the other.
const DEPTH_MAX: usize = 5;

/// What grows a plan.
struct Grower<'g, 'm, 'c> {
    known: &'g Known<'g, 'm, 'c>,
    pool: &'g Pool<'m, 'c>,
    steps: Vec<PlanStep>,
    exact: bool,
}

/// A place in the plan from which it grows.
struct Shoot<'p> {
    rows: Rows,
    start: Start<'p>,
    /// Tests not done yet.
    available: Vec<usize>,
    depth: usize,
    /// The step and the branch that lead here.
    from: Option<(usize, usize)>,
}

/// The steps of the plan, and whether every order in it is exact.
pub(crate) fn steps(known: &Known<'_, '_, '_>, work: &mut Work) -> (Vec<PlanStep>, bool) {
    if known.outcome == Outcome::Isolated {
        return (Vec::new(), true);
    }
    if let Some(first) = known.first() {
        // Until that is done nothing is known of what follows.
        let ends = PlanBranch {
            shows: "Done".into(),
            chance: 1.0,
            leads_to: String::new(),
            share: 0.0,
            then: None,
            ends: Some(PlanEnd::PlanAgain),
        };
        return (vec![PlanStep { number: 1, test: first, branches: vec![ends] }], false);
    }
    let rows = rows(known.weighed, known.claimed, known.telling());
    let at_work = AtWork::of(known.weighed, known.case);
    let look = Look {
        weighed: known.weighed,
        case: known.case,
        rows: &rows,
        at_work: &at_work,
        clear: known.shares.sound + known.shares.passing,
    };
    let pool = Pool::of(known.weighed, &rows, bundles::all(&look, known.shares, work));
    let mut grower = Grower { known, pool: &pool, steps: Vec::new(), exact: true };
    let available = (0..pool.bundles().count()).collect();
    let start = pool.start(&at_work);
    // Breadth first: what is likeliest to be needed stands on the sheet before what is not.
    let mut shoots =
        std::collections::VecDeque::from([Shoot { rows, start, available, depth: 0, from: None }]);
    while let Some(shoot) = shoots.pop_front() {
        shoots.extend(grower.grow(shoot, work));
    }
    (grower.steps, grower.exact)
}

impl<'g> Grower<'g, '_, '_> {
    /// Grows one step, or tells the branch that led here how it ends.
    fn grow(&mut self, shoot: Shoot<'g>, work: &mut Work) -> Vec<Shoot<'g>> {
        let end = |grower: &mut Self, end: PlanEnd| {
            if let Some((step, branch)) = shoot.from {
                grower.steps[step].branches[branch].ends = Some(end);
            }
        };
        if let Some(known) = self.enough(&shoot.rows) {
            end(self, known);
            return Vec::new();
        }
        let order =
            self.pool.order(&shoot.available, &shoot.start, &shoot.rows, self.known.policy, work);
        let Some(&test) = order.tests.first() else {
            end(self, PlanEnd::NothingLeft);
            return Vec::new();
        };
        if self.steps.len() >= STEPS_MAX || shoot.depth >= DEPTH_MAX {
            end(self, PlanEnd::PlanAgain);
            return Vec::new();
        }
        self.exact &= order.exact;
        let (mut bundle, site) = self.pool.set_up(test, &shoot.start);
        bundle.bits = information(&shoot.rows, self.pool.joint(test));
        let words = shows(&bundle);
        let at_work = shoot.start.at_work(shoot.start.site);
        let mut of = shown(self.known.weighed, &shoot.rows, &at_work, bundle);
        of.answers = Vec::new();
        let number = self.steps.len();
        if let Some((step, branch)) = shoot.from {
            self.steps[step].branches[branch].then = Some(number as u32 + 1);
        }
        let joint = self.pool.joint(test);
        let mut branches = Vec::new();
        let mut shoots = Vec::new();
        let mut likely: Vec<(f64, usize, Rows)> = (0..joint.kinds)
            .filter_map(|kind| {
                let (chance, rows) = answered(&shoot.rows, joint, kind)?;
                Some((chance, kind, rows))
            })
            .collect();
        likely.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (chance, kind, rows) in likely {
            let shares = shares(&rows);
            let lead = leading(&shares);
            branches.push(PlanBranch {
                shows: words[kind].clone(),
                chance: crate::judge::rounded(chance),
                leads_to: group_label(self.known.weighed.model.circuit, rows.groups[lead]),
                share: crate::judge::rounded(shares[lead]),
                then: None,
                ends: None,
            });
            shoots.push(Shoot {
                rows,
                start: shoot.start.at(site),
                available: shoot.available.iter().copied().filter(|&other| other != test).collect(),
                depth: shoot.depth + 1,
                from: Some((number, branches.len() - 1)),
            });
        }
        self.steps.push(PlanStep { number: number as u32 + 1, test: of, branches });
        shoots
    }

    /// How the plan ends where enough is known.
    fn enough(&self, rows: &Rows) -> Option<PlanEnd> {
        let shares = shares(rows);
        let none_first = rows.groups.first() == Some(&super::information::NONE);
        if !enough(&shares, none_first, self.known.policy) {
            return None;
        }
        Some(if none_first && leading(&shares) == 0 {
            PlanEnd::NothingToReplace
        } else {
            PlanEnd::Settled
        })
    }
}

/// The share of each group.
fn shares(rows: &Rows) -> Vec<f64> {
    groups_after(rows, &super::Chances::nothing(rows))
}

fn leading(shares: &[f64]) -> usize {
    (0..shares.len()).max_by(|&a, &b| shares[a].total_cmp(&shares[b]).then(b.cmp(&a))).unwrap_or(0)
}

/// Expected minutes of a plan's tests, and those of its longest way.
pub(crate) fn minutes(steps: &[PlanStep]) -> (f64, f64) {
    // Steps only lead to later ones, so that from the last backwards all is known.
    let mut ahead: Vec<(f64, f64)> = vec![(0.0, 0.0); steps.len()];
    for place in (0..steps.len()).rev() {
        let step = &steps[place];
        let (mut expected, mut longest) = (0.0, 0.0f64);
        for branch in &step.branches {
            if let Some(then) = branch.then {
                let (next, most) = ahead[then as usize - 1];
                expected += branch.chance * next;
                longest = longest.max(most);
            }
        }
        ahead[place] = (step.test.minutes + expected, step.test.minutes + longest);
    }
    ahead.first().copied().unwrap_or((0.0, 0.0))
}
