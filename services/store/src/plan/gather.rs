//! What a plan is made from: people and their duty, jobs and their windows, places and ways.
//!
//! Belongs here: reading them at one moment and putting them into the roster's problem, with a
//! sentence for everything that had to be guessed. Does not belong here: the search.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use roster::calendar::Calendar;
use roster::duty::Kind;
use roster::fairness::{Burden, Load};
use roster::plan::compare::Now;
use roster::plan::{HORIZON_MAX_MIN, Held, Job, Pause, Person, Problem, Span};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::share;
use super::ways::{self, Place};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::{JobState, Urgency, Window, window_from};
use crate::{calendar, live_feed, rota};

/// How long the pause of a shift is, minutes. Common practice, no source; local law decides.
const PAUSE_MIN: i64 = 30;
/// Between which minutes of the day it is taken. Common practice, no source.
const PAUSE_WITHIN: (u16, u16) = (11 * 60 + 30, 14 * 60);
/// What is under way longer than planned is taken to need so many minutes more.
const STILL_MIN: i64 = 15;
/// Duty that began before the plan counts for rest; so far back is looked, hours.
const BACK_HOURS: i64 = 36;

/// What is known of somebody, for showing.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PersonIn {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// What the quarter holds for them; nothing in proposals made before it was kept.
    #[serde(default)]
    pub quarter: Option<share::Sides>,
}

/// What is known of a job, for showing and for taking it over.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct JobIn {
    /// Id.
    pub id: Uuid,
    /// Counted per shop.
    pub number: i32,
    /// The customer.
    pub customer_name: String,
    /// The site's town.
    pub town: String,
    /// How long it can wait.
    pub urgency: Urgency,
    /// Where it stood.
    pub state: JobState,
    /// Its version then.
    pub version: i32,
    /// Whether proposals leave it where it is.
    pub pinned: bool,
    /// Who had it.
    pub assigned_to: Option<Uuid>,
    /// When it was planned for.
    pub slot: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

/// All of it.
pub(super) struct Gathered {
    pub(super) start: DateTime<Utc>,
    pub(super) zone: Tz,
    pub(super) problem: Problem,
    pub(super) board: Vec<Now>,
    pub(super) people: Vec<PersonIn>,
    pub(super) quarter: share::Quarter,
    pub(super) jobs: Vec<JobIn>,
    pub(super) notes: Vec<String>,
    pub(super) as_of_live: i64,
}

#[derive(FromQueryResult)]
struct PersonRow {
    id: Uuid,
    name: String,
    qualifications: Vec<String>,
    at_site: Option<Uuid>,
}

#[derive(FromQueryResult)]
struct JobRow {
    id: Uuid,
    number: i32,
    version: i32,
    urgency: String,
    state: String,
    customer_name: String,
    town: String,
    site_id: Uuid,
    created_at: DateTime<Utc>,
    changed_at: DateTime<Utc>,
    not_before: Option<DateTime<Utc>>,
    window_start: Option<DateTime<Utc>>,
    window_end: Option<DateTime<Utc>>,
    expected_min: i32,
    required: Vec<String>,
    assigned_to: Option<Uuid>,
    assigned_name: Option<String>,
    planned_start: Option<DateTime<Utc>>,
    planned_end: Option<DateTime<Utc>>,
    pinned: bool,
}

