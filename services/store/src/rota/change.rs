//! Changing the rota: one entry put in or taken out, checked against the rest rule.
//!
//! Belongs here: who may, what an entry may be, and what happens where two overlap or rest is
//! broken. Whole weeks are in [`super::pattern`]. Does not belong here: the rule itself
//! ([`roster::rest`]).

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::{Calendar, Span};
use roster::duty::Kind;
use roster::rest::{self, Finding, OnBreak};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{RotaEntry, by_person, entry_find, spans};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::{Caller, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;
use crate::{calendar, live_feed};

/// Longest shift, in hours.
pub const SHIFT_HOURS_MAX: i64 = 24;

/// Longest stretch on call in one entry, in days.
pub const ON_CALL_DAYS_MAX: i64 = 31;

/// Longest leave in one entry, in days.
pub const LEAVE_DAYS_MAX: i64 = 366;

/// How long ago an entry may begin, in days: a rota is put right afterwards, but not rewritten.
pub const PAST_DAYS_MAX: i64 = 92;

/// How far ahead an entry may end, in days.
pub const AHEAD_DAYS_MAX: i64 = 750;

/// Longest note or reason, in characters.
pub const NOTE_CHARS_MAX: usize = 200;

/// How far around a change rest is looked at, in days: longer than the longest row of nights on
/// call that a shop may allow.
const REST_AROUND_DAYS: i64 = 40;

/// A new entry.
#[derive(Clone, Debug)]
pub struct EntryNew {
    /// Whose.
    pub person_id: Uuid,
    /// What.
    pub kind: Kind,
    /// When.
    pub span: Span,
    /// A word about it; may be empty.
    pub note: String,
}

/// Something that a change breaks, and that the shop lets pass.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// Whose rest.
    pub person_id: Uuid,
    /// Their name.
    pub name: String,
    /// What, and what would be right.
    pub finding: Finding,
}

impl Warning {
    /// As a sentence or two.
    pub fn says(&self) -> String {
        format!("{} {}. {}", self.name, self.finding.says, self.finding.right)
    }
}

/// What was done, with what it breaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Done<T> {
    /// What.
    pub what: T,
    /// What it breaks.
    pub warnings: Vec<Warning>,
}

/// Puts one entry in.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `InvalidMany`, `Conflict` where the person
/// has another entry then or it would break the rest rule and the shop refuses that; or the
/// database fails.
pub async fn entry_add(
    store: &Store,
    caller: &Caller,
    new: EntryNew,
) -> Result<Done<RotaEntry>, StoreError> {
    caller.must_schedule("change the rota")?;
    let mut faults = Faults::default();
    let note = faults.text_or_empty("/note", &new.note, NOTE_CHARS_MAX);
    check_span(&mut faults, store.now(), new.kind, new.span);
    faults.done()?;

    let txn = store.begin().await?;
    let calendar = calendar::of_shop(&txn, caller.shop_id).await?;
    let rest =
        Rest::begin(&txn, store, caller.shop_id, &calendar, &[new.person_id], new.span).await?;
    let new = EntryNew { note, ..new };
    let entry = insert(&txn, store, &calendar, caller.shop_id, caller.person_id, new).await?;
    let warnings = rest.end(&txn, store, calendar.rest().on_break).await?;
    changed(&txn, store, caller, "rota_entry_added", &entry, json!({})).await?;
    txn.commit().await?;
    Ok(Done { what: entry, warnings })
}

/// Takes one entry out.
///
/// # Errors
/// `Forbidden` unless they give out work, `NotFound`, `InvalidMany`, or the database fails.
pub async fn entry_remove(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    why: &str,
) -> Result<RotaEntry, StoreError> {
    caller.must_schedule("change the rota")?;
    let mut faults = Faults::default();
    let why = faults.text_or_empty("/why", why, NOTE_CHARS_MAX);
    faults.done()?;
    let txn = store.begin().await?;
    let person_id = entry_find(&txn, caller.shop_id, id).await?.person_id;
    lock_people(&txn, caller.shop_id, &[person_id]).await?;
    let entry = entry_find(&txn, caller.shop_id, id).await?;
    remove(&txn, store, caller.person_id, &entry, &why).await?;
    changed(&txn, store, caller, "rota_entry_removed", &entry, json!({ "why": why })).await?;
    txn.commit().await?;
    Ok(entry)
}

