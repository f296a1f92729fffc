//! The cheapest order of tests, exactly, while few suspects are left.
//!
//! Belongs here: dynamic programming over which suspects are left and how the site stands. Does
//! not belong here: where suspects, tests and their costs come from ([`super::order`]).
//!
//! An answer is taken as the one that a suspect makes most likely, so that every answer strikes
//! suspects out. Costs may depend on what was done before: what is open stays open.

use std::collections::BTreeMap;

use crate::sweep::bits;

/// Most suspects told apart exactly. More could be (a [`Left`] has room for 64), and the order
/// would be reached more often; measured over every fault of the shipped circuits it then
/// isolates fewer of them, since answers are taken as surer than they are.
pub(crate) const SUSPECTS_MAX: usize = 12;
/// Situations looked at before it is given up; the greedy order serves then.
const SITUATIONS_MAX: usize = 4_000;

/// Suspects, one bit each.
pub(crate) type Left = u64;

/// A problem: what is suspected, what each test answers, what it costs.
pub(crate) trait Problem {
    /// How the site stands: what is open, what is lifted.
    type Site: Copy + Ord;

    /// The weight of each suspect; they need not add up to 1.
    fn weights(&self) -> &[f64];
    /// How many tests there are.
    fn tests(&self) -> usize;
    /// Which answer a suspect gives to a test.
    fn answer(&self, test: usize, suspect: usize) -> usize;
    /// What a test costs on a site, and how the site stands after it.
    fn cost(&self, test: usize, site: Self::Site) -> (f64, Self::Site);
    /// Whether enough is known with these left.
    fn done(&self, left: Left) -> bool;
}

/// The cheapest continuation in one situation.
#[derive(Clone, Copy, Debug)]
struct Best {
    /// Weight times cost, to the end.
    weighed: f64,
    test: Option<usize>,
}

/// The solver with what it has worked out.
pub(crate) struct Exact<'p, P: Problem> {
    problem: &'p P,
    /// By test: the suspects that give each answer.
    answers: Vec<Vec<Left>>,
    known: BTreeMap<(Left, P::Site), Best>,
}

impl<'p, P: Problem> Exact<'p, P> {
    /// Solves nothing yet.
    pub(crate) fn new(problem: &'p P) -> Self {
        let suspects = problem.weights().len();
        let answers = (0..problem.tests())
            .map(|test| {
                let mut of_test: BTreeMap<usize, Left> = BTreeMap::new();
                for suspect in 0..suspects {
                    *of_test.entry(problem.answer(test, suspect)).or_default() |= 1 << suspect;
                }
                of_test.into_values().collect()
            })
            .collect();
        Exact { problem, answers, known: BTreeMap::new() }
    }

    /// All suspects of the problem.
    pub(crate) fn all(&self) -> Left {
        everyone(self.problem.weights().len())
    }

    /// The expected cost until enough is known, or no test helps, and the test to start with;
    /// `None` where there is too much to look at. Without suspects, or with enough known, it
    /// costs nothing and needs no test.
    pub(crate) fn cheapest(&mut self, left: Left, site: P::Site) -> Option<(f64, Option<usize>)> {
        let best = self.best(left, site)?;
        let weight = self.weight(left);
        Some((if weight > 0.0 { best.weighed / weight } else { 0.0 }, best.test))
    }

    /// The expected cost when this test comes first; `None` where it tells nothing apart, or
    /// there is too much to look at.
    pub(crate) fn cost_of(&mut self, test: usize, left: Left, site: P::Site) -> Option<f64> {
        let weight = self.weight(left);
        let weighed = self.starting_with(test, left, site, f64::INFINITY)??;
        Some(if weight > 0.0 { weighed / weight } else { 0.0 })
    }

    fn weight(&self, left: Left) -> f64 {
        let weights = self.problem.weights();
        bits(left).map(|suspect| weights[suspect]).sum()
    }

    fn best(&mut self, left: Left, site: P::Site) -> Option<Best> {
        if left.count_ones() <= 1 || self.problem.done(left) {
            return Some(Best { weighed: 0.0, test: None });
        }
        if let Some(known) = self.known.get(&(left, site)) {
            return Some(*known);
        }
        if self.known.len() >= SITUATIONS_MAX {
            return None;
        }
        let mut best: Option<Best> = None;
        for test in 0..self.problem.tests() {
            let limit = best.map_or(f64::INFINITY, |best| best.weighed);
            if let Some(weighed) = self.starting_with(test, left, site, limit)?
                && weighed < limit
            {
                best = Some(Best { weighed, test: Some(test) });
            }
        }
        // Nothing tells what is left apart: that is an end too.
        let best = best.unwrap_or(Best { weighed: 0.0, test: None });
        self.known.insert((left, site), best);
        Some(best)
    }