/// Reads everything that a plan for `span` is made from.
///
/// # Errors
/// When the database fails or what is stored cannot be read.
pub(super) async fn gather(
    store: &Store,
    shop_id: Uuid,
    span: Window,
) -> Result<Gathered, StoreError> {
    let conn = store.conn();
    // The number first: what changes meanwhile is then seen as a change, not lost.
    let as_of_live = live_feed::last_seq(conn, shop_id).await?;
    let calendar = calendar::of_shop(conn, shop_id).await?;
    let people = people(conn, shop_id).await?;
    let rows = jobs(conn, shop_id, span).await?;
    // Whole minutes; a plan does not begin before now.
    let seconds = span.start.timestamp().rem_euclid(60);
    let start = span.start + TimeDelta::seconds((60 - seconds) % 60)
        - TimeDelta::nanoseconds(i64::from(span.start.timestamp_subsec_nanos()));
    let clock = Clock { start, now: store.now(), until: span.end };
    let mut notes = Vec::new();
    let duty = duty(conn, shop_id, &calendar, &clock, &mut notes).await?;
    let quarter = calendar.quarter(clock.start).1;
    let held = rota::burdens(conn, clock.now, shop_id, quarter).await?;
    let held: BTreeMap<Uuid, _> = held.into_iter().map(|one| (one.person_id, one.burden)).collect();

    let mut places = vec![Place::Shop];
    let mut index: BTreeMap<Uuid, usize> = BTreeMap::new();
    let sites = rows.iter().map(|row| row.site_id).chain(people.iter().filter_map(|p| p.at_site));
    for site in sites {
        index.entry(site).or_insert_with(|| {
            places.push(Place::Site(site));
            places.len() - 1
        });
    }
    let travel = ways::travel(conn, shop_id, &places, &mut notes).await?;

    let persons: Vec<Person> = people
        .iter()
        .map(|person| Person {
            id: person.id.to_string(),
            name: person.name.clone(),
            skills: person.qualifications.iter().cloned().collect(),
            duty: duty.of(person.id),
            pauses: duty.pauses(person.id, &calendar, &clock),
            place: person.at_site.and_then(|site| index.get(&site).copied()).unwrap_or(0),
            home: 0,
            // Not known of anybody: what they worked before is in their duty and what they hold.
            rest_until_min: -HORIZON_MAX_MIN,
            burden_h: held.get(&person.id).map_or(0.0, Burden::over_h),
        })
        .collect();
    let quarter = share::Quarter {
        held: people.iter().map(|person| of_quarter(&held, person.id)).collect(),
        on_call: people.iter().map(|person| duty.on_call(person.id)).collect(),
        span: Span::new(clock.minute(quarter.start), clock.minute(quarter.end)),
        now_min: clock.minute(clock.now),
    };
    let of_person = |id: Uuid| people.iter().position(|person| person.id == id);

    let mut gathered = Gathered {
        start,
        zone: calendar.zone(),
        problem: Problem {
            people: persons,
            jobs: Vec::new(),
            travel,
            rest: calendar.rest().into(),
        },
        board: Vec::new(),
        people: people
            .iter()
            .map(|p| PersonIn { id: p.id, name: p.name.clone(), quarter: None })
            .collect(),
        quarter,
        jobs: Vec::new(),
        notes,
        as_of_live,
    };
    let mut passed = 0;
    for row in rows {
        let state = JobState::from_stored(&row.state)?;
        let urgency = Urgency::from_stored(&row.urgency)?;
        let person = row.assigned_to.and_then(of_person);
        let slot = window_from(row.planned_start, row.planned_end);
        let on_board = slot.map(|slot| Span::new(clock.minute(slot.start), clock.minute(slot.end)));
        let held = match (held_span(&row, state, on_board, &clock), person) {
            (Some(span), Some(person)) => Some((Held { person, start_min: span.start_min }, span)),
            // Whoever has it is no technician any more; it is nobody's to plan around.
            (Some(_), None) => continue,
            (None, _) => None,
        };
        let promised = window_from(row.window_start, row.window_end)
            .map(|window| Span::new(clock.minute(window.start), clock.minute(window.end)));
        let over = promised.is_some_and(|promised| promised.end_min < 0);
        passed += usize::from(over && held.is_none());
        let ready =
            row.not_before.map_or(row.created_at, |not_before| not_before.max(row.created_at));
        gathered.problem.jobs.push(Job {
            id: row.id.to_string(),
            title: format!("job {} ({})", row.number, row.customer_name),
            place: index[&row.site_id],
            windows: promised.filter(|_| !over).into_iter().collect(),
            expected_min: held.map_or(i64::from(row.expected_min), |(_, span)| span.length_min()),
            skills: row.required.iter().cloned().collect::<BTreeSet<String>>(),
            class: class(urgency),
            ready_min: clock.minute(ready),
            held: held.map(|(held, _)| held),
            with: person,
        });
        gathered.board.push(Now {
            person,
            elsewhere: if person.is_none() { row.assigned_name } else { None },
            span: held.map(|(_, span)| span).or(on_board),
        });
        gathered.jobs.push(JobIn {
            id: row.id,
            number: row.number,
            customer_name: row.customer_name,
            town: row.town,
            urgency,
            state,
            version: row.version,
            pinned: row.pinned,
            assigned_to: row.assigned_to,
            slot: slot.map(|slot| (slot.start, slot.end)),
        });
    }
    if passed > 0 {
        let one =
            if passed == 1 { "One promised window has" } else { "Some promised windows have" };
        gathered.notes.push(format!(
            "{one} passed ({passed}); what was promised then is planned as soon as it can be."
        ));
    }
    Ok(gathered)
}

/// The plan's minutes.
struct Clock {
    start: DateTime<Utc>,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
}

impl Clock {
    /// Whole minutes from the start, down; what is longer ago than a plan can say is cut.
    fn minute(&self, at: DateTime<Utc>) -> i64 {
        let minutes = (at - self.start).num_seconds().div_euclid(60);
        minutes.clamp(-HORIZON_MAX_MIN, HORIZON_MAX_MIN)
    }
}

