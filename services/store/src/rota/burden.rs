//! What a quarter holds for each, and who is nearest to breaking rest.
//!
//! Belongs here: gathering it for the roster to reckon. Does not belong here: the reckoning
//! ([`roster::fairness`], [`roster::rest`]).

use chrono::{DateTime, TimeDelta, Utc};
use roster::calendar::{Span, joined};
use roster::fairness::{self, Burden};
use roster::rest::{self, Finding, Margin};
use sea_orm::ConnectionTrait;
use uuid::Uuid;

use super::change::call_outs;
use super::{by_person, spans};
use crate::calendar;
use crate::error::StoreError;
use crate::person::{Role, person_list};

/// How far ahead rest is looked at, in days.
pub const WEEK_DAYS: i64 = 7;

/// How far around the quarter and the week entries are read, in days: longer than any row of
/// nights on call.
const AROUND_DAYS: i64 = 40;

/// What a quarter holds for somebody.
#[derive(Clone, Debug, PartialEq)]
pub struct PersonBurden {
    /// Who.
    pub person_id: Uuid,
    /// Their name.
    pub name: String,
    /// What they have and what an even share would be.
    pub burden: Burden<Uuid>,
    /// How far they are from breaking the rest rule in the coming week; nothing where they do not
    /// work in it.
    pub margin: Option<Margin>,
    /// What of the rule is broken in the coming week.
    pub findings: Vec<Finding>,
}

/// What a quarter holds for each of the shop's technicians, by name.
///
/// # Errors
/// When the database fails.
pub async fn burdens<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    quarter: Span,
) -> Result<Vec<PersonBurden>, StoreError> {
    let calendar = calendar::of_shop(conn, shop_id).await?;
    let around = TimeDelta::days(AROUND_DAYS);
    let week = Span::new(now, now + TimeDelta::days(WEEK_DAYS));
    let in_quarter = gathered(conn, now, shop_id, quarter, around).await?;
    let in_week = gathered(conn, now, shop_id, week, around).await?;
    let people: Vec<_> = person_list(conn, shop_id)
        .await?
        .into_iter()
        .filter(|person| person.active && person.roles.contains(&Role::Technician))
        .collect();
    let counted = people
        .iter()
        .map(|person| fairness::Person {
            id: person.id,
            entries: in_quarter.entries(person.id).to_vec(),
            call_outs: in_quarter.worked(person.id).to_vec(),
        })
        .collect();
    let burdens = fairness::burdens(&calendar, quarter, counted);
    Ok(people
        .into_iter()
        .zip(burdens)
        .map(|(person, burden)| {
            let (entries, worked) = (in_week.entries(person.id), in_week.worked(person.id));
            let mut findings = rest::findings(&calendar, entries, worked);
            findings.retain(|finding| finding.span.cut(week).is_some());
            PersonBurden {
                person_id: person.id,
                name: person.name,
                burden,
                margin: rest::margin(&calendar, entries, worked, week),
                findings,
            }
        })
        .collect())
}

/// Entries and calls gone out for, by person.
struct Gathered {
    entries: std::collections::BTreeMap<Uuid, Vec<roster::duty::Entry>>,
    worked: std::collections::BTreeMap<Uuid, Vec<Span>>,
}

impl Gathered {
    fn entries(&self, person_id: Uuid) -> &[roster::duty::Entry] {
        self.entries.get(&person_id).map_or(&[], Vec::as_slice)
    }

    fn worked(&self, person_id: Uuid) -> &[Span] {
        self.worked.get(&person_id).map_or(&[], Vec::as_slice)
    }
}

async fn gathered<C: ConnectionTrait>(
    conn: &C,
    now: DateTime<Utc>,
    shop_id: Uuid,
    span: Span,
    around: TimeDelta,
) -> Result<Gathered, StoreError> {
    let span = Span::new(span.start - around, span.end + around);
    let mut worked = call_outs(conn, now, shop_id, span).await?;
    for spans in worked.values_mut() {
        // One call that reaches over two entries is one; two without a minute between are, too.
        *spans = joined(std::mem::take(spans));
    }
    let entries = by_person(&spans(conn, shop_id, span.start, span.end).await?);
    Ok(Gathered { entries, worked })
}
