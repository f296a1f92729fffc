//! Who is on duty in a span, and what they are at.
//!
//! Belongs here: people, duties, what keeps them busy at the start, as the simulation needs
//! them. Does not belong here: the rota's own rows ([`crate::rota`]).

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::places::SHOP;
use roster::capacity::simulate::TAIL_MIN;
use roster::capacity::{Duty, DutyKind, Person, Skills};
use roster::duty::Kind;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::days::{HourOf, When};
use super::places::ShopPlaces;
use crate::db::sql;
use crate::error::StoreError;
use crate::rota::{self, KNOWN_AROUND_DAYS, second};

/// How long a job that somebody is at is believed to take at least from now, minutes.
const STILL_BUSY_MIN: f64 = 15.0;

/// Somebody of the shop.
#[derive(Clone, Debug)]
pub struct Somebody {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// As the simulation sees them.
    pub person: Person,
}

/// Who there is.
#[derive(Clone, Debug)]
pub struct People {
    /// In the order in which they are called out.
    pub all: Vec<Somebody>,
    /// Whether the rota says something of that time; where it does not, everybody is on shift in
    /// opening hours and on call otherwise.
    pub rota_known: bool,
    /// The second rota is open now.
    pub second_open: bool,
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    name: String,
    qualifications: Vec<String>,
    busy_since: Option<DateTime<Utc>>,
    busy_min: Option<i32>,
    site_id: Option<Uuid>,
    called_until: Option<DateTime<Utc>>,
}

/// Who is on duty from the span's start on, for some hours after it too.
///
/// # Errors
/// When the database fails.
pub async fn people<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    span: When,
    hours: &[HourOf],
    places: &ShopPlaces,
) -> Result<People, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT person.id, person.name, person.qualifications, here.busy_since, here.busy_min, here.site_id, \
             (SELECT max(until) FROM call_out WHERE call_out.person_id = person.id \
                 AND call_out.until > $2) AS called_until \
         FROM person LEFT JOIN LATERAL ( \
             SELECT job.changed_at AS busy_since, job.expected_min AS busy_min, unit.site_id \
             FROM job JOIN unit ON unit.id = job.unit_id WHERE job.assigned_to = person.id AND job.state = 'on_site' \
             ORDER BY job.changed_at DESC LIMIT 1 \
         ) AS here ON true \
         WHERE person.shop_id = $1 AND person.active AND person.guest_link IS NULL \
             AND 'technician' = ANY(person.roles) ORDER BY person.name, person.id",
        [shop_id.into(), now.into()],
    ))
    .all(conn)
    .await?;
    let around = TimeDelta::days(KNOWN_AROUND_DAYS);
    let entries = rota::spans(conn, shop_id, span.start - around, span.end() + around).await?;
    let rota_known = entries.iter().any(|entry| entry.kind != Kind::Leave);
    let second_until = second::open_until(conn, shop_id, now).await?;
    let minutes = |at: DateTime<Utc>| (at - span.start).num_seconds() as f64 / 60.0;
    let mut duties: BTreeMap<Uuid, Vec<Duty>> = BTreeMap::new();
    for entry in &entries {
        let kind = match entry.kind {
            Kind::Shift => DutyKind::Shift,
            Kind::OnCall => DutyKind::OnCall,
            Kind::Second => DutyKind::Second,
            Kind::Leave => continue,
        };
        let (start_min, end_min) = (minutes(entry.span.start), minutes(entry.span.end));
        duties.entry(entry.person_id).or_default().push(Duty { kind, start_min, end_min });
    }
    // What keeps somebody busy now does not a day from now, and did not a week ago.
    let begins_now = span.start <= now + TimeDelta::hours(1) && span.end() > now;
    let all = rows
        .into_iter()
        .map(|row| {
            let busy = row.busy_since.zip(row.busy_min).filter(|_| begins_now);
            let busy_until_min = busy.map_or(0.0, |(since, takes)| {
                let over = since + TimeDelta::minutes(i64::from(takes));
                minutes(over).max(minutes(now) + STILL_BUSY_MIN)
            });
            let own = if rota_known {
                duties.remove(&row.id).unwrap_or_default()
            } else {
                without_rota(hours)
            };
            let own = comes_until(own, DutyKind::OnCall, row.called_until.map(minutes));
            let own = comes_until(own, DutyKind::Second, second_until.map(minutes));
            Somebody {
                id: row.id,
                name: row.name,
                person: Person {
                    skills: Skills::of(&row.qualifications),
                    duties: own,
                    busy_until_min,
                    run_start_min: busy.map(|(since, _)| minutes(since)),
                    place: busy
                        .and(row.site_id)
                        .and_then(|site| places.of_site(site))
                        .unwrap_or(SHOP),
                },
            }
        })
        .collect();
    Ok(People { all, rota_known, second_open: second_until.is_some() })
}

/// On shift while the shop is open, on call while it is not; the last goes on, so that the span's
/// last calls can be seen to be late.
fn without_rota(hours: &[HourOf]) -> Vec<Duty> {
    let mut duties: Vec<Duty> = Vec::new();
    for (at, hour) in hours.iter().enumerate() {
        let kind = if hour.open { DutyKind::Shift } else { DutyKind::OnCall };
        let start_min = at as f64 * 60.0;
        match duties.last_mut() {
            Some(last) if last.kind == kind => last.end_min = start_min + 60.0,
            _ => duties.push(Duty { kind, start_min, end_min: start_min + 60.0 }),
        }
    }
    if let Some(last) = duties.last_mut() {
        last.end_min += TAIL_MIN;
    }
    duties
}

/// Whoever was called out, or is on the second rota while it is open, comes like one on shift
/// until then.
fn comes_until(duties: Vec<Duty>, kind: DutyKind, until_min: Option<f64>) -> Vec<Duty> {
    let Some(until_min) = until_min else { return duties };
    let mut out = Vec::new();
    for duty in duties {
        let split = until_min.clamp(duty.start_min, duty.end_min);
        if duty.kind != kind || split <= duty.start_min {
            out.push(duty);
            continue;
        }
        out.push(Duty { kind: DutyKind::Shift, end_min: split, ..duty });
        if split < duty.end_min {
            out.push(Duty { start_min: split, ..duty });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_is_called_out_is_on_shift_until_their_duty_ends() {
        let duty = |kind, start_min, end_min| Duty { kind, start_min, end_min };
        let night = duty(DutyKind::OnCall, 0.0, 600.0);
        let day = duty(DutyKind::Shift, 600.0, 900.0);
        let come = |duties: Vec<Duty>, until| comes_until(duties, DutyKind::OnCall, until);
        assert_eq!(
            come(vec![night, day], Some(120.0)),
            [duty(DutyKind::Shift, 0.0, 120.0), duty(DutyKind::OnCall, 120.0, 600.0), day]
        );
        assert_eq!(come(vec![night], Some(900.0)), [duty(DutyKind::Shift, 0.0, 600.0)]);
        assert_eq!(come(vec![night], Some(-5.0)), [night]);
        assert_eq!(come(vec![night, day], None), [night, day]);
    }
}
