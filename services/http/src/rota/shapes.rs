//! Wire shapes of the rota.
//!
//! Belongs here: what is sent and received. Does not belong here: routes.

use chrono::{DateTime, NaiveDate, Utc};
use roster::calendar::{Calendar, Span};
use roster::cover;
use roster::duty::Kind;
use serde::{Deserialize, Serialize};
use store::person::Person;
use store::rota::change::{Done, EntryNew, Warning};
use store::rota::{DutyAt, OnDuty, RotaEntry};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::shapes::PersonRef;

/// From when to when.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RotaQuery {
    /// From when; the beginning of today where absent.
    pub from: Option<DateTime<Utc>>,
    /// Until when; five weeks later where absent.
    pub to: Option<DateTime<Utc>>,
}

/// What an entry is.
#[derive(Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = DutyKind)]
pub enum KindShape {
    /// At work.
    Shift,
    /// At home, and goes out when called.
    OnCall,
    /// On the second rota: as on call once it is opened.
    Second,
    /// Away.
    Leave,
}

impl From<Kind> for KindShape {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Shift => KindShape::Shift,
            Kind::OnCall => KindShape::OnCall,
            Kind::Second => KindShape::Second,
            Kind::Leave => KindShape::Leave,
        }
    }
}

impl From<KindShape> for Kind {
    fn from(kind: KindShape) -> Self {
        match kind {
            KindShape::Shift => Kind::Shift,
            KindShape::OnCall => Kind::OnCall,
            KindShape::Second => Kind::Second,
            KindShape::Leave => Kind::Leave,
        }
    }
}

/// An entry of the rota.
#[derive(Serialize, ToSchema)]
#[schema(as = RotaEntry)]
pub struct EntryShape {
    /// Id.
    pub id: Uuid,
    /// Whose.
    pub person_id: Uuid,
    /// Whose, by name.
    pub person: PersonRef,
    /// What.
    pub kind: KindShape,
    /// From when.
    pub start: DateTime<Utc>,
    /// Until when.
    pub end: DateTime<Utc>,
    /// A word about it; often empty.
    pub note: String,
}

impl EntryShape {
    /// With the name of whose it is.
    pub fn new(entry: RotaEntry, people: &[Person]) -> Self {
        EntryShape {
            id: entry.id,
            person_id: entry.person_id,
            person: named(entry.person_id, people),
            kind: entry.kind.into(),
            start: entry.span.start,
            end: entry.span.end,
            note: entry.note,
        }
    }
}

/// A person by id; somebody of another time has no name here.
pub fn named(id: Uuid, people: &[Person]) -> PersonRef {
    let name = people.iter().find(|person| person.id == id).map(|person| person.name.clone());
    PersonRef { id, name: name.unwrap_or_else(|| "somebody who has left".to_owned()) }
}

/// One day of the shop's.
#[derive(Serialize, ToSchema)]
#[schema(as = RotaDay)]
pub struct DayShape {
    /// The day.
    date: NaiveDate,
    /// When it begins.
    start: DateTime<Utc>,
    /// When it ends; 23 or 25 hours later where the clocks are changed.
    end: DateTime<Utc>,
    /// Whether it is a Saturday, a Sunday or a holiday.
    weekend: bool,
    /// The holiday's name.
    holiday: Option<String>,
    /// When the shop is open.
    open: Vec<SpanShape>,
}

/// From one moment to another.
#[derive(Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Span)]
pub struct SpanShape {
    /// From when.
    pub start: DateTime<Utc>,
    /// Until when; not within.
    pub end: DateTime<Utc>,
}

impl From<Span> for SpanShape {
    fn from(span: Span) -> Self {
        SpanShape { start: span.start, end: span.end }
    }
}

/// The rota over a span.
#[derive(Serialize, ToSchema)]
#[schema(as = Rota)]
pub struct RotaShape {
    /// The zone of the shop's wall.
    zone: String,
    /// The days, with holidays and opening hours.
    days: Vec<DayShape>,
    /// The entries that stand, by time.
    entries: Vec<EntryShape>,
    /// When the shop is closed and nobody is on call, where it has people on call at all.
    holes: Vec<SpanShape>,
}

