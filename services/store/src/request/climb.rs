//! The ladders of a request: for a second reader, and for whoever answers for the money.
//!
//! Belongs here: starting and stopping them with the request's moves, and what each step says
//! to whom. Does not belong here: which steps there are ([`crate::ladder::setting`]), whom one
//! reaches (the roster's), and the worker that looks for what is due (notify's).

use std::collections::BTreeSet;

use engine::gate::State;
use roster::ladder::Kind;
use roster::queue::Urgency;
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::after::After;
use super::people::People;
use super::{Request, ask, find};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::ladder::people::Staff;
use crate::ladder::{self, Climb, Due, Fired, Step, Subject, climb_from};

/// In which state a request's ladder of a kind climbs.
fn climbs_in(kind: Kind) -> State {
    match kind {
        Kind::Approval => State::AwaitingApproval,
        Kind::SecondRead | Kind::UrgentJob => State::Ready,
    }
}

/// Starts asking for a second read. `first` is somebody chosen in place of the best placed, and
/// by whom; they are asked at once.
pub(super) async fn start<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    first: Option<(Uuid, Uuid)>,
    after: &mut After,
) -> Result<(), StoreError> {
    // Where it stands already, who was asked on other evidence stays asked.
    for fired in begin(store, txn, request, Kind::SecondRead, first).await? {
        after.request(request, None, fired.record_kind(), fired.body(Kind::SecondRead));
    }
    Ok(())
}

/// Starts asking for approval; says who is asked at once.
pub(super) async fn start_approval<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    after: &mut After,
) -> Result<Vec<Uuid>, StoreError> {
    let mut asked = Vec::new();
    for fired in begin(store, txn, request, Kind::Approval, None).await? {
        // Who was asked at once stands in the entry of the move itself.
        if fired.fire.asked.is_empty() {
            after.request(request, None, fired.record_kind(), fired.body(Kind::Approval));
        }
        asked.extend(fired.fire.asked);
    }
    Ok(asked)
}

async fn begin<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    kind: Kind,
    first: Option<(Uuid, Uuid)>,
) -> Result<Vec<Fired>, StoreError> {
    let now = store.now();
    let staff = Staff::of(txn, now, request.shop_id).await?;
    let subject = Subject { shop_id: request.shop_id, kind, subject_id: request.id };
    let variant = staff.setting.variant_at(now);
    let Some(lowest) = ladder::start(store, txn, subject, &staff.setting, variant, now).await?
    else {
        return Ok(Vec::new());
    };
    // The time went on while it was started.
    let now = store.now();
    let lowest = match (lowest.due_at > now, first) {
        (true, None) => return Ok(Vec::new()),
        (true, Some(_)) => {
            ladder::bring_forward(txn, now, kind, request.id).await?.unwrap_or(lowest)
        }
        (false, _) => lowest,
    };
    fire(store, txn, request, lowest, kind, &staff, first).await
}

/// Stops asking, because somebody accepted or nobody is wanted any more. What was asked and
/// not answered lapses.
pub(super) async fn stop<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    why: &str,
) -> Result<(), StoreError> {
    let now = store.now();
    match request.state {
        State::Ready => {
            ladder::stop(txn, now, Kind::SecondRead, request.id, why).await?;
            ask::lapse(txn, now, request.id).await
        }
        State::AwaitingApproval => {
            ladder::stop(txn, now, Kind::Approval, request.id, why).await.map(drop)
        }
        _ => Ok(()),
    }
}

/// Fires the next step now, since nobody who was asked is left to answer.
pub(super) async fn go_on<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    after: &mut After,
) -> Result<(), StoreError> {
    let (now, kind) = (store.now(), Kind::SecondRead);
    let Some(step) = ladder::bring_forward(txn, now, kind, request.id).await? else {
        return Ok(());
    };
    let staff = Staff::of(txn, now, request.shop_id).await?;
    for fired in fire(store, txn, request, step, kind, &staff, None).await? {
        after.request(request, None, fired.record_kind(), fired.body(kind));
    }
    Ok(())
}

