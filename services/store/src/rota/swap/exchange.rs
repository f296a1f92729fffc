//! What an accepted swap does to the rota, and what it must not break.
//!
//! Belongs here: the two duties changing hands, rest and cover looked at after it. Does not belong
//! here: who may offer and accept ([`super`]).

use roster::calendar::{Calendar, Span};
use roster::cover::{self, Qualified};
use roster::duty::Entry as Duty;
use roster::rest::OnBreak;
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use super::{Swap, must_be_ahead};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::{Caller, Person, Qualification, person_list};
use crate::rota::change::{EntryNew, Rest, insert, take};
use crate::rota::{RotaEntry, entry_find, spans};

/// Lets the duties change hands, and refuses what breaks rest or cover.
pub(super) async fn exchange<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    calendar: &Calendar,
    caller: &Caller,
    swap: &Swap,
    to: Uuid,
) -> Result<(), StoreError> {
    let shop_id = caller.shop_id;
    let pairs: Vec<(&RotaEntry, Uuid)> = std::iter::once((&swap.offered, to))
        .chain(swap.wanted.iter().map(|entry| (entry, swap.offered_by)))
        .collect();
    let whole = pairs.iter().skip(1).fold(swap.offered.span, |whole, (entry, _)| {
        Span::new(whole.start.min(entry.span.start), whole.end.max(entry.span.end))
    });
    let people = [swap.offered_by, to];
    let rest = Rest::begin(txn, store, shop_id, calendar, &people, whole).await?;
    for (entry, _) in &pairs {
        must_be_ahead(entry, store.now(), "/entry_id")?;
    }
    let staff = person_list(txn, shop_id).await?;
    let before = spans(txn, shop_id, whole.start, whole.end).await?;
    for (entry, _) in &pairs {
        // As it stands now: it may have been taken out since the offer.
        let standing = entry_find(txn, shop_id, entry.id).await?;
        take_out(txn, store, caller, swap, &standing).await?;
    }
    for (entry, to) in &pairs {
        let new =
            EntryNew { person_id: *to, kind: entry.kind, span: entry.span, note: String::new() };
        insert(txn, store, calendar, shop_id, caller.person_id, new).await?;
    }
    rest.end(txn, store, OnBreak::Refuse).await?;
    let after = spans(txn, shop_id, whole.start, whole.end).await?;
    let held = Held::of(&staff);
    // Two duties are seldom as long as each other; by so much cover may shrink.
    let allowed_min = swap
        .wanted
        .as_ref()
        .map_or(0, |wanted| (swap.offered.span.minutes() - wanted.span.minutes()).abs());
    let (before, after) = (held.qualified(&before), held.qualified(&after));
    if let Some(lost) = cover::lost(&before, &after, allowed_min) {
        let words = Qualification::from_name(&lost.qualification)
            .map_or_else(|| lost.qualification.clone(), |held| held.says().to_owned());
        return Err(StoreError::conflict(
            "swap-cover",
            format!(
                "Nobody on duty would be qualified for {words}, {}, and nothing makes up for it. \
                 Swap with somebody who is qualified, or ask a scheduler.",
                calendar.says_span(lost.span)
            ),
        ));
    }
    Ok(())
}

/// Takes an entry out for a swap; the offer that does it stays open until it is settled.
async fn take_out<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    swap: &Swap,
    entry: &RotaEntry,
) -> Result<(), StoreError> {
    let now = store.now();
    txn.execute_raw(sql(
        "UPDATE rota_swap SET state = 'overtaken', settled_at = $3, settled_by = $4, \
             settled_why = 'the rota was changed' \
         WHERE state = 'open' AND id <> $1 AND (offered_entry = $2 OR wanted_entry = $2)",
        [swap.id.into(), entry.id.into(), now.into(), caller.person_id.into()],
    ))
    .await?;
    take(txn, store, caller.person_id, entry, "swapped").await
}

/// What each of the staff is qualified for.
struct Held(Vec<(Uuid, Vec<String>)>);

impl Held {
    fn of(staff: &[Person]) -> Self {
        let names = |person: &Person| -> Vec<String> {
            person.qualifications.iter().map(|held| held.name().to_owned()).collect()
        };
        Held(staff.iter().map(|person| (person.id, names(person))).collect())
    }

    fn qualified(&self, entries: &[RotaEntry]) -> Vec<Qualified<'_>> {
        entries
            .iter()
            .map(|entry| {
                let held = self.0.iter().find(|(id, _)| *id == entry.person_id);
                Qualified {
                    entry: Duty::new(entry.kind, entry.span),
                    holds: held.map_or(&[][..], |(_, held)| held.as_slice()),
                }
            })
            .collect()
    }
}
