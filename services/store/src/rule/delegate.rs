//! Who may approve for a while by a rule, though they do not manage.
//!
//! Belongs here: the delegations that stand. Does not belong here: what the gate asks of an
//! approver; a delegate is asked the same.

use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;

/// Whether somebody may approve that amount now, by a delegation.
pub(crate) async fn may_approve<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    person_id: Uuid,
    amount_cents: i64,
) -> Result<bool, StoreError> {
    let found = conn
        .query_one_raw(sql(
            "SELECT 1 FROM approval_delegate WHERE person_id = $1 AND at <= $2 AND until > $2 \
                 AND up_to_cents > $3 LIMIT 1",
            [person_id.into(), now.into(), amount_cents.into()],
        ))
        .await?;
    Ok(found.is_some())
}
