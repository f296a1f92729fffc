//! What a shop has seen: calls by hour and weather, and how long work took.
//!
//! Belongs here: reading the history that is learnt from, and the calls of one span of it. Does
//! not belong here: learning ([`roster::capacity::learn`]).

use std::collections::BTreeMap;

use chrono::{
    DateTime, Datelike as _, Days, NaiveDate, NaiveDateTime, TimeDelta, Timelike as _, Utc,
};
use roster::capacity::learn::{History, Past, WEEK_HOURS};
use roster::capacity::places::To;
use roster::capacity::{Call, Skills, Work};
use roster::queue::Urgency;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::days::When;
use super::places::ShopPlaces;
use super::setting::Weather;
use crate::db::sql;
use crate::error::StoreError;

/// How far back is looked, weeks: two years, so that each season counts twice.
pub(super) const WEEKS_MAX: i64 = 104;

/// Calls learnt from at most, the newest.
const CALLS_MAX: i64 = 20_000;

#[derive(Clone, Debug, FromQueryResult)]
struct Row {
    created_at: DateTime<Utc>,
    local: NaiveDateTime,
    urgency: String,
    work: String,
    required: Vec<String>,
    outdoor_f: Option<i32>,
    on_site_at: Option<DateTime<Utc>>,
    done_at: Option<DateTime<Utc>>,
    site_id: Uuid,
}

impl Row {
    fn class(&self) -> Urgency {
        Urgency::from_id(&self.urgency).unwrap_or(Urgency::Comfort)
    }

    fn work(&self) -> Work {
        Work::from_id(&self.work).unwrap_or(Work::Diagnosis)
    }

    fn takes_min(&self) -> Option<f64> {
        let (from, to) = self.on_site_at.zip(self.done_at)?;
        Some((to - from).num_seconds() as f64 / 60.0).filter(|minutes| *minutes > 0.0)
    }
}

/// Calls taken in a span of time, oldest first; the newest [`CALLS_MAX`] where there are more.
async fn rows<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Result<Vec<Row>, StoreError> {
    let mut rows = Row::find_by_statement(sql(
        "SELECT job.created_at, job.created_at AT TIME ZONE shop.zone AS local, job.urgency, \
             job.work, \
             job.required, \
             job.outdoor_f, \
             entries.on_site_at, entries.done_at, unit.site_id \
         FROM job JOIN unit ON unit.id = job.unit_id JOIN shop ON shop.id = job.shop_id CROSS JOIN LATERAL ( \
             SELECT min(at) FILTER (WHERE body ->> 'state' = 'on_site') AS on_site_at, \
                 max(at) FILTER (WHERE body ->> 'state' = 'done') AS done_at \
             FROM record_entry WHERE record_entry.shop_id = job.shop_id \
                 AND subject_kind = 'job' AND subject_id = job.id AND kind = 'job_changed' \
         ) AS entries \
         WHERE job.shop_id = $1 AND job.created_at >= $2 AND job.created_at < $3 \
         ORDER BY job.created_at DESC LIMIT $4",
        [shop_id.into(), from.into(), to.into(), CALLS_MAX.into()],
    ))
    .all(conn)
    .await?;
    rows.reverse();
    Ok(rows)
}

/// The shop's past up to now.
///
/// # Errors
/// When the database fails.
pub async fn history<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    weather: &Weather,
    technicians: usize,
) -> Result<History, StoreError> {
    let rows = rows(conn, shop_id, now - TimeDelta::weeks(WEEKS_MAX), now).await?;
    let mut history = History::empty(technicians);
    let Some(first) = rows.first().map(|row| row.local.date()) else { return Ok(history) };
    let by_day = outdoors(weather, first, now.date_naive());
    // Whole days, the last one in part: what was not looked at yet is not counted as quiet.
    for (day, outdoor_f) in &by_day {
        let hours = if *day == now.date_naive() { now.hour() as usize } else { 24 };
        let monday = day.weekday().num_days_from_monday() as usize * 24;
        (0..hours).for_each(|hour| history.look(monday + hour, *outdoor_f));
    }
    history.calls = rows
        .iter()
        .map(|row| {
            let day = row.local.date();
            let week_hour = day.weekday().num_days_from_monday() * 24 + row.local.hour();
            Past {
                week_hour: (week_hour as usize).min(WEEK_HOURS - 1),
                class: row.class(),
                outdoor_f: row
                    .outdoor_f
                    .or_else(|| by_day.get(&day).copied())
                    .unwrap_or_else(|| weather.of(day).outdoor_f),
                work: row.work(),
                needs: Skills::of(&row.required),
                takes_min: row.takes_min(),
            }
        })
        .collect();
    Ok(history)
}

fn outdoors(weather: &Weather, from: NaiveDate, to: NaiveDate) -> BTreeMap<NaiveDate, i32> {
    let mut by_day = BTreeMap::new();
    let mut day = from;
    while day <= to {
        by_day.insert(day, weather.of(day).outdoor_f);
        let Some(next) = day.checked_add_days(Days::new(1)) else { break };
        day = next;
    }
    by_day
}

/// The calls of a span that was, as the simulation plays them: what is not known of one is what is
/// usual.
///
/// # Errors
/// When the database fails.
pub async fn calls_of<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    span: When,
    takes_usual_min: impl Fn(Work) -> f64,
    places: &ShopPlaces,
    usual_min: i64,
) -> Result<Vec<Call>, StoreError> {
    let rows = rows(conn, shop_id, span.start, span.end()).await?;
    Ok(rows
        .iter()
        .map(|row| Call {
            ready_min: (row.created_at - span.start).num_seconds() as f64 / 60.0,
            class: row.class(),
            work: row.work(),
            needs: Skills::of(&row.required),
            travel_min: usual_min as f64,
            takes_min: row.takes_min().unwrap_or_else(|| takes_usual_min(row.work())),
            held_by: None,
            to: places.of_site(row.site_id).map(|place| To { place, factor: 1.0 }),
        })
        .collect())
}
