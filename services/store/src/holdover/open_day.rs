//! The next working day's morning.
//!
//! Belongs here: when a shop opens next. Does not belong here: what waits for it.

use chrono::{DateTime, Datelike as _, Days, LocalResult, NaiveTime, TimeZone as _, Utc, Weekday};
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use crate::error::StoreError;
use crate::ladder::setting::of_shop;

/// When a working day begins where the shop has said nothing else. Common practice, no source.
const OPENS_HOUR: u32 = 8;

/// The next morning of a working day after `now`, by the shop's clock; never today's.
pub(super) async fn next<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
) -> Result<DateTime<Utc>, StoreError> {
    let zone = of_shop(conn, shop_id).await?.zone;
    let mut day = now.with_timezone(&zone).date_naive() + Days::new(1);
    while matches!(day.weekday(), Weekday::Sat | Weekday::Sun) {
        day = day + Days::new(1);
    }
    let opens = NaiveTime::from_hms_opt(OPENS_HOUR, 0, 0).unwrap_or(NaiveTime::MIN);
    Ok(match zone.from_local_datetime(&day.and_time(opens)) {
        LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => at.with_timezone(&Utc),
        LocalResult::None => zone.from_utc_datetime(&day.and_time(opens)).with_timezone(&Utc),
    })
}
