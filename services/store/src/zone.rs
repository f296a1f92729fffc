//! Time zones by their IANA names.
//!
//! Belongs here: whether a name is one. Does not belong here: reckoning with zones.

use sea_orm::ConnectionTrait;

use crate::db::sql;
use crate::error::StoreError;
use crate::text::Faults;

/// Notes a fault where a name is no zone. It must be one for PostgreSQL and for the roster, since
/// times are later reckoned with by both.
pub(crate) async fn check<C: ConnectionTrait>(
    conn: &C,
    faults: &mut Faults,
    pointer: &str,
    zone: &str,
) -> Result<(), StoreError> {
    let known = conn
        .query_one_raw(sql("SELECT 1 FROM pg_timezone_names WHERE name = $1", [zone.into()]))
        .await?;
    if known.is_none() || roster::calendar::zone::by_name(zone).is_none() {
        faults.add(pointer, "This is no IANA time zone; one looks like America/Denver.");
    }
    Ok(())
}
