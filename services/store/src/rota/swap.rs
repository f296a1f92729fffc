//! Swaps by agreement: one of mine for one of yours, or given away.
//!
//! Belongs here: offering, accepting, declining, withdrawing, and what makes a swap impossible.
//! Does not belong here: the duties changing hands ([`exchange`]), the rest rule and cover, which
//! the roster reckons.
//!
//! An offer is open until it is settled or its time is up. Nobody but the two agrees to it; those
//! who give out work see it, and can change the rota, which ends an offer.

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::Span;
use roster::duty::Kind;
use sea_orm::{ConnectionTrait, FromQueryResult, TransactionTrait as _};
use serde_json::{Value, json};
use uuid::Uuid;

use super::change::{NOTE_CHARS_MAX, lock_people};
use super::{RotaEntry, entry_find};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::{Caller, Person, Role, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{calendar, live_feed, outbox};

mod exchange;

use exchange::exchange;

/// How long an offer is open, in days, unless what is offered begins sooner.
pub const OPEN_DAYS: i64 = 7;

/// How long a settled offer is still listed, in days.
const LISTED_DAYS: i64 = 30;

/// Most offers listed; older ones are left off.
const LISTED_MAX: i64 = 200;

/// Where an offer stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Waits for an answer.
    Open,
    /// The rota has been changed.
    Accepted,
    /// The other does not want it.
    Declined,
    /// Whoever offered does not want it any more.
    Withdrawn,
    /// Nobody answered in time.
    Expired,
    /// The rota was changed otherwise.
    Overtaken,
}

impl State {
    const ALL: [State; 6] = [
        State::Open,
        State::Accepted,
        State::Declined,
        State::Withdrawn,
        State::Expired,
        State::Overtaken,
    ];

    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            State::Open => "open",
            State::Accepted => "accepted",
            State::Declined => "declined",
            State::Withdrawn => "withdrawn",
            State::Expired => "expired",
            State::Overtaken => "overtaken",
        }
    }
}

/// What somebody offers.
#[derive(Clone, Debug)]
pub struct SwapNew {
    /// One of the caller's.
    pub entry_id: Uuid,
    /// To whom; nobody in particular to whoever takes it.
    pub to: Option<Uuid>,
    /// One of theirs in return; nothing to give it away.
    pub wanted_id: Option<Uuid>,
    /// A word about it.
    pub note: String,
}

/// An offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Swap {
    /// Id.
    pub id: Uuid,
    /// Who offers.
    pub offered_by: Uuid,
    /// What.
    pub offered: RotaEntry,
    /// To whom.
    pub offered_to: Option<Uuid>,
    /// What they want in return.
    pub wanted: Option<RotaEntry>,
    /// A word about it.
    pub note: String,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// Until when it is open.
    pub expires_at: DateTime<Utc>,
    /// Where it stands.
    pub state: State,
    /// Why it was settled so; often empty.
    pub settled_why: String,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    offered_by: Uuid,
    offered_entry: Uuid,
    offered_kind: String,
    offered_start: DateTime<Utc>,
    offered_end: DateTime<Utc>,
    offered_to: Option<Uuid>,
    wanted_entry: Option<Uuid>,
    wanted_kind: Option<String>,
    wanted_start: Option<DateTime<Utc>>,
    wanted_end: Option<DateTime<Utc>>,
    note: String,
    made_at: DateTime<Utc>,
    expires_at: DateTime<Utc>,
    state: String,
    settled_why: String,
}

const SELECT: &str = "SELECT swap.id, swap.offered_by, swap.offered_entry, \
         offered.kind AS offered_kind, lower(offered.during) AS offered_start, \
         upper(offered.during) AS offered_end, swap.offered_to, swap.wanted_entry, \
         wanted.kind AS wanted_kind, lower(wanted.during) AS wanted_start, \
         upper(wanted.during) AS wanted_end, swap.note, swap.made_at, swap.expires_at, \
         swap.state, swap.settled_why \
     FROM rota_swap AS swap JOIN rota_entry AS offered ON offered.id = swap.offered_entry \
     LEFT JOIN rota_entry AS wanted ON wanted.id = swap.wanted_entry";