impl RotaShape {
    /// The days and entries from one moment to another.
    pub fn new(
        calendar: &Calendar,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
        entries: Vec<RotaEntry>,
        people: &[Person],
    ) -> Self {
        let day = |date: NaiveDate| {
            let span = calendar.day(date);
            DayShape {
                date,
                start: span.start,
                end: span.end,
                weekend: calendar.is_weekend(date),
                holiday: calendar.holiday(date).map(str::to_owned),
                open: calendar.open_on(date).into_iter().map(SpanShape::from).collect(),
            }
        };
        let whole = Span::new(from, to);
        let duties: Vec<_> = entries.iter().map(RotaEntry::entry).collect();
        let holes = cover::holes(&calendar.closed_spans(whole), &duties);
        RotaShape {
            holes: holes.into_iter().map(SpanShape::from).collect(),
            zone: calendar.zone().name().to_owned(),
            days: calendar.dates(whole).into_iter().map(day).collect(),
            entries: entries.into_iter().map(|entry| EntryShape::new(entry, people)).collect(),
        }
    }
}

/// Somebody and what they are now.
#[derive(Serialize, ToSchema)]
#[schema(as = OnDuty)]
pub struct OnDutyShape {
    /// Who.
    person: PersonRef,
    /// What.
    kind: KindShape,
    /// Since when without a break.
    since: DateTime<Utc>,
    /// Until when without a break.
    until: DateTime<Utc>,
    /// Whether they can be called now.
    can_be_called: bool,
}

impl OnDutyShape {
    fn new(on: OnDuty, people: &[Person]) -> Self {
        OnDutyShape {
            person: named(on.person_id, people),
            kind: on.kind.into(),
            since: on.stretch.start,
            until: on.stretch.end,
            can_be_called: on.can_be_called,
        }
    }
}

/// Who is on duty now.
#[derive(Serialize, ToSchema)]
#[schema(as = DutyNow)]
pub struct DutyNowShape {
    /// Everybody with an entry that covers now.
    people: Vec<OnDutyShape>,
    /// Whether the shop keeps a rota around now; where it does not, nobody is off duty.
    known: bool,
    /// Until when the second rota is open, where it is.
    second_open_until: Option<DateTime<Utc>>,
}

impl DutyNowShape {
    /// With names.
    pub fn new(duty: DutyAt, people: &[Person]) -> Self {
        DutyNowShape {
            people: duty.people.into_iter().map(|on| OnDutyShape::new(on, people)).collect(),
            known: duty.known,
            second_open_until: duty.second_open_until,
        }
    }
}

/// A new entry.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RotaEntryAdd)]
pub struct EntryAdd {
    /// Whose.
    person_id: Uuid,
    /// What.
    kind: KindShape,
    /// From when.
    start: DateTime<Utc>,
    /// Until when.
    end: DateTime<Utc>,
    /// A word about it.
    #[serde(default)]
    note: String,
}

impl From<EntryAdd> for EntryNew {
    fn from(add: EntryAdd) -> Self {
        EntryNew {
            person_id: add.person_id,
            kind: add.kind.into(),
            span: Span::new(add.start, add.end),
            note: add.note,
        }
    }
}

/// Why an entry is taken out.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RotaEntryRemove)]
pub struct EntryRemove {
    /// In a few words; may be empty.
    #[serde(default)]
    pub why: String,
}

/// Something that a change breaks, and that the shop lets pass.
#[derive(Serialize, ToSchema)]
#[schema(as = RotaWarning)]
pub struct WarningShape {
    /// Whose rest.
    person: PersonRef,
    /// What is wrong and what would be right, in a sentence or two.
    says: String,
}

impl From<Warning> for WarningShape {
    fn from(warning: Warning) -> Self {
        let says = warning.says();
        WarningShape { person: PersonRef { id: warning.person_id, name: warning.name }, says }
    }
}

/// An entry that was put in.
#[derive(Serialize, ToSchema)]
#[schema(as = RotaEntryDone)]
pub struct EntryDoneShape {
    /// The entry.
    entry: EntryShape,
    /// What it breaks.
    warnings: Vec<WarningShape>,
}

impl EntryDoneShape {
    /// With names.
    pub fn new(done: Done<RotaEntry>, people: &[Person]) -> Self {
        EntryDoneShape {
            entry: EntryShape::new(done.what, people),
            warnings: done.warnings.into_iter().map(WarningShape::from).collect(),
        }
    }
}
