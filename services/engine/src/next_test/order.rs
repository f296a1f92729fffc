//! Which test comes first.
//!
//! Belongs here: the exact order while few suspects are left, and the greedy one with a look at
//! the step after otherwise. Does not belong here: which tests there are ([`super::bundles`]).

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::Bundle;
use super::exact::{Exact, Left, Problem, SUSPECTS_MAX};
use super::hope::{Hope, hope};
use super::information::{Chances, NONE, Rows, information};
use super::site::{AtWork, place_of_connector, setting_up};
use crate::circuit::Caution;
use crate::model::Model;
use crate::policy::Policy;
use crate::posterior::{Kind, Weighed};
use crate::predict::many::Work;

/// Tests that an exact order is sought among; the best by information per minute.
const TESTS_MAX: usize = 20;
/// Above this expected share of misread suspects a test's answers are too blurred to strike
/// suspects out by.
const BLURRED: f64 = 0.15;
/// Suspects below this share together are left out of an exact order.
const LEFT_OUT: f64 = 0.03;
/// Tests for which the step after is looked at.
const LOOKED_AHEAD: usize = 5;
/// The step after must make a test this much better than the one that tells most at once.
const AHEAD_PAYS: f64 = 1.1;
/// Answers less likely than this are not followed further.
const ANSWER_MIN: f64 = 0.02;

/// A bundle with the joint chances of its answers.
struct Pooled {
    bundle: Bundle,
    joint: Chances,
}

/// All tests that tell something, best by information per minute first.
pub(super) struct Pool<'m, 'c> {
    model: &'m Model<'c>,
    /// Rows whose hypothesis knows no answer of its own.
    unknown: Vec<bool>,
    tests: Vec<Pooled>,
    /// Every set of lifted connectors that a test or the site has.
    lifted: Vec<Vec<usize>>,
}

/// Tests in the order in which they are worth taking.
pub(super) struct Order {
    /// Places in the pool, best first; none that is not worth its minutes.
    pub(super) tests: Vec<usize>,
    /// No other order is quicker on average.
    pub(super) exact: bool,
    /// Whether all that the tests could show would settle anything.
    pub(super) hope: Hope,
}

/// A test set up: what that costs, and how the site stands afterwards.
struct Setting {
    minutes: f64,
    danger_min: f64,
    cautions: Vec<Caution>,
    after: Site,
}

/// How the site stands: places open, as bits, and the place of what is lifted in the pool's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Site {
    open: u32,
    lifted: usize,
}

impl<'m, 'c> Pool<'m, 'c> {
    pub(super) fn of(weighed: &Weighed<'m, 'c>, rows: &Rows, mut bundles: Vec<Bundle>) -> Self {
        bundles.sort_by(|a, b| b.score().total_cmp(&a.score()));
        let unknown = rows
            .all
            .iter()
            .map(|row| weighed.hypotheses.all[row.hypothesis].kind == Kind::Unknown)
            .collect();
        let tests: Vec<Pooled> = bundles
            .into_iter()
            .map(|bundle| {
                let joint = bundle
                    .candidates
                    .iter()
                    .fold(Chances::nothing(rows), |joint, one| joint.jointly(&one.chance));
                Pooled { bundle, joint }
            })
            .collect();
        let mut lifted: Vec<Vec<usize>> = vec![Vec::new()];
        for test in &tests {
            if !lifted.contains(&test.bundle.lifted) {
                lifted.push(test.bundle.lifted.clone());
            }
        }
        Pool { model: weighed.model, unknown, tests, lifted }
    }

    pub(super) fn bundles(&self) -> impl Iterator<Item = &Bundle> {
        self.tests.iter().map(|test| &test.bundle)
    }

    pub(super) fn bundle(&self, test: usize) -> &Bundle {
        &self.tests[test].bundle
    }

    pub(super) fn joint(&self, test: usize) -> &Chances {
        &self.tests[test].joint
    }

