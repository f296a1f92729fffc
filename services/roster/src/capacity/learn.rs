//! What to expect, learnt from a shop's own history, starting from what is usual in the trade.
//!
//! Belongs here: calls by hour of week, class and outdoor temperature; how long work takes; what
//! it asks of whoever goes. Does not belong here: reading the history (the store's), and drawing
//! from what was learnt ([`super::demand`]).
//!
//! Counts are Poisson with a Gamma prior, so what is learnt is `(prior + seen) / (prior weight +
//! looked at)`: with no history it is the prior, with much it is the history. Times of work are
//! lognormal with a normal prior on the logarithm. **Every prior below is common practice, no
//! source**: it is there so that a new shop gets a plausible answer, and to be outgrown.

use super::{CLASSES, QUALIFICATIONS, Skills, Work, class_index};
use crate::queue::Urgency;

/// Hours in a week; hour 0 is Monday from midnight, local time.
pub const WEEK_HOURS: usize = 168;

/// Where the bands of outdoor temperature meet, °F.
pub const BAND_EDGES_F: [i32; 5] = [15, 32, 50, 75, 90];

/// Bands of outdoor temperature.
pub const BANDS: usize = BAND_EDGES_F.len() + 1;

/// Calls a week for each technician of a shop.
pub const PRIOR_CALLS_PER_TECHNICIAN: f64 = 6.0;

/// How those are shared among the classes.
const PRIOR_SHARES: [f64; CLASSES] = [0.06, 0.08, 0.06, 0.42, 0.38];

/// For how many weeks of history the prior of a class counts.
const PRIOR_WEEKS: f64 = 4.0;

/// For how many weeks the hours' profile of the class counts in each single hour.
const PRIOR_HOUR_WEEKS: f64 = 12.0;

/// How often each class is called for in a band, against the shop's mean.
const PRIOR_BAND: [[f64; BANDS]; CLASSES] = [
    [2.2, 1.5, 1.0, 0.5, 0.8, 1.6],
    [1.9, 1.2, 1.0, 0.9, 1.1, 1.3],
    [0.8, 0.8, 0.9, 1.0, 1.4, 2.0],
    [2.2, 1.5, 1.0, 0.5, 1.0, 2.1],
    [1.2, 1.1, 1.0, 0.8, 1.1, 1.4],
];

/// For how many calls that counts.
const PRIOR_BAND_CALLS: f64 = 12.0;

/// Median minutes of each kind of work, and the standard deviation of its logarithm.
const PRIOR_TAKES: [(f64, f64); 5] =
    [(75.0, 0.5), (95.0, 0.55), (60.0, 0.35), (360.0, 0.4), (60.0, 0.5)];

/// For how many jobs that counts.
const PRIOR_TAKES_JOBS: f64 = 8.0;

/// What is done on a call of each class: diagnosis, repair, maintenance, installation, return.
const PRIOR_WORK: [[f64; 5]; CLASSES] = [
    [0.80, 0.15, 0.0, 0.0, 0.05],
    [0.70, 0.25, 0.0, 0.0, 0.05],
    [0.80, 0.15, 0.0, 0.0, 0.05],
    [0.75, 0.15, 0.0, 0.0, 0.10],
    [0.45, 0.20, 0.25, 0.0, 0.10],
];

/// How often a call asks for nothing in particular, then for each of [`QUALIFICATIONS`].
const PRIOR_NEEDS: [f64; 5] = [0.70, 0.12, 0.04, 0.10, 0.04];

/// For how many calls of a class the shares of work and of qualifications count.
const PRIOR_SHARE_CALLS: f64 = 20.0;

/// Getting to a call: median minutes and the standard deviation of the logarithm, where nothing
/// better is known.
pub const PRIOR_TRAVEL: (f64, f64) = (24.0, 0.45);

/// Shortest and longest time of work that is believed, minutes; a job left open over the night
/// says nothing about how long it took.
pub const TAKES_BELIEVED_MIN: (f64, f64) = (5.0, 720.0);

/// A call of the past.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Past {
    /// Hour of the week it came in, below [`WEEK_HOURS`]; others count as the last.
    pub week_hour: usize,
    /// How pressing it was.
    pub class: Urgency,
    /// Outdoors then, °F.
    pub outdoor_f: i32,
    /// What was done.
    pub work: Work,
    /// What it asked for.
    pub needs: Skills,
    /// From arriving to leaving, where known, minutes.
    pub takes_min: Option<f64>,
}

/// A shop's past.
#[derive(Clone, Debug, PartialEq)]
pub struct History {
    /// Every call taken while it was looked at.
    pub calls: Vec<Past>,
    /// Hours looked at, by hour of the week and band of temperature.
    pub looked_h: Vec<[f64; BANDS]>,
    /// Technicians of the shop; the prior is per head.
    pub technicians: usize,
}

impl History {
    /// Nothing seen yet.
    #[must_use]
    pub fn empty(technicians: usize) -> Self {
        History { calls: Vec::new(), looked_h: vec![[0.0; BANDS]; WEEK_HOURS], technicians }
    }