/// The planner's classes: the fewest that tell who goes first.
fn class(urgency: Urgency) -> u8 {
    match urgency {
        Urgency::NoHeatVulnerable => 0,
        Urgency::Water | Urgency::FoodStorage => 1,
        Urgency::NoHeatCool => 2,
        Urgency::Comfort => 3,
    }
}

/// When something that cannot be moved is done, or `None` for what can.
fn held_span(row: &JobRow, state: JobState, planned: Option<Span>, clock: &Clock) -> Option<Span> {
    let now = clock.minute(clock.now);
    match (state, planned) {
        // Somebody is there: until it was planned to end, or a little longer.
        (JobState::OnSite, Some(planned)) => {
            Some(Span::new(planned.start_min.min(now), planned.end_min.max(now + STILL_MIN)))
        }
        (JobState::OnSite, None) => {
            let began = clock.minute(row.changed_at).min(now);
            Some(Span::new(began, (began + i64::from(row.expected_min)).max(now + STILL_MIN)))
        }
        // For a part or an answer: its time is kept for it.
        (JobState::Waiting, planned) => planned,
        (_, Some(planned)) => {
            let begun = planned.start_min <= now && now < planned.end_min;
            (row.pinned || begun).then_some(planned)
        }
        (_, None) => None,
    }
}

async fn people<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Vec<PersonRow>, StoreError> {
    Ok(PersonRow::find_by_statement(sql(
        "SELECT person.id, person.name, person.qualifications, \
           (SELECT unit.site_id FROM job JOIN unit ON unit.id = job.unit_id \
             WHERE job.assigned_to = person.id AND job.state = 'on_site' \
             ORDER BY job.changed_at DESC LIMIT 1) AS at_site \
         FROM person WHERE shop_id = $1 AND active AND 'technician' = ANY(roles) \
         ORDER BY person.name, person.id",
        [shop_id.into()],
    ))
    .all(conn)
    .await?)
}

/// What the quarter holds for somebody; nothing for who came to the shop since it was counted.
fn of_quarter(held: &BTreeMap<Uuid, Burden<Uuid>>, person_id: Uuid) -> Burden<Uuid> {
    let none = Load::default();
    let nothing = Burden { id: person_id, days_available: 0, has: none, share: none };
    held.get(&person_id).cloned().unwrap_or(nothing)
}

/// What is to be done in the span, and what stands in it.
async fn jobs<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    span: Window,
) -> Result<Vec<JobRow>, StoreError> {
    Ok(JobRow::find_by_statement(sql(
        "SELECT job.id, job.number, job.version, job.urgency, job.state, \
           customer.name AS customer_name, site.town, site.id AS site_id, job.created_at, \
           job.changed_at, job.not_before, job.window_start, job.window_end, job.expected_min, \
           job.required, job.assigned_to, person.name AS assigned_name, \
           lower(assignment.planned) AS planned_start, \
           upper(assignment.planned) AS planned_end, job_pin.job_id IS NOT NULL AS pinned \
         FROM job JOIN unit ON unit.id = job.unit_id JOIN site ON site.id = unit.site_id \
         JOIN customer ON customer.id = site.customer_id \
         LEFT JOIN person ON person.id = job.assigned_to \
         LEFT JOIN assignment ON assignment.job_id = job.id AND assignment.ended_at IS NULL \
         LEFT JOIN job_pin ON job_pin.job_id = job.id \
         WHERE job.shop_id = $1 AND job.state NOT IN ('done', 'cancelled') \
           AND (assignment.planned && tstzrange($2, $3) OR job.state = 'on_site' \
             OR (job.state IN ('open', 'assigned') \
               AND (assignment.planned IS NULL OR upper(assignment.planned) <= $2) \
               AND (job.not_before IS NULL OR job.not_before < $3) \
               AND (job.window_start IS NULL OR job.window_start < $3))) \
         ORDER BY job.number",
        [shop_id.into(), span.start.into(), span.end.into()],
    ))
    .all(conn)
    .await?)
}

/// When each may work, in the plan's minutes.
struct Duties {
    spans: BTreeMap<Uuid, Vec<Span>>,
    shifts: BTreeMap<Uuid, Vec<roster::calendar::Span>>,
    /// On call, or on the second rota while it is open: a visit then is a call-out.
    on_call: BTreeMap<Uuid, Vec<Span>>,
    /// For everybody, where the shop keeps no rota.
    all: Vec<Span>,
}

impl Duties {
    fn of(&self, person: Uuid) -> Vec<Span> {
        self.spans.get(&person).unwrap_or(&self.all).clone()
    }

    fn on_call(&self, person: Uuid) -> Vec<Span> {
        self.on_call.get(&person).cloned().unwrap_or_default()
    }

