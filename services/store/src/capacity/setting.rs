//! What a shop says about capacity: longest waits, the usual way to a call, the weather.
//!
//! Belongs here: keeping and changing it. Does not belong here: what follows from it.

use std::collections::BTreeMap;

use chrono::{Datelike as _, NaiveDate};
use roster::capacity::{CLASSES, Tolerable};
use roster::queue::Urgency;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;

/// Shortest and longest wait that a class can be given, minutes: a quarter of an hour, two weeks.
pub const TOLERABLE_MIN: (i64, i64) = (15, 14 * 24 * 60);

/// Shortest and longest usual way, minutes.
pub const TRAVEL_MIN: (i64, i64) = (1, 240);

/// Coldest and hottest that is believed, °F.
pub const OUTDOOR_F: (i32, i32) = (-80, 140);

/// How far ahead and back a day's weather can be entered, days.
const WEATHER_DAYS: i64 = 400;

/// Outdoors by month where nobody entered anything and no call said anything, °F: the daily
/// means of a cold temperate town, rounded. Common practice, no source.
const SEASON_F: [i32; 12] = [24, 28, 38, 50, 61, 71, 76, 74, 66, 53, 40, 29];

/// What a shop says.
#[derive(Clone, Debug, PartialEq)]
pub struct CapacitySetting {
    /// How long each class may wait.
    pub tolerable: Tolerable,
    /// The usual way to a call, minutes.
    pub travel_min: i64,
    /// Whether the shop ever said so itself.
    pub own: bool,
}

impl Default for CapacitySetting {
    fn default() -> Self {
        CapacitySetting {
            tolerable: Tolerable::default(),
            travel_min: roster::capacity::learn::PRIOR_TRAVEL.0 as i64,
            own: false,
        }
    }
}

/// What to change; all of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingChange {
    /// Longest wait by class, minutes.
    pub tolerable_min: BTreeMap<String, i64>,
    /// The usual way to a call, minutes.
    pub travel_min: i64,
}

/// Outdoors on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeatherDay {
    /// The day.
    pub day: NaiveDate,
    /// °F.
    pub outdoor_f: i32,
    /// Somebody entered it; guessed from the season otherwise.
    pub entered: bool,
}

#[derive(FromQueryResult)]
struct Row {
    tolerable_min: Value,
    travel_min: i32,
}

/// What the shop says, or the defaults.
///
/// # Errors
/// When the database fails.
pub async fn of_shop<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
) -> Result<CapacitySetting, StoreError> {
    let row = Row::find_by_statement(sql(
        "SELECT tolerable_min, travel_min FROM capacity_setting WHERE shop_id = $1",
        [shop_id.into()],
    ))
    .one(conn)
    .await?;
    let Some(row) = row else { return Ok(CapacitySetting::default()) };
    let mut tolerable = Tolerable::default();
    for (class, urgency) in Urgency::ALL.into_iter().enumerate() {
        if let Some(minutes) = row.tolerable_min.get(urgency.id()).and_then(Value::as_f64) {
            tolerable.0[class] = minutes;
        }
    }
    Ok(CapacitySetting { tolerable, travel_min: i64::from(row.travel_min), own: true })
}

/// Changes it, on the record.
///
/// # Errors
/// `Forbidden` unless they manage, `InvalidMany`, or the database fails.
pub async fn change(
    store: &Store,
    caller: &Caller,
    change: SettingChange,
) -> Result<CapacitySetting, StoreError> {
    caller.must_manage("change how long a call may wait")?;
    let mut faults = Faults::default();
    let (least, most) = TOLERABLE_MIN;
    let mut tolerable = [0.0; CLASSES];
    for (class, urgency) in Urgency::ALL.into_iter().enumerate() {
        let pointer = format!("/tolerable_min/{}", urgency.id());
        match change.tolerable_min.get(urgency.id()) {
            Some(minutes) if (least..=most).contains(minutes) => tolerable[class] = *minutes as f64,
            Some(minutes) => faults.add(
                &pointer,
                format!("{minutes} min is outside {least} to {most}, which is what a wait may be."),
            ),
            None => faults.add(&pointer, "Say how long this class may wait, in minutes."),
        }
    }
    for name in change.tolerable_min.keys() {
        if Urgency::from_id(name).is_none() {
            faults.add(&format!("/tolerable_min/{name}"), "There is no such class of urgency.");
        }
    }
    if !(TRAVEL_MIN.0..=TRAVEL_MIN.1).contains(&change.travel_min) {
        faults.add(
            "/travel_min",
            format!("The usual way is {} to {} minutes long.", TRAVEL_MIN.0, TRAVEL_MIN.1),
        );
    }
    faults.done()?;

    let now = store.now();
    let txn = store.begin().await?;
    let before = of_shop(&txn, caller.shop_id).await?;
    txn.execute_raw(sql(
        "INSERT INTO capacity_setting (shop_id, tolerable_min, travel_min, changed_by, changed_at) \
         VALUES ($1, $2, $3, $4, $5) ON CONFLICT (shop_id) DO UPDATE SET \
         tolerable_min = excluded.tolerable_min, travel_min = excluded.travel_min, \
         changed_by = excluded.changed_by, changed_at = excluded.changed_at",
        [
            caller.shop_id.into(),
            json!(change.tolerable_min).into(),
            change.travel_min.into(),
            caller.person_id.into(),
            now.into(),
        ],
    ))
    .await?;
    let after = CapacitySetting {
        tolerable: Tolerable(tolerable),
        travel_min: change.travel_min,
        own: true,
    };
    let said = |setting: &CapacitySetting| json!({ "tolerable_min": setting.tolerable.0, "travel_min": setting.travel_min });
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "capacity_changed",
        subject_kind: "shop",
        subject_id: caller.shop_id,
        body: json!({ "before": said(&before), "after": said(&after) }),
    };
    record::append(&txn, now, entry).await?;
    live_feed::announce(&txn, now, caller.shop_id, "capacity", caller.shop_id, json!({})).await?;
    txn.commit().await?;
    Ok(after)
}

