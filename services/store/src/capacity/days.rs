//! The hours of a span, on the shop's own clock.
//!
//! Belongs here: when tonight, Saturday, Sunday, the weekend and a long weekend are, and what
//! each hour is: its day, whether the shop is open, when it next is. Does not belong here: the
//! shop's calendar itself.

use chrono::{DateTime, Datelike as _, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Utc};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;

/// When a weekend begins on its Friday, and a night ends; local hours.
const WEEKEND_FROM_HOUR: u32 = 17;
const NIGHT_TO_HOUR: u32 = 8;

/// How far ahead the next open day is looked for, hours.
const NEXT_OPEN_HOURS: i64 = 24 * 12;

/// A span by its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SpanName {
    /// From now to the next morning.
    Tonight,
    /// The next Saturday, or what is left of this one.
    Saturday,
    /// The next Sunday, or what is left of this one.
    Sunday,
    /// From Friday evening to Monday morning, or what is left of it.
    Weekend,
    /// A weekend with the holidays beside it.
    LongWeekend,
    /// The weekend before: for trying a rule on what was.
    LastWeekend,
}

impl SpanName {
    /// Every span that can be asked for.
    pub const ALL: [SpanName; 6] = [
        SpanName::Tonight,
        SpanName::Saturday,
        SpanName::Sunday,
        SpanName::Weekend,
        SpanName::LongWeekend,
        SpanName::LastWeekend,
    ];

    /// As sent.
    pub fn name(self) -> &'static str {
        match self {
            SpanName::Tonight => "tonight",
            SpanName::Saturday => "saturday",
            SpanName::Sunday => "sunday",
            SpanName::Weekend => "weekend",
            SpanName::LongWeekend => "long_weekend",
            SpanName::LastWeekend => "last_weekend",
        }
    }

    /// From its name.
    pub fn from_name(name: &str) -> Option<Self> {
        SpanName::ALL.into_iter().find(|span| span.name() == name)
    }
}

/// A span in time, whole hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct When {
    /// From.
    pub start: DateTime<Utc>,
    /// Hours.
    pub hours: usize,
}

impl When {
    /// To.
    pub fn end(self) -> DateTime<Utc> {
        self.start + TimeDelta::hours(i64::try_from(self.hours).unwrap_or(0))
    }
}

/// One hour on the shop's clock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HourOf {
    /// When it begins.
    pub at: DateTime<Utc>,
    /// The day.
    pub date: NaiveDate,
    /// 0 to 23.
    pub hour: u32,
    /// The holiday, where it is one.
    pub holiday: Option<String>,
    /// The shop has opening hours then.
    pub open: bool,
    /// When the next open day begins, as seen from then.
    pub next_open: Option<DateTime<Utc>>,
}

impl HourOf {
    /// Hour of the week, Monday from midnight.
    pub fn week_hour(&self) -> usize {
        (self.date.weekday().num_days_from_monday() * 24 + self.hour) as usize
    }

    /// Saturday or Sunday.
    pub fn weekend(&self) -> bool {
        self.date.weekday().num_days_from_monday() >= 5
    }
}

#[derive(FromQueryResult)]
struct Local {
    at: DateTime<Utc>,
    local: NaiveDateTime,
}

/// Moments on the shop's clock.
async fn local<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    from: DateTime<Utc>,
    hours: i64,
) -> Result<Vec<Local>, StoreError> {
    Ok(Local::find_by_statement(sql(
        "SELECT at, at AT TIME ZONE shop.zone AS local FROM shop, \
         generate_series($2::timestamptz, $3, interval '1 hour') AS at WHERE shop.id = $1 \
         ORDER BY at",
        [shop_id.into(), from.into(), (from + TimeDelta::hours(hours - 1)).into()],
    ))
    .all(conn)
    .await?)
}

/// When it is that on the shop's clock.
async fn moment<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    date: NaiveDate,
    hour: u32,
) -> Result<DateTime<Utc>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        at: DateTime<Utc>,
    }
    let local = date.and_time(NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default());
    let row = Row::find_by_statement(sql(
        "SELECT $2::timestamp AT TIME ZONE zone AS at FROM shop WHERE id = $1",
        [shop_id.into(), local.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "shop" })?;
    Ok(row.at)
}

