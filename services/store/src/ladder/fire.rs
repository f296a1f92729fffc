//! Firing steps: deciding, keeping what was decided, and going on to the next where nobody
//! could be reached.
//!
//! Belongs here: the rows of a step's firing or waiting. Does not belong here: the decision
//! (the roster's), mail and record (the noun's, from what comes back).

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use roster::ladder::climb::{Colleague, Fire, Open, fire, hand_on, hold};
use roster::ladder::{How, Kind};
use sea_orm::ConnectionTrait;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Spec, Step, as_open, open_steps};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;

/// What a ladder climbs with.
#[derive(Debug)]
pub(crate) struct Climb {
    /// What kind.
    pub(crate) kind: Kind,
    /// For what.
    pub(crate) subject_id: Uuid,
    /// Everyone it could reach, as they are now.
    pub(crate) people: Vec<Colleague<Uuid>>,
    /// Who has been asked and is not asked again by place.
    pub(crate) asked: BTreeSet<Uuid>,
    /// Whether it minds no quiet hours.
    pub(crate) never_quiet: bool,
    /// Somebody chosen for the first step in place of the best placed.
    pub(crate) first: Option<Uuid>,
}

/// What became of one step.
#[derive(Clone, Debug)]
pub(crate) struct Fired {
    /// The step as it was.
    pub(crate) step: Step,
    /// As the shop has it.
    pub(crate) spec: Spec,
    /// Whom it reached and whom it left alone; it waits where that is everybody.
    pub(crate) fire: Fire<Uuid>,
}

impl Fired {
    /// Whether people are told by mail too.
    pub(crate) fn by_mail(&self) -> bool {
        self.spec.how == How::Mail
    }

    /// For the record: what was decided, and on what.
    pub(crate) fn body(&self, kind: Kind) -> Value {
        let quiet: Vec<Uuid> = self.fire.quiet.iter().map(|(id, _)| *id).collect();
        let mut body = json!({
            "ladder": self.step.ladder_id,
            "kind": kind.id(),
            "rung": self.step.rung,
            "action": self.step.action,
            "who": self.spec.who,
            "due_at": self.step.due_at,
            "asked": self.fire.asked,
            "told": self.fire.told,
        });
        if !quiet.is_empty() {
            body["quiet"] = json!(quiet);
        }
        if let Some(until) = self.fire.held_until() {
            body["held_until"] = json!(until);
        }
        body
    }

    /// What it is called on the record.
    pub(crate) fn record_kind(&self) -> &'static str {
        if self.fire.held_until().is_some() { "ladder_held" } else { "ladder_fired" }
    }
}

/// What was decided for one ladder, and not kept yet.
#[derive(Clone, Debug)]
pub(crate) struct Decided {
    /// What its steps do, in order.
    pub(crate) fired: Vec<Fired>,
    /// Its steps that are open still, as they were and as they are to be.
    moved: Vec<(Step, Open)>,
}

/// Decides for a step, and those after it for as long as nobody is reached. `steps` are the open
/// steps of the ladder.
pub(crate) fn decide(step: Step, steps: &[Step], climb: &mut Climb, now: DateTime<Utc>) -> Decided {
    let mut open: Vec<Open> = steps.iter().map(as_open).collect();
    let mut all = Vec::new();
    let mut next = Some(step);
    while let Some(step) = next.take() {
        let spec = step.spec();
        let fired = match climb.first.take() {
            Some(person) => Fire { asked: vec![person], told: Vec::new(), quiet: Vec::new() },
            None => fire(climb.kind, &spec, &climb.people, &climb.asked, now, climb.never_quiet),
        };
        climb.asked.extend(fired.asked.iter().copied());
        let reaches_nobody = fired.reaches_nobody();
        match fired.held_until() {
            Some(until) => hold(&mut open, step.rung, until),
            None => open.retain(|open| open.rung != step.rung),
        }
        if reaches_nobody && let Some(rung) = hand_on(&mut open, now) {
            let due_at = open.iter().find(|open| open.rung == rung).map_or(now, |one| one.due_at);
            next = steps.iter().find(|one| one.rung == rung).cloned();
            if let Some(next) = &mut next {
                next.due_at = due_at;
            }
        }
        all.push(Fired { step, spec, fire: fired });
    }
    let moved = open
        .into_iter()
        .filter_map(|open| Some((steps.iter().find(|step| step.rung == open.rung)?.clone(), open)))
        .collect();
    Decided { fired: all, moved }
}