    /// The site as it stands now.
    pub(super) fn start(&self, at_work: &AtWork) -> Start<'_> {
        let known = self.lifted.iter().position(|lifted| *lifted == at_work.lifted);
        let lifted = known.unwrap_or(self.lifted.len());
        let open = at_work.open_places.iter().fold(0, |set, place| set | 1 << place);
        Start { at_work: at_work.clone(), lifted: &self.lifted, site: Site { open, lifted } }
    }

    /// A test set up from a site: its bundle with the minutes and cautions there, and the site
    /// after it.
    pub(super) fn set_up(&self, test: usize, start: &Start<'_>) -> (Bundle, Site) {
        let mut bundle = self.tests[test].bundle.clone();
        let Some(setting) = self.setting(test, start, start.site) else {
            return (bundle, start.site);
        };
        bundle.setup_min = setting.minutes;
        bundle.danger_min = setting.danger_min;
        bundle.cautions = setting.cautions;
        (bundle, setting.after)
    }

    /// What a test costs from a site, and the site after it.
    fn cost(&self, test: usize, start: &Start<'_>, site: Site) -> (f64, Site) {
        let bundle = &self.tests[test].bundle;
        match self.setting(test, start, site) {
            None => (bundle.cost(), site),
            Some(setting) => {
                let own = bundle.setup_min + bundle.danger_min;
                let cost = bundle.cost() - own + setting.minutes + setting.danger_min;
                (cost.max(0.1), setting.after)
            }
        }
    }

    /// `None` for what needs nothing opened: a question.
    fn setting(&self, test: usize, start: &Start<'_>, site: Site) -> Option<Setting> {
        let bundle = &self.tests[test].bundle;
        if bundle.places.is_empty() && bundle.lifted.is_empty() {
            return None;
        }
        let at_work = start.at_work(site);
        let state_min = bundle.state.map_or(0.0, |state| self.model.circuit.states[state].minutes);
        let (minutes, danger_min, cautions) =
            setting_up(self.model, &at_work, &bundle.lifted, &bundle.places);
        let Site { mut open, mut lifted } = site;
        let of_connectors =
            bundle.lifted.iter().filter_map(|&known| place_of_connector(self.model, known));
        for place in bundle.places.iter().copied().chain(of_connectors) {
            open |= 1 << place;
        }
        if let Some(known) = self.lifted.iter().position(|known| *known == bundle.lifted) {
            lifted = known;
        }
        let after = Site { open, lifted };
        Some(Setting { minutes: minutes + state_min, danger_min, cautions, after })
    }

    /// The order of some of the tests from here.
    pub(super) fn order(
        &self,
        available: &[usize],
        start: &Start<'_>,
        rows: &Rows,
        policy: &Policy,
        work: &mut Work,
    ) -> Order {
        let left = available.iter().flat_map(|&test| &self.tests[test].bundle.candidates);
        let hope = hope(rows, left, policy);
        let mut scored: Vec<(usize, f64, f64)> = available
            .iter()
            .map(|&test| {
                let (cost, _) = self.cost(test, start, start.site);
                let bits = information(rows, &self.tests[test].joint);
                (test, bits, bits / cost)
            })
            .filter(|(_, bits, per_min)| {
                *bits >= super::BITS_MIN && *per_min >= hope.bits_per_min()
            })
            .collect();
        scored.sort_by(|a, b| b.2.total_cmp(&a.2).then(a.0.cmp(&b.0)));
        let order: Vec<usize> = scored.iter().map(|(test, ..)| *test).collect();
        if let Some(exact) = self.exactly(&order, start, rows, policy, work) {
            return Order { tests: exact, exact: true, hope };
        }
        Order { tests: self.ahead(&scored, start, rows), exact: false, hope }
    }

    /// Expected share of suspects that a test's likeliest answers misread.
    fn blur(&self, test: usize, rows: &Rows) -> f64 {
        rows.all
            .iter()
            .zip(self.tests[test].joint.of_rows())
            .zip(&self.unknown)
            .filter(|(_, unknown)| !**unknown)
            .map(|((row, chances), _)| {
                row.share * (1.0 - chances.iter().copied().fold(0.0, f64::max))
            })
            .sum()
    }

    /// The exact order, where the tests are sharp and the suspects few enough.
    fn exactly(
        &self,
        order: &[usize],
        start: &Start<'_>,
        rows: &Rows,
        policy: &Policy,
        work: &mut Work,
    ) -> Option<Vec<usize>> {
        let sharp: Vec<usize> = order
            .iter()
            .copied()
            .filter(|&test| self.blur(test, rows) <= BLURRED)
            .take(TESTS_MAX)
            .collect();
        // What tells most per minute may be a question whose answer leaves doubt; then there is
        // no order that strikes suspects out for certain.
        if sharp.first() != order.first() || sharp.is_empty() {
            return None;
        }
        let problem = Apart::new(self, &sharp, start, rows, policy)?;
        let mut exact = Exact::new(&problem);
        let all = exact.all();
        exact.cheapest(all, start.site)?;
        let mut costs: Vec<(f64, usize)> = Vec::new();
        for (place, &test) in sharp.iter().enumerate() {
            if let Some(cost) = exact.cost_of(place, all, start.site) {
                costs.push((cost, test));
            }
        }
        work.exact += 1;
        costs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut exactly: Vec<usize> = costs.into_iter().map(|(_, test)| test).collect();
        exactly.extend(order.iter().copied().filter(|test| !sharp.contains(test)));
        (!exactly.is_empty()).then_some(exactly)
    }

    /// By information per minute, unless the step after makes another test better.
    fn ahead(&self, scored: &[(usize, f64, f64)], start: &Start<'_>, rows: &Rows) -> Vec<usize> {
        let mut order: Vec<usize> = scored.iter().map(|(test, ..)| *test).collect();
        let looked: Vec<(usize, f64)> = scored
            .iter()
            .take(LOOKED_AHEAD)
            .enumerate()
            .map(|(place, &(test, bits, _))| {
                (place, self.two_steps(test, bits, &order, start, rows))
            })
            .collect();
        let own = looked.first().map_or(0.0, |(_, rate)| *rate);
        let best = looked.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        if let Some(&(place, rate)) = best
            && rate > AHEAD_PAYS * own
        {
            let test = order.remove(place);
            order.insert(0, test);
        }
        order
    }

    /// Information per minute of a test and the best one after it.
    fn two_steps(
        &self,
        test: usize,
        bits: f64,
        order: &[usize],
        start: &Start<'_>,
        rows: &Rows,
    ) -> f64 {
        let (own, site) = self.cost(test, start, start.site);
        let (mut told, mut cost) = (bits, own);
        let others: Vec<(usize, f64)> = order
            .iter()
            .copied()
            .filter(|&other| other != test)
            .take(TESTS_MAX)
            .map(|other| (other, self.cost(other, start, site).0))
            .collect();
        for kind in 0..self.tests[test].joint.kinds {
            let Some((chance, rows)) = answered(rows, &self.tests[test].joint, kind) else {
                continue;
            };
            let best = others
                .iter()
                .map(|&(other, cost)| (information(&rows, &self.tests[other].joint), cost))
                .filter(|(bits, _)| *bits >= super::BITS_MIN)
                .max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1)));
            if let Some((bits, minutes)) = best {
                told += chance * bits;
                cost += chance * minutes;
            }
        }
        told / cost
    }
}