/// When a span is, seen from now. One that has begun is what is left of it, from this hour on.
///
/// # Errors
/// `Conflict` where no long weekend is near, or the database fails.
pub async fn when<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    span: SpanName,
) -> Result<When, StoreError> {
    let here = local(conn, shop_id, now, 1).await?;
    let here = here.first().ok_or(StoreError::NotFound { what: "shop" })?.local;
    let this_hour = now
        - TimeDelta::seconds(now.timestamp().rem_euclid(3_600))
        - TimeDelta::microseconds(i64::from(now.timestamp_subsec_micros()));
    let today = here.date();
    let hour_now = chrono::Timelike::hour(&here.time());
    let to = |days: u64| today.checked_add_days(Days::new(days)).unwrap_or(today);
    let weekday = u64::from(today.weekday().num_days_from_monday());
    // Days to the Friday of this weekend while it lasts, of the next one after.
    let last = weekday >= 5 || weekday == 0 && hour_now < NIGHT_TO_HOUR;
    let friday = if last {
        today.checked_sub_days(Days::new((weekday + 3) % 7)).unwrap_or(today)
    } else {
        to(4_u64.saturating_sub(weekday))
    };
    let after = |date: NaiveDate, days: u64| date.checked_add_days(Days::new(days)).unwrap_or(date);
    let before = |date: NaiveDate| date.checked_sub_days(Days::new(7)).unwrap_or(date);
    let (from, until) = match span {
        SpanName::Tonight => {
            let morning = if hour_now < NIGHT_TO_HOUR { today } else { to(1) };
            ((today, 0), (morning, NIGHT_TO_HOUR))
        }
        SpanName::Saturday | SpanName::Sunday => {
            let wanted = if span == SpanName::Saturday { 5 } else { 6 };
            let day = to((wanted + 7 - weekday) % 7);
            ((day, 0), (after(day, 1), 0))
        }
        SpanName::Weekend => ((friday, WEEKEND_FROM_HOUR), (after(friday, 3), NIGHT_TO_HOUR)),
        SpanName::LastWeekend => {
            let friday = before(friday);
            ((friday, WEEKEND_FROM_HOUR), (after(friday, 3), NIGHT_TO_HOUR))
        }
        SpanName::LongWeekend => return long_weekend(conn, shop_id, this_hour).await,
    };
    let start = moment(conn, shop_id, from.0, from.1).await?;
    let end = moment(conn, shop_id, until.0, until.1).await?;
    let start = if span == SpanName::LastWeekend { start } else { start.max(this_hour) };
    Ok(between(start, end))
}

fn between(start: DateTime<Utc>, end: DateTime<Utc>) -> When {
    let hours = usize::try_from((end - start).num_hours()).unwrap_or(0);
    When { start, hours: hours.clamp(1, roster::capacity::SPAN_HOURS_MAX) }
}

/// The next closed stretch that is longer than a weekend, within some weeks.
async fn long_weekend<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    this_hour: DateTime<Utc>,
) -> Result<When, StoreError> {
    const LOOK_DAYS: i64 = 60;
    const LONGER_THAN_HOURS: usize = 72;
    let hours = hours(conn, shop_id, this_hour, LOOK_DAYS * 24).await?;
    let mut start = 0;
    for (at, hour) in hours.iter().enumerate() {
        if hour.open {
            if at - start > LONGER_THAN_HOURS {
                break;
            }
            start = at + 1;
        }
    }
    let closed = hours[start.min(hours.len())..].iter().take_while(|hour| !hour.open).count();
    match hours.get(start).filter(|_| closed > LONGER_THAN_HOURS) {
        Some(first) => Ok(between(first.at, first.at + TimeDelta::hours(closed as i64))),
        None => Err(StoreError::conflict(
            "no-long-weekend",
            format!(
                "No weekend of the next {LOOK_DAYS} days is longer than {LONGER_THAN_HOURS} closed \
                 hours. Holidays come from the shop's calendar; look there if one is missing."
            ),
        )),
    }
}

/// The hours from a moment on.
///
/// # Errors
/// When the database fails.
pub async fn hours<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    from: DateTime<Utc>,
    count: i64,
) -> Result<Vec<HourOf>, StoreError> {
    let local = local(conn, shop_id, from, count + NEXT_OPEN_HOURS).await?;
    let mut hours: Vec<HourOf> = local
        .into_iter()
        .map(|moment| {
            let date = moment.local.date();
            let hour = chrono::Timelike::hour(&moment.local.time());
            let weekday = date.weekday().num_days_from_monday();
            let open = weekday < 5 && (8..17).contains(&hour);
            HourOf { at: moment.at, date, hour, holiday: None, open, next_open: None }
        })
        .collect();
    // Backwards: the next open day's first hour, later than the day at hand.
    let mut openings: Vec<(NaiveDate, DateTime<Utc>)> = Vec::new();
    for at in (0..hours.len()).rev() {
        let hour = &mut hours[at];
        if hour.open {
            match openings.last_mut() {
                Some(last) if last.0 == hour.date => last.1 = hour.at,
                _ => openings.push((hour.date, hour.at)),
            }
        }
        let today = hour.date;
        let later =
            openings.iter().rev().find(|(date, at)| *date > today || *at > hour.at && !hour.open);
        hour.next_open = later.map(|(_, at)| *at);
    }
    hours.truncate(usize::try_from(count).unwrap_or(0));
    Ok(hours)
}