/// Notes what cannot be an entry of this kind.
pub(super) fn check_span(faults: &mut Faults, now: DateTime<Utc>, kind: Kind, span: Span) {
    if span.start >= span.end {
        faults.add("/end", "It must end after it starts.");
        return;
    }
    let (longest, says) = match kind {
        Kind::Shift => {
            (TimeDelta::hours(SHIFT_HOURS_MAX), format!("A shift has at most {SHIFT_HOURS_MAX} h."))
        }
        Kind::OnCall | Kind::Second => (
            TimeDelta::days(ON_CALL_DAYS_MAX),
            format!("One entry on call has at most {ON_CALL_DAYS_MAX} days; make two of it."),
        ),
        Kind::Leave => (
            TimeDelta::days(LEAVE_DAYS_MAX),
            format!("One leave has at most {LEAVE_DAYS_MAX} days; make two of it."),
        ),
    };
    // A day on which the clocks go back has an hour more than its wall says.
    if span.length() > longest + TimeDelta::hours(1) {
        faults.add("/end", says);
    }
    if span.start < now - TimeDelta::days(PAST_DAYS_MAX) {
        faults.add("/start", format!("That is more than {PAST_DAYS_MAX} days ago."));
    }
    if span.end > now + TimeDelta::days(AHEAD_DAYS_MAX) {
        faults.add("/end", format!("That is more than {AHEAD_DAYS_MAX} days ahead."));
    }
}

/// Inserts an entry whose values were looked at.
pub(super) async fn insert<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    calendar: &Calendar,
    shop_id: Uuid,
    made_by: Uuid,
    new: EntryNew,
) -> Result<RotaEntry, StoreError> {
    let person = person_find(txn, shop_id, new.person_id).await?;
    if !person.active {
        return Err(StoreError::invalid(
            "/person_id",
            format!("{} no longer works here; choose somebody who does.", person.name),
        ));
    }
    if let Some(other) = overlapping(txn, shop_id, new.person_id, new.span).await? {
        return Err(overlap(&person.name, calendar, &other));
    }
    let id = store.new_id();
    let meanwhile = || {
        StoreError::conflict(
            "rota-overlap",
            format!(
                "{} was put down for something else in that time just now. Look at the rota again.",
                person.name
            ),
        )
    };
    txn.execute_raw(sql(
        "INSERT INTO rota_entry (id, shop_id, person_id, kind, during, note, made_by, made_at) \
         VALUES ($1, $2, $3, $4, tstzrange($5, $6), $7, $8, $9)",
        [
            id.into(),
            shop_id.into(),
            new.person_id.into(),
            new.kind.name().into(),
            new.span.start.into(),
            new.span.end.into(),
            new.note.clone().into(),
            made_by.into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("rota_entry_no_overlap", &meanwhile)]))?;
    let EntryNew { person_id, kind, span, note } = new;
    Ok(RotaEntry { id, person_id, kind, span, note })
}

/// The first standing entry of somebody's that meets a span.
pub(super) async fn overlapping<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    person_id: Uuid,
    span: Span,
) -> Result<Option<RotaEntry>, StoreError> {
    let entries = spans(conn, shop_id, span.start, span.end).await?;
    Ok(entries.into_iter().find(|entry| entry.person_id == person_id))
}

/// That two entries of one person meet, naming the other.
pub(super) fn overlap(name: &str, calendar: &Calendar, other: &RotaEntry) -> StoreError {
    StoreError::conflict(
        "rota-overlap",
        format!(
            "{name} is {} {}. Take that out first, or choose another time.",
            other.kind.says(),
            calendar.says_span(other.span)
        ),
    )
}

/// Takes an entry out; open offers to swap it are over with it.
pub(super) async fn remove<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    removed_by: Uuid,
    entry: &RotaEntry,
    why: &str,
) -> Result<(), StoreError> {
    take(txn, store, removed_by, entry, why).await?;
    txn.execute_raw(sql(
        "UPDATE rota_swap SET state = 'overtaken', settled_at = $2, settled_by = $3, \
             settled_why = 'the rota was changed' \
         WHERE state = 'open' AND (offered_entry = $1 OR wanted_entry = $1)",
        [entry.id.into(), store.now().into(), removed_by.into()],
    ))
    .await?;
    Ok(())
}

/// Takes an entry out and nothing else.
pub(super) async fn take<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    removed_by: Uuid,
    entry: &RotaEntry,
    why: &str,
) -> Result<(), StoreError> {
    let done = txn
        .execute_raw(sql(
            "UPDATE rota_entry SET removed_at = $2, removed_by = $3, removed_why = $4 \
             WHERE id = $1 AND removed_at IS NULL",
            [entry.id.into(), store.now().into(), removed_by.into(), why.into()],
        ))
        .await?;
    if done.rows_affected() == 0 {
        return Err(StoreError::NotFound { what: "entry in the rota" });
    }
    Ok(())
}

/// Locks people, so that two changes of one person's duty take turns. Whoever locks entries or
/// offers too locks the people first.
pub(super) async fn lock_people<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    people: &[Uuid],
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "SELECT 1 FROM person WHERE shop_id = $1 AND id = ANY($2) ORDER BY id FOR NO KEY UPDATE",
        [shop_id.into(), people.to_vec().into()],
    ))
    .await?;
    Ok(())
}