    /// Weight times cost with a test first; the inner `None` where it tells nothing apart or
    /// costs more than `limit`, the outer where there is too much to look at.
    fn starting_with(
        &mut self,
        test: usize,
        left: Left,
        site: P::Site,
        limit: f64,
    ) -> Option<Option<f64>> {
        let parts = self.parted(test, left);
        if parts.len() < 2 {
            return Some(None);
        }
        let (cost, after) = self.problem.cost(test, site);
        let mut weighed = self.weight(left) * cost;
        for part in parts {
            if weighed >= limit {
                return Some(None);
            }
            weighed += self.best(part, after)?.weighed;
        }
        Some(Some(weighed))
    }

    /// What is left after each answer that a suspect gives.
    fn parted(&self, test: usize, left: Left) -> Vec<Left> {
        let mut parts: Vec<Left> = self.answers[test]
            .iter()
            .map(|answer| answer & left)
            .filter(|part| *part != 0)
            .collect();
        // In the order of the suspects, so that sums come out the same.
        parts.sort_unstable_by_key(|part| part.trailing_zeros());
        parts
    }
}

/// That many suspects.
fn everyone(suspects: usize) -> Left {
    if suspects == 0 { 0 } else { Left::MAX >> (Left::BITS as usize - suspects) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Tests with a fixed cost and a table of answers; done when one suspect is left.
    struct Table {
        weights: Vec<f64>,
        costs: Vec<f64>,
        /// By test, then suspect.
        answers: Vec<Vec<usize>>,
        /// A place that each test needs open, and what opening each costs.
        places: Vec<usize>,
        opening: Vec<f64>,
    }

    impl Table {
        fn plain(weights: &[f64], costs: &[f64], answers: Vec<Vec<usize>>) -> Self {
            Table {
                weights: weights.to_vec(),
                costs: costs.to_vec(),
                answers,
                places: vec![0; costs.len()],
                opening: vec![0.0],
            }
        }

        fn all(&self) -> Left {
            everyone(self.weights.len())
        }
    }

    impl Problem for Table {
        type Site = u8;

        fn weights(&self) -> &[f64] {
            &self.weights
        }
        fn tests(&self) -> usize {
            self.costs.len()
        }
        fn answer(&self, test: usize, suspect: usize) -> usize {
            self.answers[test][suspect]
        }
        fn cost(&self, test: usize, site: u8) -> (f64, u8) {
            let place = self.places[test];
            let opening = if site >> place & 1 == 1 { 0.0 } else { self.opening[place] };
            (self.costs[test] + opening, site | 1 << place)
        }
        fn done(&self, _: Left) -> bool {
            false
        }
    }

    /// Inspecting one of four components tells whether it is that one.
    fn inspections(weights: &[f64], costs: &[f64]) -> Table {
        let answers = (0..costs.len())
            .map(|test| (0..weights.len()).map(|suspect| usize::from(suspect == test)).collect())
            .collect();
        Table::plain(weights, costs, answers)
    }

    /// Which test comes first in each situation as "not this one" is heard again and again.
    fn order(table: &Table, suspects: Left) -> Vec<usize> {
        let mut exact = Exact::new(table);
        let (mut left, mut order) = (suspects, Vec::new());
        while let Some((_, Some(test))) = exact.cheapest(left, 0) {
            order.push(test + 1);
            left &= !(1 << test);
        }
        order
    }

    // Source of both: the optimal inspection sequence for one faulty component (ratio of cost to
    // probability, ascending), a textbook result of search theory; the numbers are those of the
    // design's evidence page, recomputed by hand: 3 + .7·1 + .6·10 + .2·8 = 11.3, and
    // 3 + .7·1 + .6·8 = 8.5 where the last is condemned by elimination.

    #[test]
    fn inspecting_until_found_costs_11_3() {
        // A suspect without weight that no inspection finds: the last must be looked at too.
        let table = inspections(&[0.4, 0.3, 0.2, 0.1, 0.0], &[10.0, 3.0, 8.0, 1.0]);
        let (cost, first) = Exact::new(&table).cheapest(table.all(), 0).expect("small");
        assert!((cost - 11.3).abs() < 1e-12, "{cost}");
        assert_eq!(first, Some(1));
        assert_eq!(order(&table, table.all()), [2, 4, 1, 3]);
    }

    #[test]
    fn the_last_condemned_by_elimination_costs_8_5() {
        let table = inspections(&[0.4, 0.3, 0.2, 0.1], &[10.0, 3.0, 8.0, 1.0]);
        let (cost, _) = Exact::new(&table).cheapest(table.all(), 0).expect("small");
        assert!((cost - 8.5).abs() < 1e-12, "{cost}");
        assert_eq!(order(&table, table.all()), [2, 4, 3]);
    }

    #[test]
    fn four_tests_over_five_states_cost_5_30() {
        // Weights 8 4 6 1 1 of 20, costs 1 5 3 8, answers per state 1011 0111 0100 1110 1100:
        // the design's evidence page. By information per minute it costs 6.25.
        let states = ["1011", "0111", "0100", "1110", "1100"];
        let answers = (0..4)
            .map(|test| {
                states.iter().map(|state| usize::from(&state[test..=test] == "1")).collect()
            })
            .collect();
        let weights: Vec<f64> = [8.0, 4.0, 6.0, 1.0, 1.0].iter().map(|w| w / 20.0).collect();
        let table = Table::plain(&weights, &[1.0, 5.0, 3.0, 8.0], answers);
        let (cost, _) = Exact::new(&table).cheapest(table.all(), 0).expect("small");
        assert!((cost - 5.30).abs() < 1e-12, "{cost}");
    }

    #[test]
    fn what_is_opened_once_is_paid_once() {
        // Two tests behind one cover (5) and one outside (4): behind the cover both are cheap.
        let mut table = Table::plain(
            &[1.0, 1.0, 1.0, 1.0],
            &[1.0, 1.0, 4.0, 4.0],
            vec![vec![0, 0, 1, 1], vec![0, 1, 0, 1], vec![0, 0, 1, 1], vec![0, 1, 0, 1]],
        );
        table.places = vec![1, 1, 0, 0];
        table.opening = vec![0.0, 5.0];
        let (cost, first) = Exact::new(&table).cheapest(table.all(), 0).expect("small");
        assert_eq!((cost, first), (7.0, Some(0)));
    }

    #[test]
    fn suspects_that_no_test_tells_apart_are_an_end() {
        let table = Table::plain(&[0.5, 0.5], &[1.0], vec![vec![1, 1]]);
        let mut exact = Exact::new(&table);
        assert_eq!(exact.cheapest(table.all(), 0), Some((0.0, None)));
        assert_eq!(exact.cost_of(0, table.all(), 0), None);
    }

    /// The cheapest cost by trying every order, written without any memory of situations.
    fn brute_force(table: &Table, left: Left, site: u8) -> f64 {
        if left.count_ones() <= 1 {
            return 0.0;
        }
        let weight = |left: Left| -> f64 {
            (0..table.weights.len()).filter(|s| left >> s & 1 == 1).map(|s| table.weights[s]).sum()
        };
        let mut best = f64::INFINITY;
        for test in 0..table.costs.len() {
            let yes: Left = (0..table.weights.len())
                .filter(|&suspect| left >> suspect & 1 == 1 && table.answers[test][suspect] == 1)
                .fold(0, |set, suspect| set | 1 << suspect);
            let no = left & !yes;
            if yes == 0 || no == 0 {
                continue;
            }
            let (cost, after) = table.cost(test, site);
            let total = weight(left) * cost
                + weight(yes) * brute_force(table, yes, after)
                + weight(no) * brute_force(table, no, after);
            best = best.min(total / weight(left));
        }
        if best.is_finite() { best } else { 0.0 }
    }

    proptest! {
        #[test]
        fn no_order_of_tests_is_cheaper(
            weights in prop::collection::vec(0.01f64..1.0, 2..6),
            costs in prop::collection::vec(0.1f64..9.0, 1..6),
            bits in prop::collection::vec(0usize..2, 36),
            opening in 0.0f64..6.0,
        ) {
            let answers = (0..costs.len())
                .map(|test| (0..weights.len()).map(|suspect| bits[test * 6 + suspect]).collect())
                .collect();
            let mut table = Table::plain(&weights, &costs, answers);
            table.places = (0..costs.len()).map(|test| test % 2).collect();
            table.opening = vec![0.0, opening];
            let (cost, _) = Exact::new(&table).cheapest(table.all(), 0).expect("small");
            prop_assert!((cost - brute_force(&table, table.all(), 0)).abs() < 1e-9);
        }
    }
}
