//! What has fallen due, and letting it fire.
//!
//! Belongs here: finding due steps, sharing them out, handing each to its noun. Does not belong
//! here: the clock that looks (notify's).
//!
//! Steps of one shop fire in batches: a batch is one transaction, finds the shop's people once
//! and takes the lock of the record once, late. A batch that fails is tried again step by step,
//! so that one step that cannot fire holds up no other.

use std::collections::BTreeMap;

use futures_util::StreamExt as _;
use futures_util::stream;
use roster::ladder::Kind;
use sea_orm::FromQueryResult as _;
use uuid::Uuid;

use super::Due;
use super::people::Staff;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::request::After;
use crate::{job, request};

/// Steps looked at in one go; more are found at the next, which follows at once.
pub const DUE_MAX: usize = 500;

/// Steps that fire in one transaction: enough that a thousand take few commits, few enough that
/// nobody who writes on the record of the shop waits for long.
const BATCH: usize = 50;

/// Batches that one process works on at once; each holds a connection.
const AT_ONCE: usize = 3;

/// Fires every step that has fallen due; says how many. Two processes that look at once share
/// the work: each step fires in one of them.
///
/// # Errors
/// When the database fails.
pub async fn climb_due(store: &Store) -> Result<usize, StoreError> {
    let mut fired = 0;
    loop {
        let due = due(store).await?;
        let mut done = 0;
        let mut batches = stream::iter(batches(store, due))
            .map(|batch| climb_batch(store, batch))
            .buffer_unordered(AT_ONCE);
        while let Some(outcome) = batches.next().await {
            done += outcome?;
        }
        fired += done;
        // Where nothing could be taken another process is at work on it.
        if done == 0 {
            return Ok(fired);
        }
    }
}

/// What has fallen due, longest due first.
async fn due(store: &Store) -> Result<Vec<Due>, StoreError> {
    Ok(Due::find_by_statement(sql(
        "SELECT ladder_id, rung, shop_id, kind, subject_id FROM ladder_step \
         JOIN ladder ON ladder.id = ladder_step.ladder_id \
         WHERE fired_at IS NULL AND skipped_at IS NULL AND due_at <= $1 \
         ORDER BY due_at, ladder_id, rung LIMIT $2",
        [store.now().into(), i64::try_from(DUE_MAX).unwrap_or(i64::MAX).into()],
    ))
    .all(store.conn())
    .await?)
}

/// Shares steps out by shop. Where there are many, each process begins elsewhere among them, so
/// that two that look at once do not meet at every step.
fn batches(store: &Store, due: Vec<Due>) -> Vec<Vec<Due>> {
    let mut by_shop: BTreeMap<Uuid, Vec<Due>> = BTreeMap::new();
    for one in due {
        by_shop.entry(one.shop_id).or_default().push(one);
    }
    let mut all: Vec<Vec<Due>> = by_shop
        .into_values()
        .flat_map(|of_shop| of_shop.chunks(BATCH).map(<[Due]>::to_vec).collect::<Vec<_>>())
        .collect();
    if all.len() > 1 {
        let mut random = [0; 8];
        store.ambient().generator.fill(&mut random);
        let start = usize::try_from(u64::from_le_bytes(random) % all.len() as u64).unwrap_or(0);
        all.rotate_left(start);
    }
    all
}

async fn climb_batch(store: &Store, batch: Vec<Due>) -> Result<usize, StoreError> {
    match climb_together(store, &batch).await {
        Ok(fired) => Ok(fired),
        Err(error @ StoreError::Unavailable { .. }) => Err(error),
        Err(error) if batch.len() == 1 => Err(error),
        Err(error) => {
            tracing::warn!(%error, steps = batch.len(), "ladder steps fire one by one");
            let (mut fired, mut failed) = (0, None);
            for one in batch {
                match climb_together(store, std::slice::from_ref(&one)).await {
                    Ok(done) => fired += done,
                    Err(error) => failed = Some(error),
                }
            }
            match failed {
                // What could fire has; the rest is told, and tried again at the next look.
                Some(error) if fired == 0 => Err(error),
                _ => Ok(fired),
            }
        }
    }
}

/// Fires the steps of one shop in one transaction.
async fn climb_together(store: &Store, batch: &[Due]) -> Result<usize, StoreError> {
    let Some(first) = batch.first() else { return Ok(0) };
    let txn = store.begin().await?;
    let mut staff = Staff::of(&txn, store.now(), first.shop_id).await?;
    let mut after = After::default();
    let of = |due: &&Due| Kind::from_id(&due.kind);
    let jobs: Vec<&Due> = batch.iter().filter(|due| of(due) == Some(Kind::UrgentJob)).collect();
    let mut fired = job::climb(store, &txn, &jobs, &mut staff, &mut after).await?;
    // A kind that is unknown was started by a newer binary, which fires it.
    let requests =
        batch.iter().filter(|due| matches!(of(due), Some(Kind::SecondRead | Kind::Approval)));
    for due in requests {
        let done = request::climb(store, &txn, due, &staff, &mut after).await?;
        fired += usize::from(done);
    }
    let now = store.now();
    after.record(&txn, now).await?;
    after.announce(&txn, now).await?;
    txn.commit().await?;
    Ok(fired)
}
