//! The ladder for a second read: asking one, then more, until somebody accepts.
//!
//! Belongs here: starting and stopping it with the request's moves, and what each rung does.
//! Does not belong here: the rungs themselves ([`roster::ladder`]), their times being kept
//! ([`crate::ladder`]), and the worker that looks for what is due (notify's).

use chrono::TimeDelta;
use engine::gate::State;
use roster::ladder::Rung;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use serde_json::json;
use uuid::Uuid;

use super::after::After;
use super::people::People;
use super::{Request, ask, find};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::ladder::{self, Due, Step, Subject};

/// The name of this kind of ladder.
pub(super) const KIND: &str = "second_read";

/// Starts asking for a second read; the first rung fires at once. `first` is somebody chosen
/// in place of the best placed, and by whom.
pub(super) async fn start<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    first: Option<(Uuid, Uuid)>,
    after: &mut After,
) -> Result<(), StoreError> {
    let now = store.now();
    let steps = Rung::ALL.map(|rung| (rung.id(), now + TimeDelta::minutes(rung.after_min())));
    let subject = Subject {
        shop_id: request.shop_id,
        kind: KIND,
        subject_kind: "request",
        subject_id: request.id,
    };
    let Some(ladder_id) = ladder::start(store, txn, subject, &steps).await? else {
        // It stands already: who was asked on other evidence stays asked.
        return Ok(());
    };
    let lowest = Step {
        ladder_id,
        rung: 0,
        action: Rung::Best.id().to_owned(),
        due_at: now,
        fired_at: None,
        skipped_at: None,
    };
    fire(store, txn, request, &lowest, first, after).await
}

/// Stops asking, because somebody accepted or nobody is wanted any more. What was asked and
/// not answered lapses.
pub(super) async fn stop<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request_id: Uuid,
    why: &str,
) -> Result<(), StoreError> {
    let now = store.now();
    ladder::stop(txn, now, KIND, request_id, why).await?;
    ask::lapse(txn, now, request_id).await
}

/// Fires the next rung now, since nobody who was asked is left to answer.
pub(super) async fn go_on<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    after: &mut After,
) -> Result<(), StoreError> {
    match ladder::bring_forward(txn, store.now(), KIND, request.id).await? {
        Some(step) => fire(store, txn, request, &step, None, after).await,
        None => Ok(()),
    }
}

/// Does what a rung says, in the transaction that notes it. A rung that finds nobody left to
/// ask hands over to the next at once, up to the managers.
async fn fire<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    step: &Step,
    first: Option<(Uuid, Uuid)>,
    after: &mut After,
) -> Result<(), StoreError> {
    let mut step = step.clone();
    let mut first = first;
    loop {
        let asked = fire_one(store, txn, request, &step, first.take(), after).await?;
        if asked > 0 {
            return Ok(());
        }
        match ladder::bring_forward(txn, store.now(), KIND, request.id).await? {
            Some(next) => step = next,
            None => return Ok(()),
        }
    }
}

/// Says how many were asked.
async fn fire_one<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    step: &Step,
    first: Option<(Uuid, Uuid)>,
    after: &mut After,
) -> Result<usize, StoreError> {
    let now = store.now();
    let rung = Rung::from_id(&step.action).ok_or(StoreError::NotFound { what: "rung" })?;
    let people = People::of(txn, now, request.shop_id, &[request]).await?;
    let mut asked = Vec::new();
    if let Some((person, by)) = first {
        if ask::ask_reader(store, txn, request, person, Some(by)).await? {
            asked.push(person);
        }
    } else {
        for ranked in people.readers_of(request).ranked {
            if asked.len() < rung.asks()
                && ask::ask_reader(store, txn, request, ranked.id, None).await?
            {
                asked.push(ranked.id);
            }
        }
    }
    let told = if rung.tells_managers() {
        ask::tell_managers(store, txn, request, &people).await?
    } else {
        Vec::new()
    };
    ladder::fired(txn, now, step.ladder_id, step.rung).await?;
    let count = asked.len();
    let body = json!({
        "ladder": step.ladder_id,
        "rung": step.rung,
        "action": step.action,
        "due_at": step.due_at,
        "asked": asked,
        "told": told,
    });
    after.request(request, None, "ladder_fired", body);
    Ok(count)
}

/// Fires every rung that has fallen due for a second read; says how many. Two processes that
/// look at once share the work: each rung fires in one of them.
///
/// # Errors
/// When the database fails.
pub async fn climb_due(store: &Store) -> Result<usize, StoreError> {
    let mut fired = 0;
    for due in ladder::due(store).await? {
        if due.kind == KIND && climb(store, &due).await? {
            fired += 1;
        }
    }
    Ok(fired)
}

async fn climb(store: &Store, due: &Due) -> Result<bool, StoreError> {
    let txn = store.begin().await?;
    if !lock(&txn, due).await? {
        // Somebody is at work on it; the next look finds it settled, or still due.
        return Ok(false);
    }
    let now = store.now();
    let request = find(&txn, now, due.shop_id, due.subject_id).await?;
    let Some(step) = ladder::take(&txn, now, due).await? else { return Ok(false) };
    let mut after = After::default();
    if request.state == State::Ready {
        fire(store, &txn, &request, &step, None, &mut after).await?;
    } else {
        // Every move that leaves this state stops the ladder with it.
        stop(store, &txn, request.id, "no reader is wanted").await?;
    }
    after.record(&txn, now).await?;
    after.announce(&txn, now).await?;
    txn.commit().await?;
    Ok(true)
}

/// Locks the job, then the request, as every move does; says whether both were free.
async fn lock(txn: &DatabaseTransaction, due: &Due) -> Result<bool, StoreError> {
    for text in [
        "SELECT 1 FROM job WHERE id = (SELECT job_id FROM condemn_request WHERE id = $1) \
         FOR NO KEY UPDATE SKIP LOCKED",
        "SELECT 1 FROM condemn_request WHERE id = $1 FOR NO KEY UPDATE SKIP LOCKED",
    ] {
        if txn.query_one_raw(sql(text, [due.subject_id.into()])).await?.is_none() {
            return Ok(false);
        }
    }
    Ok(true)
}