/// The chance of an answer, and the rows after it; `None` below [`ANSWER_MIN`].
pub(super) fn answered(rows: &Rows, joint: &Chances, kind: usize) -> Option<(f64, Rows)> {
    let shares =
        rows.all.iter().zip(joint.of_rows()).map(|(row, chances)| row.share * chances[kind]);
    let chance: f64 = shares.clone().sum();
    if chance < ANSWER_MIN {
        return None;
    }
    let shares: Vec<f64> = shares.collect();
    let mut after = rows.clone();
    for (row, share) in after.all.iter_mut().zip(shares) {
        row.share = share / chance;
    }
    Some((chance, after))
}

/// A site to set up from.
#[derive(Clone)]
pub(super) struct Start<'p> {
    at_work: AtWork,
    lifted: &'p [Vec<usize>],
    pub(super) site: Site,
}

impl<'p> Start<'p> {
    /// The same once the site stands otherwise.
    pub(super) fn at(&self, site: Site) -> Start<'p> {
        Start { site, ..self.clone() }
    }

    /// A site as what sets up sees it. What is lifted now and no test lifts stays as it was.
    pub(super) fn at_work(&self, site: Site) -> AtWork {
        let lifted = self.lifted.get(site.lifted).unwrap_or(&self.at_work.lifted);
        AtWork {
            open_places: (0..32).filter(|place| site.open >> place & 1 == 1).collect(),
            lifted: lifted.clone(),
            ..self.at_work.clone()
        }
    }
}

/// Rows that answer every test alike: their weight, and the share of each group.
type Merged = (f64, Vec<f64>);