    /// Notes that one hour was looked at.
    pub fn look(&mut self, week_hour: usize, outdoor_f: i32) {
        self.looked_h[week_hour.min(WEEK_HOURS - 1)][band(outdoor_f)] += 1.0;
    }
}

/// A lognormal time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lognormal {
    /// Mean of the logarithm of minutes.
    pub mu: f64,
    /// Standard deviation of it.
    pub sigma: f64,
}

impl Lognormal {
    /// With that median (minutes, above 0) and spread.
    #[must_use]
    pub fn with_median(median_min: f64, sigma: f64) -> Self {
        Lognormal { mu: median_min.ln(), sigma }
    }

    /// The mean, minutes.
    #[must_use]
    pub fn mean_min(self) -> f64 {
        (self.mu + self.sigma * self.sigma / 2.0).exp()
    }
}

/// What was learnt.
#[derive(Clone, Debug, PartialEq)]
pub struct Learnt {
    /// Calls an hour by class and hour of the week, at the shop's usual temperatures.
    pub rate_h: Vec<[f64; WEEK_HOURS]>,
    /// What the band of temperature makes of it.
    pub by_band: [[f64; BANDS]; CLASSES],
    /// How sure the rate of a class is: the shape of its Gamma.
    pub shape: [f64; CLASSES],
    /// Time of each kind of work.
    pub takes: [Lognormal; 5],
    /// What is done on a call, by class.
    pub work: [[f64; 5]; CLASSES],
    /// What it asks for, by class: nothing, then each qualification.
    pub needs: [[f64; 5]; CLASSES],
    /// Getting there.
    pub travel: Lognormal,
    /// Calls that it was learnt from.
    pub calls: usize,
    /// Weeks that it was learnt from.
    pub weeks: f64,
}

/// In which band a temperature lies.
#[must_use]
pub fn band(outdoor_f: i32) -> usize {
    BAND_EDGES_F.iter().filter(|edge| outdoor_f >= **edge).count()
}

/// Learns.
#[must_use]
pub fn learn(history: &History) -> Learnt {
    let weeks = history.looked_h.iter().flatten().sum::<f64>() / WEEK_HOURS as f64;
    let heads = history.technicians.max(1) as f64;
    let mut counts = vec![[0.0; WEEK_HOURS]; CLASSES];
    let mut in_band = [[0.0; BANDS]; CLASSES];
    let mut work = PRIOR_WORK.map(|row| row.map(|share| share * PRIOR_SHARE_CALLS));
    let mut needs = [PRIOR_NEEDS.map(|share| share * PRIOR_SHARE_CALLS); CLASSES];
    for call in &history.calls {
        let class = class_index(call.class);
        counts[class][call.week_hour.min(WEEK_HOURS - 1)] += 1.0;
        in_band[class][band(call.outdoor_f)] += 1.0;
        work[class][Work::ALL.iter().position(|work| *work == call.work).unwrap_or(0)] += 1.0;
        // A call that asks for several counts for each in part.
        let bits: Vec<usize> =
            (0..QUALIFICATIONS.len()).filter(|bit| call.needs.0 >> bit & 1 == 1).collect();
        if bits.is_empty() {
            needs[class][0] += 1.0;
        }
        for bit in &bits {
            needs[class][bit + 1] += 1.0 / bits.len() as f64;
        }
    }

    let profiles = Urgency::ALL.map(profile);
    let mut rate_h = vec![[0.0; WEEK_HOURS]; CLASSES];
    let mut shape = [0.0; CLASSES];
    let mut by_band = [[0.0; BANDS]; CLASSES];
    for class in 0..CLASSES {
        let prior_week = PRIOR_CALLS_PER_TECHNICIAN * heads * PRIOR_SHARES[class];
        let seen: f64 = counts[class].iter().sum();
        shape[class] = prior_week * PRIOR_WEEKS + seen;
        let a_week = shape[class] / (PRIOR_WEEKS + weeks);
        for hour in 0..WEEK_HOURS {
            let expected = a_week * profiles[class][hour];
            let looked = history.looked_h[hour].iter().sum::<f64>();
            rate_h[class][hour] =
                (expected * PRIOR_HOUR_WEEKS + counts[class][hour]) / (PRIOR_HOUR_WEEKS + looked);
        }
        for band in 0..BANDS {
            let expected: f64 = (0..WEEK_HOURS)
                .map(|hour| history.looked_h[hour][band] * rate_h[class][hour])
                .sum();
            by_band[class][band] = (PRIOR_BAND_CALLS + in_band[class][band])
                / (PRIOR_BAND_CALLS / PRIOR_BAND[class][band] + expected);
        }
    }
    Learnt {
        rate_h,
        by_band,
        shape,
        takes: takes(&history.calls),
        work: work.map(shares),
        needs: needs.map(shares),
        travel: Lognormal::with_median(PRIOR_TRAVEL.0, PRIOR_TRAVEL.1),
        calls: history.calls.len(),
        weeks,
    }
}

