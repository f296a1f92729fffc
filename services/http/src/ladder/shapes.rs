//! How ladders are sent.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes, and which
//! ladder somebody may see.

use chrono::{DateTime, Utc};
use roster::ladder::Kind;
use serde::{Deserialize, Serialize};
use store::ladder::{Ladder, Step, Told};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::shapes::PersonRef;

/// A ladder: what was done because nobody answered, and what comes next.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Ladder)]
pub struct LadderShape {
    /// second_read, urgent_job or approval.
    pub kind: String,
    /// When it started.
    pub started_at: DateTime<Utc>,
    /// When it stopped, because somebody accepted or nobody is wanted any more.
    pub stopped_at: Option<DateTime<Utc>>,
    /// Why.
    pub stopped_why: Option<String>,
    /// When the next step fires; null when none will.
    pub next_at: Option<DateTime<Utc>>,
    /// What the next step does; null when none will.
    pub next_words: Option<String>,
    /// Whether it climbs by the steps for days on which the shop is closed.
    pub weekend: bool,
    /// By which version of the shop's ladders; 0 for what ships.
    pub setting_version: i32,
    /// Its steps, lowest first.
    pub rungs: Vec<RungShape>,
}

/// One step of a ladder.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Rung)]
pub struct RungShape {
    /// Which, from 0.
    pub rung: i16,
    /// ask_best, ask_next or ask_everyone.
    pub action: String,
    /// What it does, in words.
    pub words: String,
    /// When it fires.
    pub due_at: DateTime<Utc>,
    /// When it did.
    pub fired_at: Option<DateTime<Utc>>,
    /// When it was skipped, since the ladder had stopped.
    pub skipped_at: Option<DateTime<Utc>>,
    /// Until when it waits, since everybody it would reach has quiet hours.
    pub held_until: Option<DateTime<Utc>>,
    /// What became of it, in words; empty where there is nothing to say.
    pub note: String,
    /// Whom it reached.
    pub told: Vec<ToldShape>,
}

/// Somebody whom a step reached.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RungTold)]
pub struct ToldShape {
    /// Who.
    pub person: PersonRef,
    /// Asked to take it, or only told of it.
    pub asked: bool,
    /// Whether by mail too.
    pub mailed: bool,
    /// When they said no.
    pub declined_at: Option<DateTime<Utc>>,
    /// Why.
    pub reason: String,
}

/// The body that says no to an urgent job.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JobDecline {
    /// Why, 5 characters or more.
    pub reason: String,
}

impl LadderShape {
    /// A ladder of a kind.
    pub fn new(ladder: Ladder, kind: Kind) -> Self {
        let open = |step: &&Step| step.fired_at.is_none() && step.skipped_at.is_none();
        let stands = ladder.stopped_at.is_none();
        let next = ladder
            .steps
            .iter()
            .filter(open)
            .filter(|_| stands)
            .min_by_key(|step| (step.due_at, step.rung));
        LadderShape {
            kind: kind.id().to_owned(),
            started_at: ladder.started_at,
            stopped_at: ladder.stopped_at,
            stopped_why: ladder.stopped_why,
            next_at: next.map(|step| step.due_at),
            next_words: next.map(|step| step.spec().says(kind)),
            weekend: ladder.variant == "weekend",
            setting_version: ladder.setting_version,
            rungs: ladder.steps.iter().map(|step| rung(step, kind, &ladder.told)).collect(),
        }
    }
}

fn rung(step: &Step, kind: Kind, told: &[Told]) -> RungShape {
    RungShape {
        rung: step.rung,
        action: step.action.clone(),
        words: step.spec().says(kind),
        due_at: step.due_at,
        fired_at: step.fired_at,
        skipped_at: step.skipped_at,
        held_until: step.held_until,
        note: step.note.clone(),
        told: told
            .iter()
            .filter(|one| one.rung == step.rung)
            .map(|one| ToldShape {
                person: PersonRef { id: one.person_id, name: one.person_name.clone() },
                asked: one.asked,
                mailed: one.mailed,
                declined_at: one.declined_at,
                reason: one.reason.clone(),
            })
            .collect(),
    }
}

/// What stands on the shop's jobs because nobody answered, and what waits for a working day.
#[derive(Debug, Serialize, ToSchema)]
pub struct Standing {
    /// Ladders that climb.
    pub ladders: Vec<StandingLadder>,
    /// Jobs that wait.
    pub deferred: Vec<StandingDeferral>,
}

/// A ladder that climbs.
#[derive(Debug, Serialize, ToSchema)]
pub struct StandingLadder {
    /// The job it is on, or whose request it is on.
    pub job_id: Uuid,
    /// second_read, urgent_job or approval.
    pub kind: String,
    /// When the next step fires; null after the last.
    pub next_at: Option<DateTime<Utc>>,
    /// What it does.
    pub next_words: Option<String>,
    /// Whether it waits for quiet hours to end.
    pub held: bool,
    /// Whether the caller is asked and has not answered.
    pub asks_me: bool,
}

/// A job that waits for a working day.
#[derive(Debug, Serialize, ToSchema)]
pub struct StandingDeferral {
    /// The job.
    pub job_id: Uuid,
    /// Until when.
    pub until: DateTime<Utc>,
}
