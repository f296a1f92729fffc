//! The rota: who is on shift, on call, on the second rota or away, and when.
//!
//! Belongs here: reading it, over a span and at a moment. Changing it is in [`change`], whole
//! weeks in [`pattern`], leave
//! that is asked for in [`leave`], swaps in [`swap`], the second rota being opened in [`second`],
//! what the quarter holds for each in [`burden`]. Does not belong here: rest and evenness, which
//! are the roster's to reckon.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::Span;
use roster::duty::{self, Kind};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::db::sql;
use crate::error::StoreError;

pub mod burden;
pub mod change;
pub mod feed;
pub mod leave;
pub mod pattern;
pub mod second;
pub mod swap;

pub use burden::burdens;

/// How far around a moment the rota must say something for those it does not name to count as off
/// duty, in days. A shop without a rota has nobody off duty.
pub const KNOWN_AROUND_DAYS: i64 = 7;

/// Longest span that is read in one go, in days; more is cut off.
pub const SPAN_DAYS_MAX: i64 = 400;

/// How long before and after a stretch of duty entries are looked for that touch it, in days.
const STRETCH_DAYS: i64 = 31;

/// An entry that stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RotaEntry {
    /// Id.
    pub id: Uuid,
    /// Whose.
    pub person_id: Uuid,
    /// What.
    pub kind: Kind,
    /// When.
    pub span: Span,
    /// A word about it; often empty.
    pub note: String,
}

impl RotaEntry {
    /// As the roster reckons with it.
    pub fn entry(&self) -> duty::Entry {
        duty::Entry::new(self.kind, self.span)
    }
}

/// Somebody and what they are at a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnDuty {
    /// Who.
    pub person_id: Uuid,
    /// What.
    pub kind: Kind,
    /// Since when and until when without a break.
    pub stretch: Span,
    /// Whether they can be called now: a shift, on call, or the second rota while it is open.
    pub can_be_called: bool,
}

/// Who is what at a moment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DutyAt {
    /// Everybody with an entry that covers it, once each.
    pub people: Vec<OnDuty>,
    /// Whether the shop keeps a rota around that moment; where it does not, nobody is off duty.
    pub known: bool,
    /// Until when the second rota is open, where it is.
    pub second_open_until: Option<DateTime<Utc>>,
}

impl DutyAt {
    /// What one person is.
    pub fn of(&self, person_id: Uuid) -> Option<&OnDuty> {
        self.people.iter().find(|one| one.person_id == person_id)
    }
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    person_id: Uuid,
    kind: String,
    starts: DateTime<Utc>,
    ends: DateTime<Utc>,
    note: String,
}

impl TryFrom<Row> for RotaEntry {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let kind =
            Kind::from_name(&row.kind).ok_or(StoreError::NotFound { what: "kind of duty" })?;
        Ok(RotaEntry {
            id: row.id,
            person_id: row.person_id,
            kind,
            span: Span::new(row.starts, row.ends),
            note: row.note,
        })
    }
}

/// Every entry that stands and meets the span, by time; at most [`SPAN_DAYS_MAX`] days of it.
///
/// # Errors
/// When the database fails.
pub async fn spans<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Result<Vec<RotaEntry>, StoreError> {
    let to = to.min(from + TimeDelta::days(SPAN_DAYS_MAX));
    if from >= to {
        return Ok(Vec::new());
    }
    let rows = Row::find_by_statement(sql(
        "SELECT id, person_id, kind, lower(during) AS starts, upper(during) AS ends, note \
         FROM rota_entry WHERE shop_id = $1 AND removed_at IS NULL \
             AND during && tstzrange($2, $3) ORDER BY lower(during), person_id, id",
        [shop_id.into(), from.into(), to.into()],
    ))
    .all(conn)
    .await?;
    rows.into_iter().map(RotaEntry::try_from).collect()
}

/// An entry that stands.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn entry_find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<RotaEntry, StoreError> {
    Row::find_by_statement(sql(
        "SELECT id, person_id, kind, lower(during) AS starts, upper(during) AS ends, note \
         FROM rota_entry WHERE shop_id = $1 AND id = $2 AND removed_at IS NULL",
        [shop_id.into(), id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "entry in the rota" })?
    .try_into()
}

/// Entries by person.
pub fn by_person(entries: &[RotaEntry]) -> BTreeMap<Uuid, Vec<duty::Entry>> {
    let mut by_person: BTreeMap<Uuid, Vec<duty::Entry>> = BTreeMap::new();
    for entry in entries {
        by_person.entry(entry.person_id).or_default().push(entry.entry());
    }
    by_person
}

/// Who is what at a moment, each with the whole stretch of it.
///
/// # Errors
/// When the database fails.
pub async fn duty_at<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    at: DateTime<Utc>,
) -> Result<DutyAt, StoreError> {
    let around = TimeDelta::days(STRETCH_DAYS);
    let entries = spans(conn, shop_id, at - around, at + around).await?;
    let second_open_until = second::open_until(conn, shop_id, at).await?;
    Ok(duty_of(&entries, at, second_open_until))
}

fn duty_of(
    entries: &[RotaEntry],
    at: DateTime<Utc>,
    second_open_until: Option<DateTime<Utc>>,
) -> DutyAt {
    let near = TimeDelta::days(KNOWN_AROUND_DAYS);
    let near = Span::new(at - near, at + near);
    let known =
        entries.iter().any(|entry| entry.kind != Kind::Leave && entry.span.cut(near).is_some());
    let now: BTreeSet<Uuid> =
        entries.iter().filter(|entry| entry.span.holds(at)).map(|entry| entry.person_id).collect();
    let people = by_person(entries)
        .into_iter()
        .filter(|(person_id, _)| now.contains(person_id))
        .filter_map(|(person_id, entries)| {
            let is = duty::at(&entries, at)?;
            let can_be_called = match is.kind {
                Kind::Shift | Kind::OnCall => true,
                Kind::Second => second_open_until.is_some(),
                Kind::Leave => false,
            };
            Some(OnDuty { person_id, kind: is.kind, stretch: is.span, can_be_called })
        })
        .collect();
    DutyAt { people, known, second_open_until }
}
