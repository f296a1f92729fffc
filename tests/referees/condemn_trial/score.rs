//! Adding up: rates with their bounds, Brier, calibration.
//!
//! Belongs here: figures from jobs. Does not belong here: how they look ([`super::report`]).

use super::{Arm, Job};

/// Edges of the calibration bins.
pub(super) const EDGES: [f64; 8] = [0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1.000_001];

/// One bin of the calibration.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bin {
    pub(super) count: usize,
    pub(super) stated: f64,
    pub(super) observed: f64,
    /// Two standard errors of what was observed less what was stated. A job states much the same
    /// time after time, so jobs are what is counted, not statements.
    pub(super) error: f64,
}

impl Bin {
    /// What each of the jobs stated in a bin, and whether it was so.
    fn of(jobs: &[Vec<(f64, bool)>]) -> Self {
        let all = || jobs.iter().flatten();
        let count = all().count();
        let n = count.max(1) as f64;
        let stated = all().map(|(share, _)| share).sum::<f64>() / n;
        let observed = all().filter(|(_, faulty)| *faulty).count() as f64 / n;
        let off = |&(share, faulty): &(f64, bool)| f64::from(u8::from(faulty)) - share;
        // Of a ratio of sums: each job's own sum beside what its number of statements would give.
        let squares: f64 = jobs
            .iter()
            .map(|job| {
                let sum: f64 = job.iter().map(off).sum();
                (sum - (observed - stated) * job.len() as f64).powi(2)
            })
            .sum();
        Bin { count, stated, observed, error: 2.0 * squares.sqrt() / n }
    }
}

/// One arm at one level.
#[derive(Clone, Debug)]
pub struct Score {
    /// The arm.
    pub arm: Arm,
    /// Jobs.
    pub jobs: usize,
    /// Jobs with a faulty component.
    pub faulty: usize,
    /// Condemnations.
    pub condemned: usize,
    /// Condemnations of a good component.
    pub wrong: usize,
    /// Condemnations of a costly component, and the wrong ones among them.
    pub major: (usize, usize),
    /// Faulty jobs in which a faulty component was condemned.
    pub caught: usize,
    /// Faulty jobs said to have nothing to replace.
    pub missed: usize,
    /// Jobs neither condemned nor cleared.
    pub abstained: usize,
    /// Minutes per job, waiting left out.
    pub minutes: f64,
    /// Minutes of waiting per job.
    pub waiting_min: f64,
    /// Minutes per condemnation.
    pub minutes_to_condemn: f64,
    /// Readings and questions per condemnation.
    pub tests_to_condemn: f64,
    /// Brier score of the leading component's share at the end.
    pub brier: f64,
    pub(super) bins: Vec<Bin>,
}

impl Score {
    /// Adds up the jobs given.
    pub(super) fn of(arm: Arm, jobs: &[&Job]) -> Self {
        let count = |wanted: &dyn Fn(&Job) -> bool| jobs.iter().filter(|job| wanted(job)).count();
        let mean = |value: &dyn Fn(&Job) -> f64, wanted: &dyn Fn(&Job) -> bool| {
            let of: Vec<f64> =
                jobs.iter().filter(|job| wanted(job)).map(|job| value(job)).collect();
            if of.is_empty() { 0.0 } else { of.iter().sum::<f64>() / of.len() as f64 }
        };
        let all = |_: &Job| true;
        let squared = |job: &Job| (job.last.0 - f64::from(u8::from(job.last.1))).powi(2);
        let stated: Vec<Vec<(f64, bool)>> = jobs
            .iter()
            .map(|job| if job.stated.is_empty() { vec![job.last] } else { job.stated.clone() })
            .collect();
        let bins = EDGES
            .windows(2)
            .map(|edge| {
                let within = |share: f64| (edge[0]..edge[1]).contains(&share);
                let of: Vec<Vec<(f64, bool)>> = stated
                    .iter()
                    .map(|job| job.iter().copied().filter(|(share, _)| within(*share)).collect())
                    .collect();
                Bin::of(&of)
            })
            .collect();
        Score {
            arm,
            jobs: jobs.len(),
            faulty: count(&|job| job.faulty),
            condemned: count(&|job| job.condemned),
            wrong: count(&|job| job.condemned && !job.right),
            major: (count(&|job| job.major), count(&|job| job.major && !job.right)),
            caught: count(&|job| job.faulty && job.right),
            missed: count(&|job| job.faulty && job.cleared),
            abstained: count(&|job| !job.condemned && !job.cleared),
            minutes: mean(&|job| job.minutes, &all),
            waiting_min: mean(&|job| job.waiting_min, &all),
            minutes_to_condemn: mean(&|job| job.minutes, &|job| job.condemned),
            tests_to_condemn: mean(&|job| job.tests as f64, &|job| job.condemned),
            brier: mean(&squared, &all),
            bins,
        }
    }

    /// Share of condemnations that are wrong.
    pub fn wrong_share(&self) -> f64 {
        self.wrong as f64 / self.condemned.max(1) as f64
    }

    /// Its upper bound, see [`bound_above`].
    pub fn wrong_bound(&self) -> f64 {
        bound_above(self.wrong, self.condemned)
    }

    /// Share of faulty jobs caught.
    pub fn caught_share(&self) -> f64 {
        self.caught as f64 / self.faulty.max(1) as f64
    }

    /// The largest distance of stated from observed among bins of at least `least` statements.
    pub(super) fn worst_bin(&self, least: usize) -> f64 {
        let of = self.bins.iter().filter(|bin| bin.count >= least);
        of.map(|bin| (bin.stated - bin.observed).abs()).fold(0.0, f64::max)
    }
}

/// The exact (Clopper and Pearson) one-sided 95 % upper bound of a rate seen `wrong` times in
/// `count`.
///
/// ```
/// // None in 300: 1 − 0.05^(1/300) (closed form).
/// assert!((blackbox::condemn_trial::bound_above(0, 300) - 0.009936).abs() < 1e-5);
/// // 1 in 10: 0.3942 (any table of Clopper and Pearson's one-sided limits).
/// assert!((blackbox::condemn_trial::bound_above(1, 10) - 0.3942).abs() < 1e-4);
/// ```
pub fn bound_above(wrong: usize, count: usize) -> f64 {
    if count == 0 || wrong >= count {
        return 1.0;
    }
    // The rate at which `wrong` or fewer are seen once in twenty.
    let at_most = |rate: f64| -> f64 {
        let mut term = count as f64 * (1.0 - rate).ln();
        let mut sum = term.exp();
        for k in 1..=wrong {
            term += ((count - k + 1) as f64 / k as f64).ln() + (rate / (1.0 - rate)).ln();
            sum += term.exp();
        }
        sum
    };
    let (mut low, mut high) = (wrong as f64 / count as f64, 1.0 - 1e-12);
    for _ in 0..100 {
        let middle = (low + high) / 2.0;
        if at_most(middle) > 0.05 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_job_that_says_the_same_ten_times_is_one_job() {
        let jobs = |times: usize| -> Vec<Vec<(f64, bool)>> {
            (0..100).map(|job| vec![(0.5, job % 2 == 0); times]).collect()
        };
        let (once, ten_times) = (Bin::of(&jobs(1)), Bin::of(&jobs(10)));
        assert_eq!((once.count, ten_times.count), (100, 1000));
        // 2·√(½·½/100).
        assert!((once.error - 0.1).abs() < 1e-12, "{}", once.error);
        assert!((ten_times.error - once.error).abs() < 1e-12, "{}", ten_times.error);
    }
}
