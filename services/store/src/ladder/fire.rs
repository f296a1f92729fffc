//! Firing steps: deciding, keeping what was decided, and going on to the next where nobody
//! could be reached.
//!
//! Belongs here: the rows of a step's firing or waiting. Does not belong here: the decision
//! (the roster's), mail and record (the noun's, from what comes back).

use std::collections::BTreeSet;

use roster::ladder::climb::{Colleague, Fire, Open, fire, hand_on, hold};
use roster::ladder::{How, Kind};
use sea_orm::ConnectionTrait;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{Spec, Step, as_open, keep_moved, open_steps};
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
            None => {
                open.retain(|open| open.rung != step.rung);
                note(txn, store, &step, &spec, &fired).await?;
            }
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
    keep_moved(txn, &steps, &open).await?;
    Ok(all)
}

/// Notes that a step has fired, and whom it reached.
async fn note<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    step: &Step,
    spec: &Spec,
    fired: &Fire<Uuid>,
) -> Result<(), StoreError> {
    let now = store.now();
    let words = match (fired.reaches_nobody(), fired.quiet.len()) {
        (true, _) => "Nobody is left whom it could reach.".to_owned(),
        (false, 0) => String::new(),
        (false, 1) => "One person was left alone: quiet hours.".to_owned(),
        (false, count) => format!("{count} people were left alone: quiet hours."),
    };
    txn.execute_raw(sql(
        "UPDATE ladder_step SET fired_at = $3, note = $4 WHERE ladder_id = $1 AND rung = $2",
        [step.ladder_id.into(), step.rung.into(), now.into(), words.into()],
    ))
    .await?;
    if fired.reaches_nobody() {
        return Ok(());
    }
    txn.execute_raw(sql(
        "INSERT INTO ladder_told (ladder_id, rung, person_id, asked, mailed, at) \
         SELECT $1, $2, person_id, true, $5, $6 FROM unnest($3::uuid[]) AS person_id \
         UNION ALL \
         SELECT $1, $2, person_id, false, $5, $6 FROM unnest($4::uuid[]) AS person_id",
        [
            step.ladder_id.into(),
            step.rung.into(),
            fired.asked.clone().into(),
            fired.told.clone().into(),
            (spec.how == How::Mail).into(),
            now.into(),
        ],
    ))
    .await?;
    Ok(())
}

/// Whom steps reached, each once.
pub(crate) fn reached(all: &[Fired]) -> BTreeSet<Uuid> {
    all.iter().flat_map(|one| one.fire.asked.iter().chain(&one.fire.told)).copied().collect()
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
    let people: Vec<Uuid> = reached(all).into_iter().collect();
    let body = json!({ "job_id": job_id, "kind": kind.id() });
    live_feed::announce_to(txn, store.now(), shop_id, "asked", people, body).await
}
