//! Who is on duty in a span, and what they are at.
//!
//! Belongs here: people, duties, what keeps them busy at the start, as the simulation needs
//! them. Does not belong here: the rota's own rows.

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::{Duty, DutyKind, Person, Skills};
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use super::days::{HourOf, When};
use crate::db::sql;
use crate::error::StoreError;

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
    /// Whether a rota says so; without one everybody is on shift in opening hours and on call
    /// otherwise.
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
) -> Result<People, StoreError> {
    let rows = Row::find_by_statement(sql(
        "SELECT person.id, person.name, person.qualifications, here.busy_since, here.busy_min, \
             (SELECT max(until) FROM call_out WHERE call_out.person_id = person.id \
                 AND call_out.until > $2) AS called_until \
         FROM person LEFT JOIN LATERAL ( \
             SELECT job.changed_at AS busy_since, \
                 job.expected_min AS busy_min \
             FROM job WHERE job.assigned_to = person.id AND job.state = 'on_site' \
             ORDER BY job.changed_at DESC LIMIT 1 \
         ) AS here ON true \
         WHERE person.shop_id = $1 AND person.active AND person.guest_link IS NULL \
             AND 'technician' = ANY(person.roles) ORDER BY person.name, person.id",
        [shop_id.into(), now.into()],
    ))
    .all(conn)
    .await?;
    let minutes = |at: DateTime<Utc>| (at - span.start).num_seconds() as f64 / 60.0;
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
            let run_start_min = busy.map(|(since, _)| minutes(since));
            let called = row.called_until.map(minutes);
            Somebody {
                id: row.id,
                name: row.name,
                person: Person {
                    skills: Skills::of(&row.qualifications),
                    duties: called_out(without_rota(span, hours), called),
                    busy_until_min,
                    run_start_min,
                },
            }
        })
        .collect();
    Ok(People { all, rota_known: false, second_open: false })
}

/// On shift while the shop is open, on call while it is not.
fn without_rota(span: When, hours: &[HourOf]) -> Vec<Duty> {
    let mut duties: Vec<Duty> = Vec::new();
    for (at, hour) in hours.iter().enumerate() {
        let kind = if hour.open { DutyKind::Shift } else { DutyKind::OnCall };
        let start_min = at as f64 * 60.0;
        match duties.last_mut() {
            Some(last) if last.kind == kind => last.end_min = start_min + 60.0,
            _ => duties.push(Duty { kind, start_min, end_min: start_min + 60.0 }),
        }
    }
    // The tail that lets the span's last calls be seen to be late.
    if let Some(last) = duties.last_mut().filter(|_| hours.len() == span.hours) {
        last.end_min += roster::capacity::simulate::TAIL_MIN;
    }
    duties
}

/// Whoever is called out comes like one on shift until then.
fn called_out(duties: Vec<Duty>, until_min: Option<f64>) -> Vec<Duty> {
    let Some(until_min) = until_min else { return duties };
    let mut out = Vec::new();
    for duty in duties {
        let split = until_min.clamp(duty.start_min, duty.end_min);
        if duty.kind != DutyKind::OnCall || split <= duty.start_min {
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
        assert_eq!(
            called_out(vec![night, day], Some(120.0)),
            [duty(DutyKind::Shift, 0.0, 120.0), duty(DutyKind::OnCall, 120.0, 600.0), day]
        );
        assert_eq!(called_out(vec![night], Some(900.0)), [duty(DutyKind::Shift, 0.0, 600.0)]);
        assert_eq!(called_out(vec![night], Some(-5.0)), [night]);
        assert_eq!(called_out(vec![night, day], None), [night, day]);
    }
}