impl Row {
    /// As it stands now: an open one whose time is up has expired.
    fn swap(self, now: DateTime<Utc>) -> Result<Swap, StoreError> {
        let unreadable = StoreError::NotFound { what: "kind of duty" };
        let kind = |name: &str| Kind::from_name(name);
        let state = State::ALL.into_iter().find(|state| state.name() == self.state);
        let state = state.unwrap_or(State::Overtaken);
        let state =
            if state == State::Open && self.expires_at <= now { State::Expired } else { state };
        let wanted = match (self.wanted_entry, self.wanted_start, self.wanted_end) {
            (Some(id), Some(start), Some(end)) => Some(RotaEntry {
                id,
                person_id: self.offered_to.unwrap_or_default(),
                kind: self.wanted_kind.as_deref().and_then(kind).unwrap_or(Kind::Shift),
                span: Span::new(start, end),
                note: String::new(),
            }),
            _ => None,
        };
        Ok(Swap {
            id: self.id,
            offered_by: self.offered_by,
            offered: RotaEntry {
                id: self.offered_entry,
                person_id: self.offered_by,
                kind: kind(&self.offered_kind).ok_or(unreadable)?,
                span: Span::new(self.offered_start, self.offered_end),
                note: String::new(),
            },
            offered_to: self.offered_to,
            wanted,
            note: self.note,
            made_at: self.made_at,
            expires_at: self.expires_at,
            state,
            settled_why: self.settled_why,
        })
    }
}

/// The shop's offers: open ones first, then those settled lately. Everybody sees them.
///
/// # Errors
/// When the database fails.
pub async fn swap_list(store: &Store, caller: &Caller) -> Result<Vec<Swap>, StoreError> {
    let now = store.now();
    let rows = Row::find_by_statement(sql(
        &format!(
            "{SELECT} WHERE swap.shop_id = $1 AND (swap.state = 'open' OR swap.made_at > $2) \
             ORDER BY swap.state <> 'open', swap.made_at DESC, swap.id LIMIT $3"
        ),
        [caller.shop_id.into(), (now - TimeDelta::days(LISTED_DAYS)).into(), LISTED_MAX.into()],
    ))
    .all(store.conn())
    .await?;
    rows.into_iter().map(|row| row.swap(now)).collect()
}