/// Fires a step, and tells whom it reached.
async fn fire<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    request: &Request,
    step: Step,
    kind: Kind,
    staff: &Staff,
    first: Option<(Uuid, Uuid)>,
) -> Result<Vec<Fired>, StoreError> {
    let people = People::of(txn, store.now(), request.shop_id, &[request]).await?;
    let able: Vec<Uuid> = match kind {
        Kind::Approval => people.approvers_of(request).iter().map(|one| one.id).collect(),
        Kind::SecondRead | Kind::UrgentJob => {
            people.readers_of(request).ranked.iter().map(|one| one.id).collect()
        }
    };
    let mut climb = Climb {
        kind,
        subject_id: request.id,
        people: staff
            .members
            .iter()
            .map(|member| {
                let place = able.iter().position(|id| *id == member.id);
                staff.colleague(member, place, member.id != request.requester.id)
            })
            .collect(),
        asked: ask::open_of(txn, request.id).await?,
        never_quiet: staff.never_quiet(urgency_of(txn, request.job_id).await?),
        first: first.map(|(person, _)| person),
    };
    let all = climb_from(store, txn, step, &mut climb).await?;
    let asked_by = first.map(|(_, by)| by);
    for fired in &all {
        let by_mail = fired.by_mail();
        for person in fired.fire.asked.iter().copied() {
            if kind == Kind::Approval {
                ask::ask_approver(store, txn, request, &people, person, by_mail).await?;
            } else {
                ask::ask_reader(store, txn, request, person, asked_by, by_mail).await?;
            }
        }
        for person in fired.fire.told.iter().copied().filter(|_| by_mail) {
            ask::mail(store, txn, request, person, "reader_missing", json!({})).await?;
        }
    }
    ladder::announce_asked(store, txn, request.shop_id, request.job_id, kind, &all).await?;
    Ok(all)
}

async fn urgency_of<C: ConnectionTrait>(conn: &C, job_id: Uuid) -> Result<Urgency, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        urgency: String,
    }
    let row = Row::find_by_statement(sql("SELECT urgency FROM job WHERE id = $1", [job_id.into()]))
        .one(conn)
        .await?;
    Ok(row.and_then(|row| Urgency::from_id(&row.urgency)).unwrap_or(Urgency::Comfort))
}

/// Fires a step that has fallen due on a request, in a transaction that may fire others too;
/// says whether it did.
///
/// # Errors
/// When the database fails.
pub(crate) async fn climb(
    store: &Store,
    txn: &DatabaseTransaction,
    due: &Due,
    staff: &Staff,
    after: &mut After,
) -> Result<bool, StoreError> {
    if !lock(txn, due).await? {
        // Somebody is at work on it; the next look finds it settled, or still due.
        return Ok(false);
    }
    let now = store.now();
    let request = find(txn, now, due.shop_id, due.subject_id).await?;
    let Some(step) = ladder::take(txn, now, due).await? else { return Ok(false) };
    let kind = Kind::from_id(&due.kind).ok_or(StoreError::NotFound { what: "ladder" })?;
    if request.state == climbs_in(kind) {
        for fired in fire(store, txn, &request, step, kind, staff, None).await? {
            after.request(&request, None, fired.record_kind(), fired.body(kind));
        }
    } else {
        // Every move that leaves this state stops the ladder with it.
        ladder::stop(txn, now, kind, request.id, "nobody is wanted").await?;
    }
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

/// Asks the next now, whatever the ladder's delays: for a shop's rule that widens who is asked
/// for a second read. Says how many were reached; none where no reader is looked for.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn widen<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    request_id: Uuid,
) -> Result<usize, StoreError> {
    super::load::lock_request(txn, shop_id, request_id).await?;
    let now = store.now();
    let request = find(txn, now, shop_id, request_id).await?;
    if request.state != State::Ready {
        return Ok(0);
    }
    let kind = Kind::SecondRead;
    let Some(step) = ladder::bring_forward(txn, now, kind, request.id).await? else {
        return Ok(0);
    };
    let staff = Staff::of(txn, now, shop_id).await?;
    let mut after = After::default();
    let all = fire(store, txn, &request, step, kind, &staff, None).await?;
    for fired in &all {
        after.request(&request, None, fired.record_kind(), fired.body(kind));
    }
    let reached: BTreeSet<Uuid> = ladder::reached(&all);
    after.record(txn, now).await?;
    after.announce(txn, now).await?;
    Ok(reached.len())
}
