//! Proposals for a day or a weekend: asked for, kept, looked at, let go.
//!
//! Belongs here: what a proposal is and its way from asked for to settled. Does not belong here:
//! what it is made from ([`gather`]), taking it over ([`take`]), pins ([`pin`]), ways between
//! places ([`ways`]), what the quarter holds for each ([`share`]), and the search, which is the planner's.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use chrono::{DateTime, TimeDelta, Utc};
use planner::Limits;
use roster::plan::compare::{Comparison, Kind, compare};
use roster::plan::{JOBS_MAX, Plan, Problem, Span};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use tokio::sync::Semaphore;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::job::Window;
use crate::live_feed;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::text::Faults;

mod gather;
pub mod pin;
pub mod share;
pub mod take;
pub mod ways;

pub use gather::{JobIn, PersonIn};

/// Longest span of one plan, hours: a long weekend. A longer one is refused, with this number.
pub const SPAN_HOURS_MAX: i64 = 96;

/// How far ahead a plan may begin, days; nobody's rota is known for longer.
pub const AHEAD_DAYS_MAX: i64 = 60;

/// Seconds that a search may take; more are refused.
pub const SECONDS_MAX: u32 = 30;

/// Seconds that it takes unless told otherwise: 8 technicians and 60 jobs within five in all.
pub const SECONDS: u32 = 4;

/// Rounds of search per job that moves: a day of few jobs is done sooner than [`SECONDS`].
const ROUNDS_PER_JOB: usize = 60;

/// Cores that one search uses.
const CORES: usize = 2;

/// Searches that run at once in one process; the next waits for its turn.
const SEARCHES_MAX: usize = 2;

/// Proposals that a list shows; older ones are still there by their id.
const LISTED_MAX: i64 = 30;

static SEARCHES: Semaphore = Semaphore::const_new(SEARCHES_MAX);

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// From then on; what of it is past already is left out.
    pub from: DateTime<Utc>,
    /// Until then, at most [`SPAN_HOURS_MAX`] hours later.
    pub until: DateTime<Utc>,
    /// Seconds to search for, 1 to [`SECONDS_MAX`]; [`SECONDS`] where absent.
    pub seconds: Option<u32>,
}

/// Where a proposal stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlanState {
    /// May be taken, whole or in parts.
    Open,
    /// Everything that it changes was taken.
    Taken,
    /// Somebody let it go.
    Dropped,
}

impl PlanState {
    /// As stored and sent.
    pub fn name(self) -> &'static str {
        match self {
            PlanState::Open => "open",
            PlanState::Taken => "taken",
            PlanState::Dropped => "dropped",
        }
    }

    fn from_stored(name: &str) -> Result<Self, StoreError> {
        [PlanState::Open, PlanState::Taken, PlanState::Dropped]
            .into_iter()
            .find(|state| state.name() == name)
            .ok_or_else(|| {
                StoreError::corrupt("plan state", std::io::Error::other(name.to_owned()))
            })
    }
}

/// What a proposal says, as kept. Indices of people and jobs are into the problem's.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Body {
    /// The moment that minute 0 is.
    pub start: DateTime<Utc>,
    /// What it was made from.
    pub problem: Problem,
    /// What was found.
    pub plan: Plan,
    /// It beside the board.
    pub comparison: Comparison,
    /// What is known of the people, in the problem's order.
    pub people: Vec<PersonIn>,
    /// What is known of the jobs, in the problem's order.
    pub jobs: Vec<JobIn>,
    /// What was guessed or left aside, in sentences.
    pub notes: Vec<String>,
}

impl Body {
    /// The moment that a minute of the plan is.
    pub fn moment(&self, minute: i64) -> DateTime<Utc> {
        self.start + TimeDelta::minutes(minute)
    }

    /// Where a side puts a job: the board, or the plan.
    pub fn placed(&self, side: &Plan, job: usize) -> Option<Placed> {
        let visit = side.visits.iter().find(|visit| visit.job == job)?;
        Some(Placed {
            person_id: self.people[visit.person].id,
            slot: self.window(visit.span),
            drive_min: visit.drive_min,
        })
    }

    /// A span of the plan's minutes.
    pub fn window(&self, span: Span) -> Window {
        Window { start: self.moment(span.start_min), end: self.moment(span.end_min) }
    }

    fn slot(&self, job: usize) -> Option<(Uuid, Window)> {
        self.placed(&self.plan, job).map(|placed| (placed.person_id, placed.slot))
    }

