//! Whole weeks at once: a pattern tried, then put in.
//!
//! Belongs here: putting a pattern's entries in, all or none, and what cannot be placed. Does not
//! belong here: what a pattern makes ([`roster::pattern`]).

use chrono::TimeDelta;
use roster::calendar::Span;
use roster::duty::{Entry as Duty, Kind};
use roster::pattern::Pattern;
use roster::rest::OnBreak;
use sea_orm::ConnectionTrait;
use serde_json::json;
use uuid::Uuid;

use super::change::{EntryNew, Rest, Warning, check_span, insert, overlap, remove};
use super::{RotaEntry, spans};
use crate::calendar;
use crate::db::Store;
use crate::error::{Fault, StoreError};
use crate::live_feed;
use crate::person::{Caller, Person, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;

/// What happens where somebody already has an entry in the time of a new one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meets {
    /// The whole pattern is refused, naming it.
    Refuse,
    /// What stands stays, and the new one is left out.
    Keep,
    /// What stands is taken out, unless it is leave: then the new one is left out.
    Replace,
}

/// A pattern to be put in.
#[derive(Clone, Debug)]
pub struct Apply {
    /// The pattern.
    pub pattern: Pattern<Uuid>,
    /// What happens where it meets what stands.
    pub meets: Meets,
    /// Whether it is only tried.
    pub dry_run: bool,
}

/// What a pattern did, or would do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Applied {
    /// Put in.
    pub added: Vec<RotaEntry>,
    /// Left out, with the entry that stands there.
    pub left_out: Vec<(Uuid, Duty, RotaEntry)>,
    /// Taken out for it.
    pub removed: Vec<RotaEntry>,
    /// What it breaks.
    pub warnings: Vec<Warning>,
}

/// Puts a pattern in, or only tries it.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `InvalidMany`, `Conflict` where it meets
/// what stands and is to refuse that, or breaks the rest rule and the shop refuses that; or the
/// database fails. A trial returns what would break as warnings.
pub async fn pattern_apply(
    store: &Store,
    caller: &Caller,
    apply: Apply,
) -> Result<Applied, StoreError> {
    caller.must_schedule("change the rota")?;
    let wrong = apply.pattern.check();
    if !wrong.is_empty() {
        let faults = wrong.into_iter();
        return Err(StoreError::InvalidMany(
            faults.map(|one| Fault::new(one.pointer, one.says)).collect(),
        ));
    }
    let txn = store.begin().await?;
    let shop_id = caller.shop_id;
    let calendar = calendar::of_shop(&txn, shop_id).await?;
    let mut people: Vec<Person> = Vec::new();
    for id in &apply.pattern.people {
        people.push(person_find(&txn, shop_id, *id).await?);
    }
    let new = apply.pattern.entries(&calendar);
    let mut faults = Faults::default();
    for (_, entry) in new.first().into_iter().chain(new.last()) {
        check_span(&mut faults, store.now(), entry.kind, entry.span);
    }
    faults.done()?;
    let Some(whole) = whole(&new) else { return Ok(Applied::default()) };

    let rest = Rest::begin(&txn, store, shop_id, &calendar, &apply.pattern.people, whole).await?;
    let mut standing = spans(&txn, shop_id, whole.start, whole.end).await?;
    let mut applied = Applied::default();
    for (person_id, entry) in new {
        let met: Vec<RotaEntry> = standing
            .iter()
            .filter(|one| one.person_id == person_id && one.span.cut(entry.span).is_some())
            .cloned()
            .collect();
        if let Some(first) = met.first() {
            let keeps = apply.meets == Meets::Keep
                || met.iter().any(|one| one.kind == Kind::Leave)
                // What this very pattern put in is not taken out for it again.
                || met.iter().any(|one| applied.added.contains(one));
            if apply.meets == Meets::Refuse {
                let name = people.iter().find(|one| one.id == person_id);
                return Err(overlap(name.map_or("", |one| &one.name), &calendar, first));
            }
            if keeps {
                applied.left_out.push((person_id, entry, first.clone()));
                continue;
            }
            for one in met {
                remove(&txn, store, caller.person_id, &one, "replaced by a pattern").await?;
                standing.retain(|other| other.id != one.id);
                applied.removed.push(one);
            }
        }
        let new = EntryNew { person_id, kind: entry.kind, span: entry.span, note: String::new() };
        let added = insert(&txn, store, &calendar, shop_id, caller.person_id, new).await?;
        standing.push(added.clone());
        applied.added.push(added);
    }
    let on_break = if apply.dry_run { OnBreak::Warn } else { calendar.rest().on_break };
    applied.warnings = rest.end(&txn, store, on_break).await?;
    if apply.dry_run {
        txn.rollback().await?;
        return Ok(applied);
    }
    record_applied(&txn, store, caller, &apply.pattern, &applied).await?;
    txn.commit().await?;
    Ok(applied)
}

fn whole(entries: &[(Uuid, Duty)]) -> Option<Span> {
    let start = entries.iter().map(|(_, entry)| entry.span.start).min()?;
    let end = entries.iter().map(|(_, entry)| entry.span.end).max()?;
    Some(Span::new(start, end.max(start + TimeDelta::minutes(1))))
}

async fn record_applied<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    pattern: &Pattern<Uuid>,
    applied: &Applied,
) -> Result<(), StoreError> {
    let (id, now) = (store.new_id(), store.now());
    let ids = |entries: &[RotaEntry]| -> Vec<Uuid> { entries.iter().map(|one| one.id).collect() };
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "rota_pattern_applied",
        subject_kind: "rota_pattern",
        subject_id: id,
        body: json!({
            "kind": pattern.kind.name(),
            "first_week": pattern.first_week,
            "weeks": pattern.weeks,
            "people": pattern.people,
            "turn": pattern.turn,
            "hours": pattern.hours,
            "added": ids(&applied.added),
            "removed": ids(&applied.removed),
        }),
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, caller.shop_id, "rota", id, json!({})).await
}