/// Puts a change of one entry on the record and on the open screens.
pub(super) async fn changed<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    kind: &'static str,
    entry: &RotaEntry,
    more: serde_json::Value,
) -> Result<(), StoreError> {
    let mut body = json!({
        "person": entry.person_id,
        "kind": entry.kind.name(),
        "start": entry.span.start,
        "end": entry.span.end,
    });
    if let (Some(body), Some(more)) = (body.as_object_mut(), more.as_object()) {
        body.extend(more.clone());
    }
    let now = store.now();
    let kept = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "rota_entry",
        subject_id: entry.id,
        body,
    };
    record::append(txn, now, kept).await?;
    live_feed::announce(txn, now, caller.shop_id, "rota", entry.id, json!({})).await
}

/// What some people's rest looked like before a change, to be compared with after it.
pub(super) struct Rest<'a> {
    shop_id: Uuid,
    calendar: &'a Calendar,
    around: Span,
    people: Vec<Uuid>,
    before: BTreeMap<Uuid, Vec<Finding>>,
}

impl<'a> Rest<'a> {
    /// Locks the people, so that two changes of one person's duty take turns, and looks at their
    /// rest around the span that will be changed.
    pub(super) async fn begin<C: ConnectionTrait>(
        txn: &C,
        store: &Store,
        shop_id: Uuid,
        calendar: &'a Calendar,
        people: &[Uuid],
        span: Span,
    ) -> Result<Self, StoreError> {
        let mut people = people.to_vec();
        people.sort_unstable();
        people.dedup();
        lock_people(txn, shop_id, &people).await?;
        let around = TimeDelta::days(REST_AROUND_DAYS);
        let around = Span::new(span.start - around, span.end + around);
        let mut rest = Rest { shop_id, calendar, around, people, before: BTreeMap::new() };
        rest.before = rest.look(txn, store).await?;
        Ok(rest)
    }

    /// What the change has broken: refused, or returned as warnings.
    pub(super) async fn end<C: ConnectionTrait>(
        &self,
        txn: &C,
        store: &Store,
        on_break: OnBreak,
    ) -> Result<Vec<Warning>, StoreError> {
        let after = self.look(txn, store).await?;
        let mut warnings = Vec::new();
        for (person_id, after) in after {
            let before = self.before.get(&person_id).map_or(&[][..], Vec::as_slice);
            for finding in rest::added(before, &after) {
                let name = person_find(txn, self.shop_id, person_id).await?.name;
                warnings.push(Warning { person_id, name, finding });
            }
        }
        match (on_break, warnings.first()) {
            (OnBreak::Refuse, Some(first)) => Err(StoreError::conflict("rest", first.says())),
            _ => Ok(warnings),
        }
    }

    async fn look<C: ConnectionTrait>(
        &self,
        txn: &C,
        store: &Store,
    ) -> Result<BTreeMap<Uuid, Vec<Finding>>, StoreError> {
        let entries = spans(txn, self.shop_id, self.around.start, self.around.end).await?;
        let worked = call_outs(txn, store.now(), self.shop_id, self.around).await?;
        let entries = by_person(&entries);
        let findings = self.people.iter().map(|person_id| {
            let entries = entries.get(person_id).map_or(&[][..], Vec::as_slice);
            let worked = worked.get(person_id).map_or(&[][..], Vec::as_slice);
            (*person_id, rest::findings(self.calendar, entries, worked))
        });
        Ok(findings.collect())
    }
}

#[derive(FromQueryResult)]
struct CallOut {
    person_id: Uuid,
    starts: DateTime<Utc>,
    ends: DateTime<Utc>,
}

/// The calls that each went out for while on call: jobs planned for them then that have begun and
/// were not called off. A job that ended before its planned time ends the call with it.
pub(super) async fn call_outs<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    within: Span,
) -> Result<BTreeMap<Uuid, Vec<Span>>, StoreError> {
    let rows = CallOut::find_by_statement(sql(
        "SELECT went.person_id, lower(went.during * duty.during) AS starts, \
             upper(went.during * duty.during) AS ends \
         FROM ( \
             SELECT assignment.person_id, tstzrange(lower(planned), \
                 greatest(lower(planned), least(upper(planned), ended_at))) AS during \
             FROM assignment JOIN job ON job.id = assignment.job_id \
             WHERE assignment.shop_id = $1 AND planned && tstzrange($2, $3) \
                 AND lower(planned) <= $4 AND job.state IN ('on_site', 'waiting', 'done') \
         ) AS went JOIN rota_entry AS duty ON duty.person_id = went.person_id \
             AND duty.removed_at IS NULL AND duty.kind IN ('on_call', 'second') \
             AND duty.during && went.during \
         ORDER BY starts",
        [shop_id.into(), within.start.into(), within.end.into(), now.into()],
    ))
    .all(conn)
    .await?;
    let mut by_person: BTreeMap<Uuid, Vec<Span>> = BTreeMap::new();
    for row in rows {
        by_person.entry(row.person_id).or_default().push(Span::new(row.starts, row.ends));
    }
    Ok(by_person)
}