    /// A pause in the middle of each day on which a shift spans the time for it.
    fn pauses(&self, person: Uuid, calendar: &Calendar, clock: &Clock) -> Vec<Pause> {
        let shifts = self.shifts.get(&person).into_iter().flatten();
        shifts
            .flat_map(|shift| calendar.dates(*shift).into_iter().map(move |date| (shift, date)))
            .map(|(shift, date)| {
                let from = calendar.moment(date, PAUSE_WITHIN.0);
                let to = calendar.moment(date, PAUSE_WITHIN.1);
                (shift.start <= from && to <= shift.end, from, to)
            })
            // Whoever begins in the middle of it has had it, or takes it when they like.
            .filter(|(spans, from, to)| *spans && *from >= clock.start && *to <= clock.until)
            .map(|(_, from, to)| Pause {
                within: Span::new(clock.minute(from), clock.minute(to)),
                length_min: PAUSE_MIN,
            })
            .collect()
    }
}

async fn duty<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    calendar: &Calendar,
    clock: &Clock,
    notes: &mut Vec<String>,
) -> Result<Duties, StoreError> {
    let from = clock.start - TimeDelta::hours(BACK_HOURS);
    let entries = rota::spans(conn, shop_id, from, clock.until).await?;
    let whole = roster::calendar::Span::new(clock.start, clock.until);
    let minutes =
        |span: roster::calendar::Span| Span::new(clock.minute(span.start), clock.minute(span.end));
    let mut duties = Duties {
        spans: BTreeMap::new(),
        shifts: BTreeMap::new(),
        on_call: BTreeMap::new(),
        all: Vec::new(),
    };
    let known =
        entries.iter().any(|entry| entry.kind != Kind::Leave && entry.span.cut(whole).is_some());
    if !known {
        notes.push(
            "The rota says nothing about this time: everybody is taken to work while the shop is \
             open."
                .to_owned(),
        );
        duties.all = calendar.open_spans(whole).into_iter().map(minutes).collect();
        for entry in entries.iter().filter(|entry| entry.kind == Kind::Leave) {
            let away = entry.span;
            let left = calendar
                .open_spans(whole)
                .into_iter()
                .flat_map(|open| roster::calendar::gaps(open, &[away]));
            duties.spans.insert(entry.person_id, left.map(minutes).collect());
        }
        return Ok(duties);
    }
    let opened = openings(conn, shop_id, clock).await?;
    let mut second = BTreeSet::new();
    for entry in &entries {
        // Waiting for a call is no work: who is on call begins to count when the plan does.
        let waiting = entry.span.cut(whole);
        let spans: Vec<roster::calendar::Span> = match entry.kind {
            Kind::Shift => vec![entry.span],
            Kind::OnCall => waiting.into_iter().collect(),
            Kind::Second => {
                let open: Vec<_> = waiting
                    .iter()
                    .flat_map(|span| opened.iter().filter_map(|o| span.cut(*o)))
                    .collect();
                if waiting.is_some() && open.is_empty() {
                    second.insert(entry.person_id);
                }
                open
            }
            Kind::Leave => Vec::new(),
        };
        let ends = spans.into_iter().filter_map(|span| {
            let end = span.end.min(clock.until);
            (span.start < end).then(|| roster::calendar::Span::new(span.start, end))
        });
        let ends: Vec<_> = ends.collect();
        if entry.kind == Kind::Shift {
            duties.shifts.entry(entry.person_id).or_default().extend(&ends);
        } else {
            let on_call = duties.on_call.entry(entry.person_id).or_default();
            on_call.extend(ends.iter().copied().map(minutes));
        }
        duties.spans.entry(entry.person_id).or_default().extend(ends.into_iter().map(minutes));
    }
    if !second.is_empty() {
        notes.push(format!(
            "The second rota is not open: {} of it {} left out.",
            second.len(),
            if second.len() == 1 { "is" } else { "are" }
        ));
    }
    for spans in duties.spans.values_mut() {
        spans.sort_unstable();
    }
    Ok(duties)
}

/// When the second rota is open.
async fn openings<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    clock: &Clock,
) -> Result<Vec<roster::calendar::Span>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        starts: DateTime<Utc>,
        ends: DateTime<Utc>,
    }
    let rows = Row::find_by_statement(sql(
        "SELECT lower(during) AS starts, upper(during) AS ends FROM second_opening \
         WHERE shop_id = $1 AND closed_at IS NULL AND during && tstzrange($2, $3)",
        [shop_id.into(), clock.start.into(), clock.until.into()],
    ))
    .all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| roster::calendar::Span::new(row.starts, row.ends)).collect())
}