    /// Whether taking the plan over does anything to a job.
    pub fn changes(&self, job: usize) -> bool {
        match self.comparison.changes[job].kind {
            Kind::Placed | Kind::Moved => true,
            // Its time is taken from it, where it had one.
            Kind::LeftOut => self.jobs[job].slot.is_some(),
            Kind::Held | Kind::Stays => false,
        }
    }
}

/// Where one side puts a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// Who.
    pub person_id: Uuid,
    /// When.
    pub slot: Window,
    /// Driving to it, minutes.
    pub drive_min: i64,
}

/// A proposal.
#[derive(Clone, Debug)]
pub struct Proposal {
    /// Id.
    pub id: Uuid,
    /// Who asked: id and name.
    pub asked_by: (Uuid, String),
    /// When.
    pub asked_at: DateTime<Utc>,
    /// For when.
    pub span: Window,
    /// Where it stands.
    pub state: PlanState,
    /// Who settled it, and when.
    pub settled: Option<(Uuid, DateTime<Utc>)>,
    /// What it says.
    pub body: Body,
    /// What was taken of it, oldest first.
    pub takings: Vec<take::Taking>,
    /// Jobs that somebody changed since it was made.
    pub changed: Vec<Uuid>,
}

impl Proposal {
    /// Jobs that were taken from it and not given back.
    pub fn taken(&self) -> Vec<Uuid> {
        let standing = self.takings.iter().filter(|taking| taking.undone.is_none());
        standing.flat_map(|taking| taking.moves.iter().map(|one| one.job_id)).collect()
    }
}

/// A proposal in a list.
#[derive(Clone, Debug, FromQueryResult)]
pub struct ProposalRow {
    /// Id.
    pub id: Uuid,
    /// Who asked.
    pub asked_by_name: String,
    /// When.
    pub asked_at: DateTime<Utc>,
    /// From.
    pub from_at: DateTime<Utc>,
    /// Until.
    pub until_at: DateTime<Utc>,
    /// Where it stands; the name of a [`PlanState`].
    pub state: String,
    /// How many jobs it changes.
    pub changes: i64,
}

/// Makes a proposal and keeps it. `stop` is set by whoever no longer wants it; then nothing is
/// kept.
///
/// # Errors
/// `Forbidden` unless they give out work, `InvalidMany` for a span that cannot be planned,
/// `Conflict` where there is too much for one plan or nobody waits for it any more, or the
/// database or the search fails.
pub async fn propose(
    store: &Store,
    caller: &Caller,
    ask: Ask,
    stop: Arc<AtomicBool>,
) -> Result<Proposal, StoreError> {
    caller.must_schedule("ask for a plan")?;
    let now = store.now();
    let mut faults = Faults::default();
    if ask.until <= ask.from.max(now) {
        faults.add("/until", "A plan must end after it begins, and in the future.");
    } else if ask.until - ask.from > TimeDelta::hours(SPAN_HOURS_MAX) {
        faults.add("/until", format!("A plan may be at most {SPAN_HOURS_MAX} hours long."));
    }
    if ask.from > now + TimeDelta::days(AHEAD_DAYS_MAX) {
        let says = format!("A plan may begin at most {AHEAD_DAYS_MAX} days ahead.");
        faults.add("/from", says);
    }
    let seconds = ask.seconds.unwrap_or(SECONDS);
    if !(1..=SECONDS_MAX).contains(&seconds) {
        faults.add("/seconds", format!("A search takes 1 to {SECONDS_MAX} seconds."));
    }
    faults.done()?;
    let span = Window { start: ask.from.max(now), end: ask.until };
    let gathered = gather::gather(store, caller.shop_id, span).await?;
    let moving = gathered.problem.jobs.iter().filter(|job| job.held.is_none()).count();
    let limits = Limits {
        cores: CORES,
        stop: stop.clone(),
        rounds: ROUNDS_PER_JOB * moving.clamp(1, JOBS_MAX),
        ..Limits::seconds(seconds)
    };
    let problem = gathered.problem.clone();
    let turn = SEARCHES.acquire().await.map_err(|error| unavailable(Box::new(error)))?;
    let found = tokio::task::spawn_blocking(move || planner::propose(&problem, &limits)).await;
    drop(turn);
    let plan = match found.map_err(|error| unavailable(Box::new(error)))? {
        Ok(plan) => plan,
        Err(planner::Error::Unsound(unsound)) => {
            return Err(StoreError::conflict("plan-unsound", format!("{unsound}.")));
        }
        Err(other) => return Err(unavailable(Box::new(other))),
    };
    if stop.load(Ordering::Relaxed) {
        return Err(StoreError::conflict(
            "plan-not-wanted",
            "Nobody waited for this plan any more, so it was not kept; ask again.",
        ));
    }
    let says = |minute: i64| {
        let at = gathered.start + TimeDelta::minutes(minute);
        at.with_timezone(&gathered.zone).format("%a %H:%M").to_string()
    };
    let comparison = compare(&gathered.problem, &gathered.board, &plan, &says);
    let sides = gathered.quarter.sides(&comparison.board, &plan);
    let people = gathered.people.into_iter().zip(sides);
    let people = people.map(|(one, sides)| PersonIn { quarter: Some(sides), ..one }).collect();
    let body = Body {
        start: gathered.start,
        problem: gathered.problem,
        plan,
        comparison,
        people,
        jobs: gathered.jobs,
        notes: gathered.notes,
    };
    keep(store, caller, span, gathered.as_of_live, body).await
}