/// Offers one of the caller's duties. What could not be accepted as things stand is refused at
/// once.
///
/// # Errors
/// `NotFound`, `Forbidden` where it is not theirs, `InvalidMany`, `Conflict` where it has begun,
/// is offered already, or would break rest or cover; or the database fails.
pub async fn swap_offer(store: &Store, caller: &Caller, new: SwapNew) -> Result<Swap, StoreError> {
    let now = store.now();
    let mut faults = Faults::default();
    let note = faults.text_or_empty("/note", &new.note, NOTE_CHARS_MAX);
    if new.to == Some(caller.person_id) {
        faults.add("/to", "That is you; choose a colleague, or nobody in particular.");
    }
    if new.wanted_id.is_some() && new.to.is_none() {
        faults.add("/to", "Say whose duty you want in return.");
    }
    faults.done()?;

    let txn = store.begin().await?;
    let calendar = calendar::of_shop(&txn, caller.shop_id).await?;
    let offered = entry_find(&txn, caller.shop_id, new.entry_id).await?;
    if offered.person_id != caller.person_id {
        return Err(StoreError::forbidden(
            "This duty is not yours. Offer one of your own; a scheduler changes those of others.",
        ));
    }
    must_be_ahead(&offered, now, "/entry_id")?;
    let mut wanted = None;
    if let Some(to) = new.to {
        must_work(&person_find(&txn, caller.shop_id, to).await?)?;
        if let Some(id) = new.wanted_id {
            let entry = entry_find(&txn, caller.shop_id, id).await?;
            if entry.person_id != to {
                return Err(StoreError::invalid(
                    "/wanted_id",
                    "That duty is not of whom you ask; choose one of theirs.",
                ));
            }
            must_be_ahead(&entry, now, "/wanted_id")?;
            wanted = Some(entry);
        }
    }
    let earliest = wanted.iter().map(|entry| entry.span.start).fold(offered.span.start, Ord::min);
    let swap = Swap {
        id: store.new_id(),
        offered_by: caller.person_id,
        offered,
        offered_to: new.to,
        wanted,
        note,
        made_at: now,
        expires_at: earliest.min(now + TimeDelta::days(OPEN_DAYS)),
        state: State::Open,
        settled_why: String::new(),
    };
    if let Some(to) = new.to {
        // Tried and undone, so that nobody is asked for what cannot be.
        let trial = txn.begin().await?;
        exchange(&trial, store, &calendar, caller, &swap, to).await?;
        trial.rollback().await?;
    }
    txn.execute_raw(sql(
        "UPDATE rota_swap SET state = 'expired', settled_at = $2 \
         WHERE offered_entry = $1 AND state = 'open' AND expires_at <= $2",
        [swap.offered.id.into(), now.into()],
    ))
    .await?;
    let twice = || {
        StoreError::conflict(
            "swap-open",
            "This duty is offered already; withdraw that offer first.",
        )
    };
    txn.execute_raw(sql(
        "INSERT INTO rota_swap (id, shop_id, offered_by, offered_entry, offered_to, \
             wanted_entry, note, made_at, expires_at) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        [
            swap.id.into(),
            caller.shop_id.into(),
            swap.offered_by.into(),
            swap.offered.id.into(),
            swap.offered_to.into(),
            swap.wanted.as_ref().map(|entry| entry.id).into(),
            swap.note.clone().into(),
            now.into(),
            swap.expires_at.into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("rota_swap_one_open", &twice)]))?;
    let body = json!({ "offered": swap.offered.id, "to": swap.offered_to,
        "wanted": swap.wanted.as_ref().map(|entry| entry.id) });
    keep(&txn, store, caller, "swap_offered", swap.id, body).await?;
    if let Some(to) = swap.offered_to {
        let from = person_find(&txn, caller.shop_id, caller.person_id).await?;
        let wants = match &swap.wanted {
            Some(entry) => format!(
                "in return for yours {} ({})",
                calendar.says_span(entry.span),
                entry.kind.says()
            ),
            None => "and wants nothing in return".to_owned(),
        };
        let payload = json!({
            "to_person": to,
            "template": "swap_offered",
            "data": {
                "page": "/rota",
                "from_name": from.name,
                "duty": format!(
                    "{} ({})",
                    calendar.says_span(swap.offered.span),
                    swap.offered.kind.says()
                ),
                "wants": wants,
                "duty_until": calendar.says(swap.expires_at),
            },
        });
        outbox::put(&txn, store, caller.shop_id, "mail", &payload, now).await?;
    }
    txn.commit().await?;
    Ok(swap)
}

/// Accepts an offer: the two duties change hands at once, or nothing does.
///
/// # Errors
/// `NotFound`, `Forbidden` where it is for somebody else, `Conflict` where it is settled, its time
/// is up, or it would break rest or cover; or the database fails.
pub async fn swap_accept(store: &Store, caller: &Caller, id: Uuid) -> Result<Swap, StoreError> {
    let txn = store.begin().await?;
    let offered_by = find(&txn, store, caller, id, "").await?.offered_by;
    lock_people(&txn, caller.shop_id, &[offered_by, caller.person_id]).await?;
    let swap = open(&txn, store, caller, id).await?;
    let for_caller = match swap.offered_to {
        Some(to) => to == caller.person_id,
        None => swap.offered_by != caller.person_id && caller.is(Role::Technician),
    };
    if !for_caller {
        return Err(StoreError::forbidden(
            "This offer is for somebody else to accept. A scheduler can change the rota itself.",
        ));
    }
    let calendar = calendar::of_shop(&txn, caller.shop_id).await?;
    exchange(&txn, store, &calendar, caller, &swap, caller.person_id).await?;
    let done = settle(&txn, store, caller, swap, State::Accepted, "").await?;
    txn.commit().await?;
    Ok(done)
}

/// Declines an offer.
///
/// # Errors
/// `NotFound`, `Forbidden` where it is not for the caller, `Conflict` where it is settled, or the
/// database fails.
pub async fn swap_decline(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    why: &str,
) -> Result<Swap, StoreError> {
    let mut faults = Faults::default();
    let why = faults.text_or_empty("/why", why, NOTE_CHARS_MAX);
    faults.done()?;
    let txn = store.begin().await?;
    let swap = open(&txn, store, caller, id).await?;
    if swap.offered_to != Some(caller.person_id) {
        return Err(StoreError::forbidden(
            "This offer was not made to you, so there is nothing of yours to decline.",
        ));
    }
    let done = settle(&txn, store, caller, swap, State::Declined, &why).await?;
    txn.commit().await?;
    Ok(done)
}