/// Keeps what was decided for some ladders: which steps fired, whom they reached, what waits or
/// was brought forward.
pub(crate) async fn keep<C: ConnectionTrait>(
    txn: &C,
    now: DateTime<Utc>,
    all: &[Decided],
) -> Result<(), StoreError> {
    let (mut settled, mut told, mut moved) = (Vec::new(), Vec::new(), Vec::new());
    for fired in all.iter().flat_map(|one| &one.fired) {
        if fired.fire.held_until().is_some() {
            continue;
        }
        let (ladder, rung) = (fired.step.ladder_id, fired.step.rung);
        settled.push(json!({ "ladder": ladder, "rung": rung, "note": note(&fired.fire) }));
        let asked = fired.fire.asked.iter().map(|person| (person, true));
        for (person, asked) in asked.chain(fired.fire.told.iter().map(|person| (person, false))) {
            told.push(json!({ "ladder": ladder, "rung": rung, "person": person, "asked": asked,
                "mailed": fired.by_mail() }));
        }
    }
    for (step, open) in all.iter().flat_map(|one| &one.moved) {
        if (step.due_at, step.held_until.is_some()) != (open.due_at, open.held) {
            moved.push(json!({ "ladder": step.ladder_id, "rung": step.rung,
                "due_at": open.due_at, "held_until": open.held.then_some(open.due_at) }));
        }
    }
    let statements = [
        (
            "UPDATE ladder_step SET fired_at = $1, note = one.note FROM jsonb_to_recordset($2) \
                 AS one (ladder uuid, rung smallint, note text) \
             WHERE ladder_id = one.ladder AND ladder_step.rung = one.rung",
            settled,
        ),
        (
            "INSERT INTO ladder_told (ladder_id, rung, person_id, asked, mailed, at) \
             SELECT ladder, rung, person, asked, mailed, $1 FROM jsonb_to_recordset($2) \
                 AS one (ladder uuid, rung smallint, person uuid, asked bool, mailed bool)",
            told,
        ),
        (
            // The first parameter is the others' time.
            "UPDATE ladder_step SET due_at = one.due_at, held_until = one.held_until \
             FROM jsonb_to_recordset($2) \
                 AS one (ladder uuid, rung smallint, due_at timestamptz, held_until timestamptz) \
             WHERE ladder_id = one.ladder AND ladder_step.rung = one.rung \
                 AND $1::timestamptz IS NOT NULL",
            moved,
        ),
    ];
    for (text, rows) in statements {
        if !rows.is_empty() {
            txn.execute_raw(sql(text, [now.into(), Value::Array(rows).into()])).await?;
        }
    }
    Ok(())
}

/// Fires a step, in the transaction that notes it, and those after it for as long as nobody was
/// reached. The subject, and the step where it is not new, must be locked.
pub(crate) async fn climb_from<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    step: Step,
    climb: &mut Climb,
) -> Result<Vec<Fired>, StoreError> {
    let now = store.now();
    let steps = open_steps(txn, climb.kind, climb.subject_id).await?;
    let decided = decide(step, &steps, climb, now);
    keep(txn, now, std::slice::from_ref(&decided)).await?;
    Ok(decided.fired)
}

/// What became of a step, in words.
fn note(fired: &Fire<Uuid>) -> String {
    match (fired.reaches_nobody(), fired.quiet.len()) {
        (true, _) => "Nobody is left whom it could reach.".to_owned(),
        (false, 0) => String::new(),
        (false, 1) => "One person was left alone: quiet hours.".to_owned(),
        (false, count) => format!("{count} people were left alone: quiet hours."),
    }
}

/// Whom steps reached, each once.
pub(crate) fn reached(all: &[Fired]) -> BTreeSet<Uuid> {
    all.iter().flat_map(|one| one.fire.asked.iter().chain(&one.fire.told)).copied().collect()
}

/// What the open pages of whoever was asked are told.
pub(crate) fn news_of_asked(job_id: Uuid, kind: Kind, all: &[Fired]) -> Vec<live_feed::News> {
    let body = json!({ "job_id": job_id, "kind": kind.id() });
    reached(all).into_iter().map(|person| ("asked", person, body.clone())).collect()
}

/// Tells the open pages of whoever was asked. It says where to look and nothing else.
pub(crate) async fn announce_asked<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    job_id: Uuid,
    kind: Kind,
    all: &[Fired],
) -> Result<(), StoreError> {
    let news = news_of_asked(job_id, kind, all);
    live_feed::announce_all(txn, store.now(), shop_id, news).await
}
