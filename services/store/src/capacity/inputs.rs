//! A span as the simulation needs it, from everything that is kept.
//!
//! Belongs here: putting calendar, people, jobs, past and weather together, and the backdrop that
//! a rule is tried before. Does not belong here: playing it ([`super::outlook`]).

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::demand::{Demand, Hour};
use roster::capacity::learn::{Lognormal, PRIOR_TRAVEL, learn};
use roster::capacity::outlook::{Odds, PART_HOURS, Standing};
use roster::capacity::{CLASSES, Setting, Skills, Work};
use roster::queue::Urgency;
use roster::rules::Values;
use roster::rules::rehearse::Backdrop;
use roster::rules::schema::DAYS;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::days::{self, HourOf, SpanName, When};
use super::past;
use super::people::{People, people};
use super::places::{self, ShopPlaces};
use super::setting::{self, CapacitySetting, Weather, WeatherDay};
use crate::calendar;
use crate::db::sql;
use crate::error::StoreError;

/// Most open jobs that a span begins with, the most pressing; with more no call is served in time
/// anyway, and the rest change nothing.
const STANDING_MAX: i64 = 400;

/// A span with all that it is reckoned from.
#[derive(Clone, Debug)]
pub struct Inputs {
    /// Its name.
    pub span: SpanName,
    /// When it is.
    pub when: When,
    /// Its hours.
    pub hours: Vec<HourOf>,
    /// Outdoors on its days.
    pub weather: Vec<WeatherDay>,
    /// Who there is.
    pub people: People,
    /// Where calls come from.
    pub places: ShopPlaces,
    /// What the shop says.
    pub capacity: CapacitySetting,
    /// For the simulation: people, waits, rest.
    pub setting: Setting,
    /// For the simulation: what is expected.
    pub demand: Demand,
    /// For the simulation: what stands.
    pub standing: Vec<Standing>,
    /// Calls learnt from.
    pub learnt_calls: usize,
    /// Weeks learnt from.
    pub learnt_weeks: f64,
}

impl Inputs {
    /// Everything for a span, seen from now.
    ///
    /// # Errors
    /// `Conflict` for a long weekend where there is none, or the database fails.
    pub async fn of<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        now: DateTime<Utc>,
        span: SpanName,
    ) -> Result<Self, StoreError> {
        let calendar = calendar::of_shop(conn, shop_id).await?;
        let when = days::when(&calendar, now, span)?;
        let hours = days::hours(&calendar, when.start, when.hours);
        let capacity = setting::of_shop(conn, shop_id).await?;
        let weather = setting::weather(conn, shop_id).await?;
        let since = now - TimeDelta::weeks(past::WEEKS_MAX);
        let places = places::of_shop(conn, shop_id, since, capacity.travel_min).await?;
        let people = people(conn, shop_id, now, when, &hours, &places).await?;
        let history = past::history(conn, shop_id, now, &weather, people.all.len()).await?;
        let mut learnt = learn(&history);
        learnt.travel = Lognormal::with_median(capacity.travel_min as f64, PRIOR_TRAVEL.1);
        let mut demand = Demand::of(&learnt, &span_hours(&hours, &weather));
        demand.place_shares.clone_from(&places.shares);
        let standing = standing(conn, shop_id, now, when, (&people, &places)).await?;
        let setting = Setting {
            hours: when.hours,
            people: people.all.iter().map(|somebody| somebody.person.clone()).collect(),
            tolerable: capacity.tolerable,
            rest: calendar.rest().into(),
            called_when_late: true,
            places: places.places.clone(),
        };
        let mut dates: Vec<_> = hours.iter().map(|hour| hour.date).collect();
        dates.dedup();
        Ok(Inputs {
            span,
            when,
            weather: dates.into_iter().map(|date| weather.of(date)).collect(),
            hours,
            people,
            places,
            capacity,
            setting,
            demand,
            standing,
            learnt_calls: learnt.calls,
            learnt_weeks: learnt.weeks,
        })
    }

    /// What a rule sees beside the queue in each hour, with the chance of being late in its part of
    /// the span.
    pub fn backdrop(&self, by_part: &[[Odds; CLASSES]]) -> Backdrop {
        let hours = self.hours.iter().enumerate().map(|(at, hour)| {
            let chances = by_part.get(at / PART_HOURS).copied().unwrap_or_default();
            Values {
                outdoor_f: self.outdoor_f(hour),
                chance_late: chances.map(|odds| odds.chance),
                ..calendar_values(hour)
            }
        });
        let minutes = |at: DateTime<Utc>| (at - self.when.start).num_seconds() as f64 / 60.0;
        Backdrop {
            start: self.when.start,
            hours: hours.collect(),
            next_open_min: self
                .hours
                .iter()
                .map(|hour| hour.next_open.map_or(f64::INFINITY, minutes))
                .collect(),
        }
    }

    fn outdoor_f(&self, hour: &HourOf) -> i64 {
        let day = self.weather.iter().find(|day| day.day == hour.date);
        day.map_or(0, |day| i64::from(day.outdoor_f))
    }
}