/// Withdraws an offer.
///
/// # Errors
/// `NotFound`, `Forbidden` where it is not the caller's, `Conflict` where it is settled, or the
/// database fails.
pub async fn swap_withdraw(store: &Store, caller: &Caller, id: Uuid) -> Result<Swap, StoreError> {
    let txn = store.begin().await?;
    let swap = open(&txn, store, caller, id).await?;
    if swap.offered_by != caller.person_id {
        return Err(StoreError::forbidden("Only whoever made an offer withdraws it."));
    }
    let done = settle(&txn, store, caller, swap, State::Withdrawn, "").await?;
    txn.commit().await?;
    Ok(done)
}

fn must_be_ahead(entry: &RotaEntry, now: DateTime<Utc>, pointer: &str) -> Result<(), StoreError> {
    if entry.kind == Kind::Leave {
        return Err(StoreError::invalid(pointer, "Leave is nobody else's; choose a duty."));
    }
    if entry.span.start <= now {
        return Err(StoreError::conflict(
            "swap-begun",
            "This duty has begun; only one that is still ahead changes hands.",
        ));
    }
    Ok(())
}

fn must_work(person: &Person) -> Result<(), StoreError> {
    if person.active && person.roles.contains(&Role::Technician) {
        return Ok(());
    }
    Err(StoreError::invalid(
        "/to",
        format!("{} is not a technician who works here; choose one.", person.name),
    ))
}

/// The offer as it stands, locked as asked.
async fn find<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    id: Uuid,
    lock: &str,
) -> Result<Swap, StoreError> {
    Row::find_by_statement(sql(
        &format!("{SELECT} WHERE swap.shop_id = $1 AND swap.id = $2 {lock}"),
        [caller.shop_id.into(), id.into()],
    ))
    .one(txn)
    .await?
    .ok_or(StoreError::NotFound { what: "offer" })?
    .swap(store.now())
}

/// The offer, locked, if it can still be answered.
async fn open<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    id: Uuid,
) -> Result<Swap, StoreError> {
    let swap = find(txn, store, caller, id, "FOR UPDATE OF swap").await?;
    match swap.state {
        State::Open => Ok(swap),
        state => Err(StoreError::conflict(
            "swap-settled",
            match state {
                State::Expired => "Nobody answered this offer in time; make a new one.".to_owned(),
                State::Overtaken => {
                    "The rota was changed since; look at it again, then make a new offer."
                        .to_owned()
                }
                _ => format!("This offer is {} already.", state.name()),
            },
        )),
    }
}

async fn settle<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    swap: Swap,
    state: State,
    why: &str,
) -> Result<Swap, StoreError> {
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE rota_swap SET state = $2, settled_at = $3, settled_by = $4, settled_why = $5 \
         WHERE id = $1",
        [swap.id.into(), state.name().into(), now.into(), caller.person_id.into(), why.into()],
    ))
    .await?;
    let body = json!({ "state": state.name(), "offered": swap.offered.id,
        "wanted": swap.wanted.as_ref().map(|entry| entry.id), "with": caller.person_id });
    keep(txn, store, caller, "swap_settled", swap.id, body).await?;
    if state != State::Withdrawn {
        let calendar = calendar::of_shop(txn, caller.shop_id).await?;
        let other = person_find(txn, caller.shop_id, caller.person_id).await?;
        let payload = json!({
            "to_person": swap.offered_by,
            "template": "swap_settled",
            "data": {
                "page": "/rota",
                "other_name": other.name,
                "state": state.name(),
                "duty": format!(
                    "{} ({})",
                    calendar.says_span(swap.offered.span),
                    swap.offered.kind.says()
                ),
            },
        });
        outbox::put(txn, store, caller.shop_id, "mail", &payload, now).await?;
    }
    Ok(Swap { state, settled_why: why.to_owned(), ..swap })
}

async fn keep<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    kind: &'static str,
    id: Uuid,
    body: Value,
) -> Result<(), StoreError> {
    let now = store.now();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "rota_swap",
        subject_id: id,
        body,
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, caller.shop_id, "rota", id, json!({})).await
}
