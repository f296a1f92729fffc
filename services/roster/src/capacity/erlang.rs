//! The waiting formula: Poisson calls, exponential times, equal people, one queue.
//!
//! Belongs here: Erlang C and what follows from it. Does not belong here: anything that it does
//! not hold for; that is simulated ([`super::simulate`]), and checked against this where both
//! apply.
//!
//! Source: A. K. Erlang, "Løsning af nogle Problemer fra Sandsynlighedsregningen af Betydning
//! for de automatiske Telefoncentraler" (1917), title and formula from memory; the values in
//! the tests are a published call-centre example and the M/M/c formula.

/// Most people the formula is asked about; beyond it the answer is that of this many.
pub const SERVERS_MAX: u32 = 10_000;

/// The chance that a call has to wait at all.
///
/// `load` is in erlangs: calls per minute times minutes per call, at least 0. 1 when the load
/// reaches the number of people, since the queue then grows without end; 0 without load.
///
/// ```
/// use roster::capacity::erlang::chance_of_waiting;
/// assert!((chance_of_waiting(48.0, 55) - 0.2387).abs() < 0.0001);
/// // Two people cannot serve what keeps three busy.
/// assert_eq!(chance_of_waiting(3.0, 2), 1.0);
/// ```
#[must_use]
pub fn chance_of_waiting(load: f64, servers: u32) -> f64 {
    let servers = servers.min(SERVERS_MAX);
    if load.is_nan() || load <= 0.0 {
        return 0.0;
    }
    if load >= f64::from(servers) {
        return 1.0;
    }
    // Erlang B by its recursion, which neither overflows nor cancels.
    let mut lost = 1.0;
    for n in 1..=servers {
        lost = load * lost / (f64::from(n) + load * lost);
    }
    let busy = load / f64::from(servers);
    lost / (1.0 - busy * (1.0 - lost))
}

/// The mean wait, in the unit of `takes`; infinite when the load reaches the number of people.
#[must_use]
pub fn mean_wait(load: f64, servers: u32, takes: f64) -> f64 {
    let spare = f64::from(servers.min(SERVERS_MAX)) - load;
    if spare <= 0.0 { f64::INFINITY } else { chance_of_waiting(load, servers) * takes / spare }
}

/// The chance that a call waits longer than `target`, which is in the unit of `takes`.
#[must_use]
pub fn chance_of_waiting_longer(load: f64, servers: u32, takes: f64, target: f64) -> f64 {
    let spare = f64::from(servers.min(SERVERS_MAX)) - load;
    if spare <= 0.0 {
        return 1.0;
    }
    chance_of_waiting(load, servers) * (-spare * target.max(0.0) / takes).exp()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Check values: row 1 is a published call-centre example (360 calls in half an hour, 4 min
    /// each, 55 agents, 15 s), the rest the M/M/c formula; each to the digits given.
    /// Erlangs, people, seconds a call takes, target in seconds, chance of waiting, mean wait in
    /// seconds, share served within the target.
    const ROWS: [(f64, u32, f64, f64, f64, f64, f64); 5] = [
        (48.0, 55, 240.0, 15.0, 0.2387, 8.18, 0.8459),
        (10.0, 12, 180.0, 20.0, 0.44939, 40.44, 0.6402),
        (4.0, 6, 3_600.0, 1_800.0, 0.28476, 512.57, 0.8952),
        (2.0, 3, 2_700.0, 900.0, 0.44444, 1_200.0, 0.6815),
        (1.5, 2, 5_400.0, 3_600.0, 0.64286, 6_942.86, 0.5394),
    ];

    #[test]
    fn the_formula_gives_the_published_values() {
        for (load, servers, takes_s, target_s, chance, mean_s, within) in ROWS {
            let near = |got: f64, expected: f64, digit: f64| (got - expected).abs() <= digit;
            assert!(near(chance_of_waiting(load, servers), chance, 0.000_06), "{load} {servers}");
            assert!(near(mean_wait(load, servers, takes_s), mean_s, 0.006), "{load} {servers}");
            let late = chance_of_waiting_longer(load, servers, takes_s, target_s);
            assert!(near(1.0 - late, within, 0.000_06), "{load} {servers}: {late}");
        }
    }

    #[test]
    fn without_load_nobody_waits_and_with_too_much_everybody_does() {
        assert_eq!(chance_of_waiting(0.0, 3), 0.0);
        assert_eq!(chance_of_waiting(f64::NAN, 3), 0.0);
        assert_eq!(chance_of_waiting(3.0, 3), 1.0);
        assert_eq!(chance_of_waiting(1.0, 0), 1.0);
        assert_eq!(mean_wait(3.0, 3, 60.0), f64::INFINITY);
        assert_eq!(chance_of_waiting_longer(4.0, 3, 60.0, 1e9), 1.0);
    }

    proptest! {
        #[test]
        fn more_people_wait_less_and_more_load_waits_more(
            load in 0.01..40.0f64, more in 0.01..5.0f64, servers in 1..60u32
        ) {
            let chance = chance_of_waiting(load, servers);
            prop_assert!((0.0..=1.0).contains(&chance));
            prop_assert!(chance_of_waiting(load, servers + 1) <= chance);
            prop_assert!(chance_of_waiting(load + more, servers) >= chance);
            prop_assert!(mean_wait(load, servers + 1, 60.0) <= mean_wait(load, servers, 60.0));
        }

        #[test]
        fn a_longer_target_is_missed_less(
            load in 0.01..40.0f64, servers in 1..60u32, target in 0.0..500.0f64
        ) {
            let late = chance_of_waiting_longer(load, servers, 60.0, target);
            prop_assert!(late <= chance_of_waiting(load, servers));
            prop_assert!(chance_of_waiting_longer(load, servers, 60.0, target + 5.0) <= late);
        }
    }
}