fn unavailable(source: Box<dyn std::error::Error + Send + Sync>) -> StoreError {
    StoreError::Unavailable { what: "the planner", source: Some(source) }
}

async fn keep(
    store: &Store,
    caller: &Caller,
    span: Window,
    as_of_live: i64,
    body: Body,
) -> Result<Proposal, StoreError> {
    let (id, now) = (store.new_id(), store.now());
    let kept = serde_json::to_value(&body).map_err(|error| StoreError::corrupt("plan", error))?;
    let txn = store.begin().await?;
    txn.execute_raw(sql(
        "INSERT INTO plan_proposal (id, shop_id, asked_by, asked_at, during, as_of_live, body) \
         VALUES ($1, $2, $3, $4, tstzrange($5, $6), $7, $8)",
        [
            id.into(),
            caller.shop_id.into(),
            caller.person_id.into(),
            now.into(),
            span.start.into(),
            span.end.into(),
            as_of_live.into(),
            kept.into(),
        ],
    ))
    .await?;
    let (before, after) = (&body.comparison.before, &body.comparison.after);
    let facts = json!({
        "from": span.start, "until": span.end,
        "jobs": body.jobs.len(),
        "driven_min": [before.driven_min, after.driven_min],
        "without": [before.without, after.without],
    });
    noted(&txn, store, caller, "plan_proposed", id, facts).await?;
    let proposal = find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(proposal)
}

/// The record and the feed.
async fn noted<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    kind: &'static str,
    id: Uuid,
    body: Value,
) -> Result<(), StoreError> {
    let now = store.now();
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind,
        subject_kind: "plan",
        subject_id: id,
        body,
    };
    record::append(txn, now, entry).await?;
    live_feed::announce(txn, now, caller.shop_id, "plan", id, json!({})).await
}

#[derive(FromQueryResult)]
struct Row {
    id: Uuid,
    asked_by: Uuid,
    asked_by_name: String,
    asked_at: DateTime<Utc>,
    from_at: DateTime<Utc>,
    until_at: DateTime<Utc>,
    state: String,
    settled_by: Option<Uuid>,
    settled_at: Option<DateTime<Utc>>,
    body: Value,
}

