//! Finding a reader by hand: the ranked list, asking one, declining.
//!
//! Belongs here: what people do about who reads. Does not belong here: the ladder that asks by
//! itself ([`super::climb`]), and accepting, which is the move [`Step::Take`].

use engine::gate::{self, State};
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use serde_json::json;
use uuid::Uuid;

use super::after::After;
use super::load::lock_request;
use super::moves::{Step, finish_showing};
use super::people::People;
use super::view::Shown;
use super::{Ask, NOTE_CHARS_MAX, Request, ask, climb, find};
use crate::db::Store;
use crate::error::StoreError;
use crate::evidence::Named;
use crate::person::Caller;
use crate::text::Faults;

/// Fewest characters of a reason to decline; a shorter one is refused.
const REASON_CHARS_MIN: usize = 5;

/// Who may read a request, best placed first, and who may not.
#[derive(Clone, Debug)]
pub struct Candidates {
    /// Those who may, in the order in which they are asked.
    pub ranked: Vec<CandidateShown>,
    /// Everyone else in the shop, with why.
    pub excluded: Vec<(Named, &'static str)>,
}

/// Somebody who may read a request.
#[derive(Clone, Debug)]
pub struct CandidateShown {
    /// Who.
    pub person: Named,
    /// How soon they will probably have answered, in minutes.
    pub answers_in_min: f64,
    /// Why they stand where they do, each a short clause.
    pub because: Vec<String>,
    /// Their last ask on this request, with its answer.
    pub ask: Option<Ask>,
}

/// Who may read a request, with the reasons, for those who see the claim: what the part asks
/// of a reader would tell the others something of it.
///
/// # Errors
/// `NotFound`, `Forbidden` "blind-first", or the database fails.
pub async fn candidates(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
) -> Result<Candidates, StoreError> {
    let now = store.now();
    let request = find(store.conn(), now, caller.shop_id, request_id).await?;
    must_see(&request, caller)?;
    let people = People::of(store.conn(), now, caller.shop_id, &[&request]).await?;
    let asks = ask::list_of_requests(store.conn(), &[request_id]).await?;
    let found = people.readers_of(&request);
    let ranked = found
        .ranked
        .into_iter()
        .filter_map(|ranked| {
            Some(CandidateShown {
                person: people.named(ranked.id)?,
                answers_in_min: ranked.answers_in_min,
                because: ranked.because,
                ask: asks.iter().rev().find(|ask| ask.person.id == ranked.id).cloned(),
            })
        })
        .collect();
    let excluded = found
        .excluded
        .into_iter()
        .filter_map(|(id, why)| Some((people.named(id)?, why.says())))
        .collect();
    Ok(Candidates { ranked, excluded })
}

/// Asks somebody now, whatever the ladder would do: for the requester, or a manager who sees
/// the claim.
///
/// # Errors
/// `NotFound`, `Forbidden`, `Conflict` (no reader is wanted now; asked already), `Invalid` for
/// somebody who may not read it.
pub async fn reader_ask(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
    person: Uuid,
) -> Result<Shown, StoreError> {
    let txn = store.begin().await?;
    lock_request(&txn, caller.shop_id, request_id).await?;
    let request = find(&txn, store.now(), caller.shop_id, request_id).await?;
    must_see(&request, caller)?;
    if request.requester.id != caller.person_id && !caller.manages() {
        return Err(StoreError::Forbidden {
            code: gate::RefusalCode::NotYours.id(),
            says: "The requester or a manager chooses who is asked.".to_owned(),
        });
    }
    must_be_wanted(&request)?;
    let people = People::of(&txn, store.now(), caller.shop_id, &[&request]).await?;
    must_be_reader(&people, &request, person, "/person_id")?;
    if !ask::ask_reader(store, &txn, &request, person, Some(caller.person_id), true).await? {
        return Err(StoreError::conflict(
            "asked-already",
            "They have been asked and have not answered yet; ask somebody else, or wait.",
        ));
    }
    let mut after = After::default();
    let body = json!({ "digest": request.digest, "asked": [person] });
    after.request(&request, Some(caller.person_id), "reader_asked", body);
    finish_showing(store, txn, after, caller, request_id).await
}

/// Says no to an ask. When nobody who was asked is left to answer, the next are asked at once.
///
/// # Errors
/// `NotFound`, `Conflict` (not asked, or no reader is wanted now), `InvalidMany`.
pub async fn read_decline(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
    reason: &str,
) -> Result<Shown, StoreError> {
    let mut faults = Faults::default();
    let reason = faults.text_or_empty("/reason", reason, NOTE_CHARS_MAX);
    if reason.chars().count() < REASON_CHARS_MIN {
        let says = format!("Say why, in {REASON_CHARS_MIN} characters or more: \"on a ladder\".");
        faults.add("/reason", says);
    }
    faults.done()?;
    let txn = store.begin().await?;
    lock_request(&txn, caller.shop_id, request_id).await?;
    let request = find(&txn, store.now(), caller.shop_id, request_id).await?;
    if request.state == State::Draft && request.requester.id != caller.person_id {
        return Err(StoreError::NotFound { what: "request" });
    }
    must_be_wanted(&request)?;
    let me = caller.person_id;
    if !ask::answer(&txn, store.now(), request_id, me, "declined", &reason).await? {
        return Err(StoreError::conflict(
            "not-asked",
            "You are not asked to read this one, or have answered already.",
        ));
    }
    let mut after = After::default();
    let body = json!({ "digest": request.digest, "reason": reason });
    after.request(&request, Some(me), "read_declined", body);
    go_on_without(store, &txn, &request, &mut after).await?;
    finish_showing(store, txn, after, caller, request_id).await
}

/// Moves the ladder on when nobody who was asked is left to answer.
pub(super) async fn go_on_without(
    store: &Store,
    txn: &DatabaseTransaction,
    request: &Request,
    after: &mut After,
) -> Result<(), StoreError> {
    if ask::open(txn, request.id).await? {
        return Ok(());
    }
    let present = find(txn, store.now(), request.shop_id, request.id).await?;
    climb::go_on(store, txn, &present, after).await
}

/// Whom a move names to be asked first, once the request is as the move left it.
pub(super) async fn first_of<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    present: &Request,
    step: &Step,
) -> Result<Option<(Uuid, Uuid)>, StoreError> {
    let Step::HandOn { to: Some(to), .. } = step else { return Ok(None) };
    let people = People::of(txn, store.now(), present.shop_id, &[present]).await?;
    must_be_reader(&people, present, *to, "/to")?;
    Ok(Some((*to, caller.person_id)))
}