/// Enters a day's weather, or takes it back.
///
/// # Errors
/// `Forbidden` unless they schedule, `Invalid` for a temperature nobody would believe or a day too
/// far away, or the database fails.
pub async fn weather_set(
    store: &Store,
    caller: &Caller,
    day: NaiveDate,
    outdoor_f: Option<i32>,
) -> Result<(), StoreError> {
    caller.must_schedule("enter the weather")?;
    let now = store.now();
    if (day - now.date_naive()).num_days().abs() > WEATHER_DAYS {
        return Err(StoreError::invalid(
            "/day",
            format!("The weather is entered for at most {WEATHER_DAYS} days around today."),
        ));
    }
    let txn = store.begin().await?;
    match outdoor_f {
        Some(outdoor_f) if !(OUTDOOR_F.0..=OUTDOOR_F.1).contains(&outdoor_f) => {
            return Err(StoreError::invalid(
                "/outdoor_f",
                format!("{outdoor_f} °F is outside {} to {} °F.", OUTDOOR_F.0, OUTDOOR_F.1),
            ));
        }
        Some(outdoor_f) => {
            txn.execute_raw(sql(
                "INSERT INTO outdoor_day (shop_id, day, outdoor_f, by, at) \
                 VALUES ($1, $2, $3, $4, $5) ON CONFLICT (shop_id, day) DO UPDATE SET \
                 outdoor_f = excluded.outdoor_f, by = excluded.by, at = excluded.at",
                [
                    caller.shop_id.into(),
                    day.into(),
                    outdoor_f.into(),
                    caller.person_id.into(),
                    now.into(),
                ],
            ))
            .await?;
        }
        None => {
            txn.execute_raw(sql(
                "DELETE FROM outdoor_day WHERE shop_id = $1 AND day = $2",
                [caller.shop_id.into(), day.into()],
            ))
            .await?;
        }
    }
    live_feed::announce(&txn, now, caller.shop_id, "capacity", caller.shop_id, json!({})).await?;
    txn.commit().await?;
    Ok(())
}

/// What is known of the weather.
#[derive(Clone, Debug, Default)]
pub struct Weather {
    entered: BTreeMap<NaiveDate, i32>,
    /// What was said on the calls of that day, on average.
    said: BTreeMap<NaiveDate, i32>,
    /// The mean of that by month, where anything was said.
    usual: BTreeMap<u32, i32>,
}

impl Weather {
    /// Outdoors on a day, and whether somebody entered it.
    pub fn of(&self, day: NaiveDate) -> WeatherDay {
        let entered = self.entered.get(&day).copied();
        let outdoor_f =
            entered.or_else(|| self.said.get(&day).copied()).unwrap_or_else(|| self.usual(day));
        WeatherDay { day, outdoor_f, entered: entered.is_some() }
    }

    /// Outdoors on such a day of a usual year.
    pub fn usual(&self, day: NaiveDate) -> i32 {
        self.usual.get(&day.month()).copied().unwrap_or(SEASON_F[day.month0() as usize])
    }
}

/// What is known of the weather, entered and said on calls.
///
/// # Errors
/// When the database fails.
pub async fn weather<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Weather, StoreError> {
    #[derive(FromQueryResult)]
    struct Day {
        day: NaiveDate,
        outdoor_f: i32,
    }
    let entered = Day::find_by_statement(sql(
        "SELECT day, outdoor_f FROM outdoor_day WHERE shop_id = $1",
        [shop_id.into()],
    ))
    .all(conn)
    .await?;
    let said = Day::find_by_statement(sql(
        "SELECT (job.created_at AT TIME ZONE shop.zone)::date AS day, \
             round(avg(job.outdoor_f))::integer AS outdoor_f \
         FROM job JOIN shop ON shop.id = job.shop_id \
         WHERE job.shop_id = $1 AND job.outdoor_f IS NOT NULL GROUP BY 1",
        [shop_id.into()],
    ))
    .all(conn)
    .await?;
    let mut months: BTreeMap<u32, (i64, i64)> = BTreeMap::new();
    for day in entered.iter().chain(&said) {
        let month = months.entry(day.day.month()).or_default();
        *month = (month.0 + i64::from(day.outdoor_f), month.1 + 1);
    }
    let by_day = |days: Vec<Day>| days.into_iter().map(|day| (day.day, day.outdoor_f)).collect();
    Ok(Weather {
        entered: by_day(entered),
        said: by_day(said),
        usual: months
            .into_iter()
            .map(|(month, (sum, count))| (month, i32::try_from(sum / count).unwrap_or(0)))
            .collect(),
    })
}