/// A proposal of a shop.
///
/// # Errors
/// `NotFound`, `Corrupt`, or the database fails.
pub async fn find<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Proposal, StoreError> {
    let row = Row::find_by_statement(sql(
        "SELECT plan_proposal.id, asked_by, person.name AS asked_by_name, asked_at, \
           lower(during) AS from_at, upper(during) AS until_at, state, settled_by, settled_at, \
           body \
         FROM plan_proposal JOIN person ON person.id = asked_by \
         WHERE plan_proposal.shop_id = $1 AND plan_proposal.id = $2",
        [shop_id.into(), id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "plan" })?;
    let body: Body =
        serde_json::from_value(row.body).map_err(|error| StoreError::corrupt("plan", error))?;
    let takings = take::of_proposal(conn, id).await?;
    let changed = changed_since(conn, &body, &takings).await?;
    Ok(Proposal {
        id: row.id,
        asked_by: (row.asked_by, row.asked_by_name),
        asked_at: row.asked_at,
        span: Window { start: row.from_at, end: row.until_at },
        state: PlanState::from_stored(&row.state)?,
        settled: row.settled_by.zip(row.settled_at),
        body,
        takings,
        changed,
    })
}

/// Which of the plan's jobs are no longer as they were when it was made, or was last taken.
async fn changed_since<C: ConnectionTrait>(
    conn: &C,
    body: &Body,
    takings: &[take::Taking],
) -> Result<Vec<Uuid>, StoreError> {
    #[derive(FromQueryResult)]
    struct Version {
        id: Uuid,
        version: i32,
    }
    let ids: Vec<Uuid> = body.jobs.iter().map(|job| job.id).collect();
    let versions = Version::find_by_statement(sql(
        "SELECT id, version FROM job WHERE id = ANY($1)",
        [ids.into()],
    ))
    .all(conn)
    .await?;
    let expected = take::versions(body, takings);
    Ok(versions
        .into_iter()
        .filter(|now| expected.get(&now.id).is_some_and(|version| *version != now.version))
        .map(|now| now.id)
        .collect())
}

/// The caller's shop's latest proposals, newest first.
///
/// # Errors
/// `Forbidden` unless they give out work, or the database fails.
pub async fn list(store: &Store, caller: &Caller) -> Result<Vec<ProposalRow>, StoreError> {
    caller.must_schedule("see proposals")?;
    Ok(ProposalRow::find_by_statement(sql(
        "SELECT plan_proposal.id, person.name AS asked_by_name, asked_at, \
           lower(during) AS from_at, upper(during) AS until_at, state, \
           (SELECT count(*) FROM jsonb_array_elements(body #> '{comparison,changes}') AS change \
             WHERE change ->> 'kind' NOT IN ('held', 'stays')) AS changes \
         FROM plan_proposal JOIN person ON person.id = asked_by \
         WHERE plan_proposal.shop_id = $1 ORDER BY asked_at DESC LIMIT $2",
        [caller.shop_id.into(), LISTED_MAX.into()],
    ))
    .all(store.conn())
    .await?)
}

/// A proposal, for whoever gives out work.
///
/// # Errors
/// `Forbidden`, `NotFound`, or the database fails.
pub async fn show(store: &Store, caller: &Caller, id: Uuid) -> Result<Proposal, StoreError> {
    caller.must_schedule("see proposals")?;
    find(store.conn(), caller.shop_id, id).await
}

/// Lets a proposal go; what was taken of it stays.
///
/// # Errors
/// `Forbidden`, `NotFound`, `Conflict` where it is settled, or the database fails.
pub async fn drop_it(store: &Store, caller: &Caller, id: Uuid) -> Result<Proposal, StoreError> {
    caller.must_schedule("let a plan go")?;
    let txn = store.begin().await?;
    open_locked(&txn, caller.shop_id, id).await?;
    settle(&txn, store, caller, id, PlanState::Dropped).await?;
    noted(&txn, store, caller, "plan_dropped", id, json!({})).await?;
    let proposal = find(&txn, caller.shop_id, id).await?;
    txn.commit().await?;
    Ok(proposal)
}

/// The proposal with its row locked, where it is still open.
async fn open_locked<C: ConnectionTrait>(
    txn: &C,
    shop_id: Uuid,
    id: Uuid,
) -> Result<Proposal, StoreError> {
    locked(txn, id).await?;
    let proposal = find(txn, shop_id, id).await?;
    if proposal.state == PlanState::Open {
        return Ok(proposal);
    }
    Err(StoreError::conflict(
        "plan-settled",
        format!("This plan was {} already. Ask for a new one.", proposal.state.name()),
    ))
}

async fn locked<C: ConnectionTrait>(txn: &C, id: Uuid) -> Result<(), StoreError> {
    let text = "SELECT 1 FROM plan_proposal WHERE id = $1 FOR UPDATE";
    txn.execute_raw(sql(text, [id.into()])).await?;
    Ok(())
}

/// Sets how it ended, or that it is open again.
async fn settle<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    id: Uuid,
    state: PlanState,
) -> Result<(), StoreError> {
    let settled = (state != PlanState::Open).then_some(());
    txn.execute_raw(sql(
        "UPDATE plan_proposal SET state = $2, settled_by = $3, settled_at = $4 WHERE id = $1",
        [
            id.into(),
            state.name().into(),
            settled.map(|()| caller.person_id).into(),
            settled.map(|()| store.now()).into(),
        ],
    ))
    .await?;
    Ok(())
}