/// What the calendar says of an hour, as a rule sees it.
pub(crate) fn calendar_values(hour: &HourOf) -> Values {
    Values {
        weekend: hour.weekend(),
        holiday: hour.holiday.is_some(),
        shop_open: hour.open,
        day: DAYS[hour.week_hour() / 24 % 7].to_owned(),
        hour: i64::from(hour.hour),
        ..Values::default()
    }
}

fn span_hours(hours: &[HourOf], weather: &Weather) -> Vec<Hour> {
    hours
        .iter()
        .map(|hour| Hour {
            week_hour: hour.week_hour(),
            outdoor_f: weather.of(hour.date).outdoor_f,
            usual_f: weather.usual(hour.date),
        })
        .collect()
}

/// Open jobs that fall into the span: all of them where it begins now, else those promised or
/// planned in it.
async fn standing<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    when: When,
    (people, places): (&People, &ShopPlaces),
) -> Result<Vec<Standing>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        created_at: DateTime<Utc>,
        urgency: String,
        work: String,
        required: Vec<String>,
        expected_min: i32,
        assigned_to: Option<Uuid>,
        site_id: Uuid,
        starts: Option<DateTime<Utc>>,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT job.created_at, job.urgency, job.work, \
             job.required, \
             job.expected_min, job.assigned_to, unit.site_id, \
             greatest(coalesce(lower(assignment.planned), job.window_start), \
                 job.not_before, (SELECT until FROM holdover WHERE holdover.job_id = job.id \
                     AND holdover.ended_at IS NULL)) AS starts \
         FROM job JOIN unit ON unit.id = job.unit_id LEFT JOIN assignment \
             ON assignment.job_id = job.id AND assignment.ended_at IS NULL \
         WHERE job.shop_id = $1 AND job.state IN ('open', 'assigned') \
         ORDER BY array_position(ARRAY['no_heat_vulnerable', 'water', 'food_storage', \
             'no_heat_cool', 'comfort'], job.urgency), job.created_at, job.id LIMIT $2",
        [shop_id.into(), STANDING_MAX.into()],
    ))
    .all(conn)
    .await?;
    let begins_now = when.start <= now + TimeDelta::hours(1);
    let minutes = |at: DateTime<Utc>| (at - when.start).num_seconds() as f64 / 60.0;
    let standing = rows
        .into_iter()
        .filter(|row| match row.starts {
            Some(starts) if starts > now => (when.start..when.end()).contains(&starts),
            _ => begins_now,
        })
        .map(|row| Standing {
            ready_min: minutes(row.starts.unwrap_or(row.created_at)),
            class: Urgency::from_id(&row.urgency).unwrap_or(Urgency::Comfort),
            work: Work::from_id(&row.work).unwrap_or(Work::Diagnosis),
            needs: Skills::of(&row.required),
            expected_min: Some(f64::from(row.expected_min)),
            held_by: row
                .assigned_to
                .and_then(|id| people.all.iter().position(|somebody| somebody.id == id)),
            place: places.of_site(row.site_id),
        })
        .collect();
    Ok(standing)
}
