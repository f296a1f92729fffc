//! Places: where calls come from, and how long the ways between them are.
//!
//! Belongs here: the matrix of ways that a played span drives by, and the share of each place in
//! the calls. Does not belong here: which towns a shop has and what is known of its roads (the
//! store's), and who is sent ([`super::simulate`]).
//!
//! Place 0 is the shop: people start there, and nobody calls from there. A call from a place that
//! is not known takes the usual way instead.

use serde::{Deserialize, Serialize};

/// The shop's own place.
pub const SHOP: usize = 0;

/// Most places, the shop among them; calls from what is beyond count as from elsewhere.
pub const PLACES_MAX: usize = 41;

/// From one site of a place to another, minutes. Common practice, no source.
pub const WITHIN_MIN: f64 = 8.0;

/// For how many calls it counts that every site is as likely to call as another. Common practice,
/// no source.
pub const PRIOR_PLACE_CALLS: f64 = 20.0;

/// How far a drive strays from what the way usually takes: the standard deviation of its
/// logarithm. Common practice, no source.
pub const WAY_SPREAD: f64 = 0.2;

/// Whoever has been free for so long is back at the shop, or at home, which counts as the same;
/// minutes. Common practice, no source.
pub const BACK_AFTER_MIN: f64 = 60.0;

/// Where a call is, and what its drive makes of the usual way there.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct To {
    /// Its place; not [`SHOP`].
    pub place: usize,
    /// This drive over what the way usually takes.
    pub factor: f64,
}

/// The places of a shop. Without any, every call takes the way that was drawn for it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Places {
    names: Vec<String>,
    way_min: Vec<f64>,
}

impl Places {
    /// The shop first, then the places by name; the ways row by row, in minutes. `None` unless
    /// there are at most [`PLACES_MAX`] and the ways are a square of numbers that are none of them
    /// negative or without end.
    ///
    /// ```
    /// use roster::capacity::places::Places;
    /// let names = || vec!["shop".to_owned(), "Upper Marrow".to_owned()];
    /// assert!(Places::of(names(), vec![0.0, 48.0, 48.0, 8.0]).is_some());
    /// // A way is missing.
    /// assert!(Places::of(names(), vec![0.0, 48.0, 48.0]).is_none());
    /// ```
    #[must_use]
    pub fn of(names: Vec<String>, way_min: Vec<f64>) -> Option<Self> {
        let sound = names.len() <= PLACES_MAX
            && way_min.len() == names.len() * names.len()
            && way_min.iter().all(|way| way.is_finite() && *way >= 0.0);
        sound.then_some(Places { names, way_min })
    }

    /// How many, the shop among them.
    #[must_use]
    pub fn count(&self) -> usize {
        self.names.len()
    }

    /// A place's name; empty for one that there is not.
    #[must_use]
    pub fn name(&self, place: usize) -> &str {
        self.names.get(place).map_or("", String::as_str)
    }

    /// What the way usually takes, minutes; none from or to a place that there is not.
    #[must_use]
    pub fn between_min(&self, from: usize, to: usize) -> Option<f64> {
        let known = from < self.count() && to < self.count();
        known.then(|| self.way_min[from * self.count() + to])
    }
}

/// Each place's share of the calls, from the sites there and the calls that came from there, both
/// by place; what stands at [`SHOP`] is of elsewhere. Elsewhere counts as one site more, so that a
/// town never heard of may call.
///
/// Every site is as likely as another for [`PRIOR_PLACE_CALLS`] calls; what was seen outgrows that.
#[must_use]
pub fn shares(sites: &[f64], calls: &[f64]) -> Vec<f64> {
    let all_sites = sites.iter().sum::<f64>() + 1.0;
    let all = PRIOR_PLACE_CALLS + calls.iter().sum::<f64>();
    sites
        .iter()
        .zip(calls)
        .enumerate()
        .map(|(place, (sites, calls))| {
            let sites = sites + f64::from(u8::from(place == SHOP));
            (PRIOR_PLACE_CALLS * sites / all_sites + calls) / all
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_site_is_as_likely_until_calls_say_otherwise() {
        let new = shares(&[0.0, 3.0, 1.0], &[0.0; 3]);
        assert_eq!(new, [0.2, 0.6, 0.2]);
        let old = shares(&[0.0, 3.0, 1.0], &[0.0, 0.0, 1_980.0]);
        assert!((old[2] - 0.992).abs() < 1e-9 && old[1] > 0.0, "{old:?}");
        assert!((old.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn ways_that_cannot_be_are_no_places() {
        let names = || vec!["shop".to_owned(), "Nether Marrow".to_owned()];
        assert!(Places::of(names(), vec![0.0, 5.0, -1.0, 8.0]).is_none());
        assert!(Places::of(names(), vec![0.0, f64::INFINITY, 1.0, 8.0]).is_none());
        let many = vec![String::new(); PLACES_MAX + 1];
        let ways = vec![1.0; many.len() * many.len()];
        assert!(Places::of(many, ways).is_none());
        let two = Places::of(names(), vec![0.0, 5.0, 7.0, 8.0]).unwrap();
        assert_eq!(two.between_min(SHOP, 1), Some(5.0));
        assert_eq!(two.between_min(1, SHOP), Some(7.0));
        assert_eq!(two.between_min(1, 2), None);
        assert_eq!(Places::default().between_min(SHOP, SHOP), None);
    }
}
