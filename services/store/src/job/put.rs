//! Jobs given out as a plan says, many in one transaction.
//!
//! Belongs here: one job's step of it. Does not belong here: which jobs, and whether the board is
//! still as the plan saw it ([`crate::plan`]).

use sea_orm::{ConnectionTrait as _, DatabaseTransaction};
use serde_json::json;
use uuid::Uuid;

use super::assign::{assignment_add, technician};
use super::change::{Noted, span_json};
use super::{Job, JobState, Window};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};

/// Gives a job to somebody for a slot, to somebody without one, or to nobody. Its row is locked
/// and its standing assignment ended already, so that two jobs may change places.
///
/// # Errors
/// `Invalid` for somebody who is no technician any more, `Overlap` where they are planned
/// elsewhere then, or the database fails.
pub(crate) async fn put(
    txn: &DatabaseTransaction,
    store: &Store,
    caller: &Caller,
    before: &Job,
    (person_id, slot): (Option<Uuid>, Option<Window>),
    plan_id: Uuid,
) -> Result<(), StoreError> {
    let now = store.now();
    let state = match (person_id, before.state) {
        (None, _) => JobState::Open,
        (Some(_), JobState::Open) => JobState::Assigned,
        (Some(_), state) => state,
    };
    txn.execute_raw(sql(
        "UPDATE job SET state = $2, assigned_to = $3, version = version + 1, changed_at = $4 \
         WHERE id = $1",
        [before.id.into(), state.name().into(), person_id.into(), now.into()],
    ))
    .await?;
    if let Some(person_id) = person_id {
        let person = technician(txn, caller.shop_id, person_id).await?;
        assignment_add(txn, store, caller, before.id, &person, slot).await?;
    }
    let mut noted = Noted::default();
    noted.now("assigned_to", person_id);
    noted.was("assigned_to", before.assigned_to.as_ref().map(|(holder, _)| *holder));
    noted.change("planned", before.planned.map(span_json), slot.map(span_json));
    noted.now("plan", plan_id);
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "job_assigned",
        subject_kind: "job",
        subject_id: before.id,
        body: noted.body(),
    };
    record::append(txn, now, entry).await?;
    // Whoever has an urgent job now stops its ladder; taken back, it gets one.
    for entry in super::settle(store, txn, caller.shop_id, before.id).await? {
        record::append(txn, now, entry).await?;
    }
    live_feed::announce(txn, now, caller.shop_id, "job", before.id, json!({})).await
}