fn must_be_reader(
    people: &People,
    request: &Request,
    person: Uuid,
    pointer: &str,
) -> Result<(), StoreError> {
    let found = people.readers_of(request);
    if found.ranked.iter().any(|ranked| ranked.id == person) {
        return Ok(());
    }
    let why = found.excluded.iter().find(|(id, _)| *id == person);
    // Why not is no business of whoever may not see the claim; a hand-on tells them no more
    // than that.
    let says = match why {
        Some((_, why)) if why.tells_nothing_of_the_part() => {
            format!("They cannot read this one: this person {}.", why.says())
        }
        Some(_) => "They cannot read this one; choose somebody from the list.".to_owned(),
        None => "There is no such person in the shop; choose somebody from the list.".to_owned(),
    };
    Err(StoreError::invalid(pointer, says))
}

fn must_see(request: &Request, caller: &Caller) -> Result<(), StoreError> {
    if request.state == State::Draft && request.requester.id != caller.person_id {
        return Err(StoreError::NotFound { what: "request" });
    }
    if request.visible_to(caller) {
        return Ok(());
    }
    Err(StoreError::Forbidden {
        code: gate::RefusalCode::BlindFirst.id(),
        says: "You could be its second reader, so who else could is kept from you with the claim. \
               Read it blind, or stand aside."
            .to_owned(),
    })
}

fn must_be_wanted(request: &Request) -> Result<(), StoreError> {
    if request.state == State::Ready {
        return Ok(());
    }
    let stage = gate::stage_words(request.state).to_lowercase();
    Err(StoreError::conflict(
        gate::RefusalCode::WrongState.id(),
        format!("No reader is looked for now; this request is at: {stage}."),
    ))
}