/// Times of work: normal on the logarithm, the prior counting for [`PRIOR_TAKES_JOBS`].
fn takes(calls: &[Past]) -> [Lognormal; 5] {
    std::array::from_fn(|kind| {
        let (median_min, prior_sigma) = PRIOR_TAKES[kind];
        let prior_mu = median_min.ln();
        let logs: Vec<f64> = calls
            .iter()
            .filter(|call| call.work == Work::ALL[kind])
            .filter_map(|call| call.takes_min)
            .filter(|min| (TAKES_BELIEVED_MIN.0..=TAKES_BELIEVED_MIN.1).contains(min))
            .map(f64::ln)
            .collect();
        let n = logs.len() as f64;
        let mean = if logs.is_empty() { prior_mu } else { logs.iter().sum::<f64>() / n };
        let all = PRIOR_TAKES_JOBS + n;
        let spread = logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>()
            + PRIOR_TAKES_JOBS * prior_sigma * prior_sigma
            + PRIOR_TAKES_JOBS * n / all * (mean - prior_mu).powi(2);
        Lognormal {
            mu: (PRIOR_TAKES_JOBS * prior_mu + n * mean) / all,
            sigma: (spread / all).sqrt(),
        }
    })
}

fn shares(counts: [f64; 5]) -> [f64; 5] {
    let all: f64 = counts.iter().sum();
    counts.map(|count| count / all)
}

/// How a class' calls lie over the week, adding up to 1.
fn profile(class: Urgency) -> [f64; WEEK_HOURS] {
    let weight = |hour: usize| {
        let by_hour = match hour % 24 {
            0..6 => 0.3,
            6..9 => 1.6,
            9..17 => 1.2,
            17..22 => 1.5,
            _ => 0.5,
        };
        let weekend = hour >= 5 * 24;
        match class {
            Urgency::Comfort if weekend => by_hour * 0.5,
            _ if weekend => by_hour * 0.9,
            _ => by_hour,
        }
    };
    let all: f64 = (0..WEEK_HOURS).map(weight).sum();
    std::array::from_fn(|hour| weight(hour) / all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn call(week_hour: usize, class: Urgency, outdoor_f: i32) -> Past {
        let needs = Skills::default();
        Past { week_hour, class, outdoor_f, work: Work::Diagnosis, needs, takes_min: Some(40.0) }
    }

    /// Weeks at one temperature, with so many no-heat calls at one hour of each.
    fn weeks(weeks: usize, calls: usize, outdoor_f: i32) -> History {
        let mut history = History::empty(5);
        for _ in 0..weeks {
            (0..WEEK_HOURS).for_each(|hour| history.look(hour, outdoor_f));
            history.calls.extend((0..calls).map(|_| call(130, Urgency::NoHeatCool, outdoor_f)));
        }
        history
    }

    fn a_week(learnt: &Learnt, class: usize) -> f64 {
        learnt.rate_h[class].iter().sum()
    }

    #[test]
    fn without_history_it_is_the_prior() {
        let learnt = learn(&History::empty(5));
        let all: f64 = (0..CLASSES).map(|class| a_week(&learnt, class)).sum();
        assert!((all - 5.0 * PRIOR_CALLS_PER_TECHNICIAN).abs() < 1e-9, "{all}");
        for (band, prior) in learnt.by_band.iter().flatten().zip(PRIOR_BAND.iter().flatten()) {
            assert!((band - prior).abs() < 1e-9, "{band} {prior}");
        }
        assert!((learnt.takes[0].mu.exp() - 75.0).abs() < 1e-9);
    }

    #[test]
    fn a_long_history_outweighs_the_prior() {
        // Four calls a week, all on Saturday between 10 and 11, for four years.
        let learnt = learn(&weeks(208, 4, 40));
        let class = class_index(Urgency::NoHeatCool);
        assert!((learnt.rate_h[class][130] - 4.0).abs() < 0.3, "{}", learnt.rate_h[class][130]);
        assert!((a_week(&learnt, class) - 4.0).abs() < 0.8, "{}", a_week(&learnt, class));
        assert!((learnt.takes[0].mu.exp() - 40.0).abs() < 2.0);
        assert!(learnt.work[class][0] > 0.99);
    }

    #[test]
    fn calls_in_the_cold_teach_what_cold_does() {
        let mut history = weeks(50, 1, 40);
        let cold = weeks(50, 5, 5);
        for (sum, more) in history.looked_h.iter_mut().zip(&cold.looked_h) {
            sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
        }
        history.calls.extend(cold.calls);

        let learnt = learn(&history);

        let class = class_index(Urgency::NoHeatCool);
        let times = learnt.by_band[class][band(5)] / learnt.by_band[class][band(40)];
        assert!((3.0..7.0).contains(&times), "{times}");
    }

    #[test]
    fn a_job_left_open_over_the_night_does_not_lengthen_the_work() {
        let mut history = weeks(30, 1, 40);
        let before = learn(&history).takes[0];
        history.calls.push(Past { takes_min: Some(2_000.0), ..history.calls[0] });
        assert_eq!(learn(&history).takes[0], before);
    }

    #[test]
    fn bands_meet_at_their_edges() {
        assert_eq!([-40, 14, 15, 31, 32, 89, 90].map(band), [0, 0, 1, 1, 2, 4, 5]);
    }
}
