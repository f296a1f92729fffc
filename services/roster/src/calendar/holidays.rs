//! Public holidays by country.
//!
//! Belongs here: asking the library, which holds rules rather than lists, and keeping what was
//! asked for. Does not belong here: a shop's own days ([`super::Calendar`]).
//!
//! Days that only a part of a country keeps, and days that a parliament adds next year, are in no
//! library's rules: a shop adds those itself.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use chrono::NaiveDate;
use holidays_rs::{Calendar, Country};

use super::Unsound;

/// The first year whose holidays are known here; before it there are none.
pub const YEAR_FIRST: i32 = 2015;

/// The last year whose holidays are known here; after it there are none.
pub const YEAR_LAST: i32 = 2060;

/// The days with their names. A holiday that falls on a weekend and is kept on another day is on
/// that other day.
pub type Days = BTreeMap<NaiveDate, String>;

/// What was asked for before: a shop's calendar is needed many times a second.
static KNOWN: LazyLock<Mutex<BTreeMap<&'static str, Arc<Days>>>> = LazyLock::new(Mutex::default);

/// The English names of the countries whose holidays are known, in order.
#[must_use]
pub fn countries() -> Vec<&'static str> {
    let mut names: Vec<&str> = Country::ALL.iter().map(|country| country.name()).collect();
    names.sort_unstable();
    names
}

/// The public holidays that all of a country keeps, from [`YEAR_FIRST`] to [`YEAR_LAST`].
///
/// # Errors
/// Where the country is not known.
pub fn of(country: &str) -> Result<Arc<Days>, Unsound> {
    let found = Country::ALL.iter().find(|known| known.name() == country.trim());
    let Some(country) = found.copied() else {
        return Err(Unsound {
            pointer: "/country".to_owned(),
            says: format!(
                "No holidays are known for {country:?}. Choose one of the {} countries listed at \
                 /api/calendar/countries, or none and add the days yourself.",
                Country::ALL.len()
            ),
        });
    };
    let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    let days = known.entry(country.name()).or_insert_with(|| Arc::new(reckoned(country)));
    Ok(Arc::clone(days))
}

fn reckoned(country: Country) -> Days {
    let calendar = Calendar::new(country);
    (YEAR_FIRST..=YEAR_LAST)
        .flat_map(|year| calendar.holidays_in(year))
        .filter_map(|(date, name)| {
            let (month, day) = (u32::from(date.month), u32::from(date.day));
            Some((NaiveDate::from_ymd_opt(date.year, month, day)?, name.to_owned()))
        })
        .collect()
}
