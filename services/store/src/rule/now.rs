//! What the rules look at, as it is now.
//!
//! Belongs here: gathering the values of one shop at one moment. Does not belong here: what they
//! mean ([`roster::rules::schema`]).

use chrono::{DateTime, TimeDelta, Utc};
use roster::capacity::{CLASSES, DutyKind};
use roster::queue::Urgency;
use roster::rules::Values;
use sea_orm::{ConnectionTrait, FromQueryResult};
use uuid::Uuid;

use crate::calendar;
use crate::capacity::days::{self, When};
use crate::capacity::inputs::calendar_values;
use crate::capacity::people::{self, People};
use crate::capacity::places::ShopPlaces;
use crate::capacity::setting;
use crate::db::{Store, sql};
use crate::error::StoreError;

/// How far a duty is looked ahead for its end, hours.
const DUTY_AHEAD_HOURS: usize = 72;

/// Who is on duty at a moment.
#[derive(Clone, Debug)]
pub(crate) struct OnDuty {
    people: People,
    start: DateTime<Utc>,
    now_min: f64,
    duty_max_min: f64,
}

impl OnDuty {
    pub(crate) async fn of<C: ConnectionTrait>(
        conn: &C,
        shop_id: Uuid,
        now: DateTime<Utc>,
    ) -> Result<Self, StoreError> {
        let start = days::hour_start(now);
        let span = When { start, hours: DUTY_AHEAD_HOURS };
        let calendar = calendar::of_shop(conn, shop_id).await?;
        let hours = days::hours(&calendar, start, DUTY_AHEAD_HOURS);
        // Where they are makes no difference to who is on duty.
        let nowhere = ShopPlaces::default();
        let people = people::people(conn, shop_id, now, span, &hours, &nowhere).await?;
        let rest: roster::plan::RestRule = calendar.rest().into();
        Ok(OnDuty {
            people,
            start,
            now_min: (now - start).num_seconds() as f64 / 60.0,
            duty_max_min: rest.duty_max_min as f64,
        })
    }

    /// How each person is on duty now, and until which minute: those who are.
    fn duties(&self) -> impl Iterator<Item = (&people::Somebody, DutyKind, f64)> {
        self.people.all.iter().filter_map(|somebody| {
            let duties = &somebody.person.duties;
            let at = duties
                .iter()
                .position(|duty| duty.start_min <= self.now_min && self.now_min < duty.end_min)?;
            Some((somebody, duties[at].kind, duties[at].end_min))
        })
    }

    /// The person who is called out next, with the end of their duty; the first on call comes
    /// anyway.
    pub(crate) fn next_on_call(&self) -> Option<(Uuid, String, DateTime<Utc>)> {
        let mut on_call = self.duties().filter(|(_, kind, _)| *kind == DutyKind::OnCall);
        on_call.nth(1).map(|(somebody, _, until)| {
            let until = self.start + TimeDelta::seconds((until * 60.0) as i64);
            (somebody.id, somebody.name.clone(), until)
        })
    }

    fn fill(&self, values: &mut Values) {
        let mut on_call = 0;
        let mut hours_left = 0.0;
        for (somebody, kind, until) in self.duties() {
            let comes = match kind {
                DutyKind::Shift => true,
                DutyKind::OnCall => {
                    on_call += 1;
                    on_call == 1
                }
                DutyKind::Second => self.people.second_open,
            };
            if comes {
                let rest_due = somebody
                    .person
                    .run_start_min
                    .map_or(f64::INFINITY, |start| start + self.duty_max_min);
                values.on_duty += 1;
                hours_left += (until.min(rest_due) - self.now_min).max(0.0) / 60.0;
            }
        }
        values.on_call_left = i64::max(on_call - 1, 0);
        values.second_open = self.people.second_open;
        values.hours_left = (hours_left * 10.0).round() / 10.0;
    }
}

/// Everything but the chances of being late, which take a simulation.
pub(crate) async fn values(store: &Store, shop_id: Uuid) -> Result<Values, StoreError> {
    let (conn, now) = (store.conn(), store.now());
    let hour = days::hours(&calendar::of_shop(conn, shop_id).await?, now, 1);
    let hour = hour.first().ok_or(StoreError::NotFound { what: "shop" })?;
    let weather = setting::weather(conn, shop_id).await?;
    let mut values =
        Values { outdoor_f: i64::from(weather.of(hour.date).outdoor_f), ..calendar_values(hour) };
    jobs(conn, shop_id, now, &mut values).await?;
    requests(conn, shop_id, now, &mut values).await?;
    OnDuty::of(conn, shop_id, now).await?.fill(&mut values);
    Ok(values)
}

async fn jobs<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    values: &mut Values,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        urgency: String,
        waited_min: f64,
    }
    let tolerable = setting::of_shop(conn, shop_id).await?.tolerable;
    let rows = Row::find_by_statement(sql(
        "SELECT urgency, (extract(epoch FROM $2 - greatest(created_at, window_start, \
             job.not_before)) / 60)::float8 AS waited_min \
         FROM job WHERE shop_id = $1 AND state = 'open' \
             AND coalesce(job.not_before, '-infinity') <= $2 AND NOT EXISTS (SELECT FROM holdover \
                 WHERE holdover.job_id = job.id AND holdover.ended_at IS NULL)",
        [shop_id.into(), now.into()],
    ))
    .all(conn)
    .await?;
    for row in rows {
        let class = Urgency::ALL.iter().position(|class| class.id() == row.urgency);
        let class = class.unwrap_or(CLASSES - 1);
        values.open_jobs[class] += 1;
        if class < CLASSES - 1 {
            values.urgent_unassigned += 1;
            values.longest_wait_min = values.longest_wait_min.max(row.waited_min as i64);
            values.late_now += i64::from(row.waited_min > tolerable.0[class]);
        }
    }
    Ok(())
}

async fn requests<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    now: DateTime<Utc>,
    values: &mut Values,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        reads: i64,
        read_min: f64,
        approvals: i64,
        approval_min: f64,
        amount_cents: i64,
    }
    let row = Row::find_by_statement(sql(
        "SELECT count(*) FILTER (WHERE state = 'ready') AS reads, \
             coalesce(max(extract(epoch FROM $2 - changed_at) / 60) \
                 FILTER (WHERE state = 'ready'), 0)::float8 AS read_min, \
             count(*) FILTER (WHERE state = 'awaiting_approval') AS approvals, \
             coalesce(max(extract(epoch FROM $2 - changed_at) / 60) \
                 FILTER (WHERE state = 'awaiting_approval'), 0)::float8 AS approval_min, \
             coalesce(max(estimated_cost_cents) FILTER (WHERE state = 'awaiting_approval'), 0) \
                 AS amount_cents \
         FROM condemn_request WHERE shop_id = $1 AND state IN ('ready', 'awaiting_approval')",
        [shop_id.into(), now.into()],
    ))
    .one(conn)
    .await?;
    if let Some(row) = row {
        values.reads_waiting = row.reads;
        values.read_waiting_min = row.read_min as i64;
        values.approvals_waiting = row.approvals;
        values.approval_waiting_min = row.approval_min as i64;
        values.approval_amount = row.amount_cents as f64 / 100.0;
    }
    Ok(())
}