/// Suspects told apart by sharp tests.
struct Apart<'p, 'm, 'c> {
    pool: &'p Pool<'m, 'c>,
    tests: &'p [usize],
    start: &'p Start<'p>,
    policy: &'p Policy,
    weights: Vec<f64>,
    /// By suspect: its answer to each test, and the share of each group.
    answers: Vec<Vec<usize>>,
    groups: Vec<Vec<f64>>,
    /// Whether the first group stands for none of the components.
    none_first: bool,
    /// Costs asked for before.
    costs: RefCell<BTreeMap<(usize, Site), (f64, Site)>>,
}

impl<'p, 'm, 'c> Apart<'p, 'm, 'c> {
    fn new(
        pool: &'p Pool<'m, 'c>,
        tests: &'p [usize],
        start: &'p Start<'p>,
        rows: &Rows,
        policy: &'p Policy,
    ) -> Option<Self> {
        let mut merged: BTreeMap<Vec<usize>, Merged> = BTreeMap::new();
        for (index, row) in rows.all.iter().enumerate() {
            if pool.unknown[index] {
                continue;
            }
            let answers: Vec<usize> = tests
                .iter()
                .map(|&test| {
                    let joint = pool.joint(test);
                    let chances = &joint.all[index * joint.kinds..][..joint.kinds];
                    (0..joint.kinds)
                        .max_by(|&a, &b| chances[a].total_cmp(&chances[b]).then(b.cmp(&a)))
                        .unwrap_or(0)
                })
                .collect();
            let (weight, groups) =
                merged.entry(answers).or_insert_with(|| (0.0, vec![0.0; rows.groups.len()]));
            *weight += row.share;
            for &(group, share) in &row.parts {
                groups[group] += row.share * share;
            }
        }
        let mut suspects: Vec<(Vec<usize>, Merged)> = merged.into_iter().collect();
        suspects.sort_by(|a, b| b.1.0.total_cmp(&a.1.0).then(a.0.cmp(&b.0)));
        let left_out: f64 = suspects.iter().skip(SUSPECTS_MAX).map(|(_, (weight, _))| weight).sum();
        if left_out > LEFT_OUT {
            return None;
        }
        suspects.truncate(SUSPECTS_MAX);
        let mut apart = Apart {
            pool,
            tests,
            start,
            policy,
            weights: Vec::new(),
            answers: Vec::new(),
            groups: Vec::new(),
            none_first: rows.groups.first() == Some(&NONE),
            costs: RefCell::default(),
        };
        for (answers, (weight, groups)) in suspects {
            apart.weights.push(weight);
            apart.answers.push(answers);
            apart.groups.push(groups);
        }
        Some(apart)
    }
}

impl Problem for Apart<'_, '_, '_> {
    type Site = Site;

    fn weights(&self) -> &[f64] {
        &self.weights
    }

    fn tests(&self) -> usize {
        self.tests.len()
    }

    fn answer(&self, test: usize, suspect: usize) -> usize {
        self.answers[suspect][test]
    }

    fn cost(&self, test: usize, site: Site) -> (f64, Site) {
        let mut costs = self.costs.borrow_mut();
        *costs
            .entry((test, site))
            .or_insert_with(|| self.pool.cost(self.tests[test], self.start, site))
    }

    fn done(&self, left: Left) -> bool {
        let mut sum = vec![0.0; self.groups.first().map_or(0, Vec::len)];
        for (suspect, groups) in self.groups.iter().enumerate() {
            if left >> suspect & 1 == 1 {
                sum.iter_mut().zip(groups).for_each(|(sum, share)| *sum += share);
            }
        }
        enough(&sum, self.none_first, self.policy)
    }
}

/// Whether one group holds what a verdict asks for, and no other component too much.
pub(super) fn enough(groups: &[f64], none_first: bool, policy: &Policy) -> bool {
    let all: f64 = groups.iter().sum();
    let lead = (0..groups.len()).max_by(|&a, &b| groups[a].total_cmp(&groups[b])).unwrap_or(0);
    let component = |group: usize| !(none_first && group == 0);
    groups.get(lead).is_some_and(|share| *share >= policy.isolated_min * all)
        && (0..groups.len())
            .filter(|&group| group != lead && component(group))
            .all(|group| groups[group] <= policy.rival_max * all)
}
