//! The next working day's morning.
//!
//! Belongs here: when a shop opens next. Does not belong here: what waits for it.

use chrono::{DateTime, Days, TimeDelta, Utc};
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use crate::calendar;
use crate::error::StoreError;

/// How long a job is put off in a shop whose calendar has no opening hours at all.
const CLOSED_FOR_GOOD: TimeDelta = TimeDelta::days(1);

/// When the shop opens next after today, by its own calendar, holidays included.
pub(super) async fn next<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
) -> Result<DateTime<Utc>, StoreError> {
    let calendar = calendar::of_shop(conn, shop_id).await?;
    let tomorrow = calendar.moment(calendar.date(now) + Days::new(1), 0);
    Ok(calendar.next_open(tomorrow).unwrap_or(now + CLOSED_FOR_GOOD))
}
