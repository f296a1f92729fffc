//! Asks for a reading: what is asked, and the reading that answers.
//!
//! Belongs here: what an ask may name, finding one again, its answer's words. Does not belong
//! here: adding the reading ([`crate::evidence`]), which goes the same way as any other.
//!
//! A message never changes, so an ask does not know that it was answered: the event that
//! follows names it, and `ask_answer` holds that there is one answer only.

use engine::case::{Meter, Power, Reading, Shown};
use engine::circuit::Circuit;
use engine::gate::State;
use engine::units::Quantity;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{MessageBody, MessageKind, NewMessage, append, locked};
use crate::circuit;
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::person::Caller;
use crate::text::Faults;

/// Longest reason of an ask, characters; a longer one is refused.
pub const WHY_CHARS_MAX: usize = 500;

/// What somebody is asked to measure.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ask {
    /// What to measure.
    pub quantity: Quantity,
    /// The point of the first probe.
    pub from: String,
    /// The point of the second.
    pub to: String,
    /// What to lift first.
    #[serde(default)]
    pub lifted: Vec<String>,
    /// Dead or energised.
    pub power: Power,
    /// Under power: which of the circuit's states to read it in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<String>,
    /// What it would settle, in the asker's words.
    #[serde(default)]
    pub why: String,
}

/// What the meter showed, filled in on the card.
#[derive(Clone, Debug)]
pub struct Filled {
    /// What the meter showed.
    pub shown: Shown,
    /// Temperature of the part, °C.
    pub part_temp_c: Option<f64>,
    /// Minutes since it last ran.
    pub stopped_min: Option<f64>,
    /// The meter.
    pub meter: Option<Meter>,
    /// Or one of the shop's.
    pub meter_id: Option<Uuid>,
}

/// An ask as found again.
#[derive(Clone, Debug)]
pub(crate) struct Asked {
    pub(crate) message_id: Uuid,
    pub(crate) ask: Ask,
    asker: String,
}

impl Asked {
    /// The reading that the card, filled in, says.
    pub(crate) fn reading(&self, filled: Filled) -> Reading {
        let Ask { quantity, from, to, lifted, power, state, .. } = self.ask.clone();
        let Filled { shown, part_temp_c, stopped_min, meter, meter_id: _ } = filled;
        let id = String::new();
        Reading {
            id,
            quantity,
            from,
            to,
            lifted,
            power,
            state,
            shown,
            part_temp_c,
            stopped_min,
            meter,
        }
    }
}

/// Checks that the job's circuit knows what is asked for.
pub(super) async fn check<C: ConnectionTrait>(
    conn: &C,
    job_id: Uuid,
    ask: &Ask,
) -> Result<(), StoreError> {
    let circuit = circuit::of_job(conn, job_id).await?.circuit;
    let mut faults = Faults::default();
    for (pointer, point) in [("/body/ask/from", &ask.from), ("/body/ask/to", &ask.to)] {
        if !circuit.points.iter().any(|known| known.id == *point) {
            faults.add(pointer, "This circuit has no such point; pick one on its drawing.");
        }
    }
    if ask.from == ask.to {
        faults.add("/body/ask/to", "Both probes are on one point; pick another.");
    }
    for (at, lifted) in ask.lifted.iter().enumerate() {
        if !circuit.connectors.iter().any(|known| known.id == *lifted) {
            let pointer = format!("/body/ask/lifted/{at}");
            faults.add(&pointer, "This circuit has no such connector.");
        }
    }
    let live = ask.quantity.needs_power() && ask.power == Power::Energised;
    let as_a_rule = ask.quantity.needs_power() == (ask.power == Power::Energised);
    if !as_a_rule && !ask.quantity.either_way() {
        faults.add(
            "/body/ask/power",
            "Volts and amps are read energised, direct volts either way, everything else with the \
             power off.",
        );
    }
    if let Some(state) = &ask.state
        && !(live && circuit.states.iter().any(|known| known.id == *state))
    {
        faults.add("/body/ask/state", "This circuit has no such state, or the power is off.");
    }
    faults.text_or_empty("/body/ask/why", &ask.why, WHY_CHARS_MAX);
    faults.done()
}

/// Goes on when the job is open: an answer is evidence, and a closed job takes none. Talk itself
/// stays open for good; what a part turned out to be is often said days later.
///
/// # Errors
/// `NotFound` when there is no such job, `Conflict` when it is closed.
pub(super) async fn must_be_open<C: ConnectionTrait>(
    conn: &C,
    job_id: Uuid,
) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        state: String,
    }
    let row = Row::find_by_statement(sql("SELECT state FROM job WHERE id = $1", [job_id.into()]))
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "job" })?;
    if matches!(row.state.as_str(), "done" | "cancelled") {
        return Err(StoreError::conflict(
            "job-closed",
            format!(
                "This job is {}, so nobody could answer. Open it again to ask for a reading.",
                row.state
            ),
        ));
    }
    Ok(())
}

/// An ask of a job's thread.
pub(crate) async fn find<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    job_id: Uuid,
    message_id: Uuid,
) -> Result<Asked, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        body: serde_json::Value,
        asker: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT message.body, person.name AS asker FROM message \
         JOIN thread ON thread.id = message.thread_id JOIN person ON person.id = message.author \
         WHERE message.shop_id = $1 AND thread.job_id = $2 AND message.id = $3 \
             AND message.kind = 'ask'",
        [caller.shop_id.into(), job_id.into(), message_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "ask" })?;
    let body: MessageBody =
        serde_json::from_value(row.body).map_err(|error| StoreError::corrupt("message", error))?;
    let ask = body.ask.ok_or(StoreError::NotFound { what: "ask" })?;
    Ok(Asked { message_id, ask, asker: row.asker })
}

/// Keeps that the reading answers the ask, and says so in the thread, with where the gate
/// stands now. The words say neither a claim nor what the engine concludes: they are there for
/// whoever may yet read blind, too. The page shows the conclusion beside them to those who may
/// see it.
pub(crate) async fn answered<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    caller: &Caller,
    job_id: Uuid,
    asked: &Asked,
    reading_id: Uuid,
    reading: &Reading,
) -> Result<(), StoreError> {
    txn.execute_raw(sql(
        "INSERT INTO ask_answer (message_id, reading_id, shop_id, by, at) \
         VALUES ($1, $2, $3, $4, $5)",
        [
            asked.message_id.into(),
            reading_id.into(),
            caller.shop_id.into(),
            caller.person_id.into(),
            store.now().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("ask_answer_once", &answered_already)]))?;
    let circuit = circuit::of_job(txn, job_id).await?.circuit;
    let words = words(&circuit, &asked.asker, reading, gate_of(txn, job_id).await?.as_deref());
    let thread = locked(txn, store.ambient(), caller.shop_id, job_id).await?;
    let body = MessageBody {
        event: Some(words),
        ask_id: Some(asked.message_id),
        reading_id: Some(reading_id),
        reading_label: Some(reading.id.clone()),
        ..MessageBody::default()
    };
    let new = NewMessage {
        id: store.new_id(),
        shop_id: caller.shop_id,
        job_id,
        author: None,
        kind: MessageKind::Event,
        body: &body,
        client_key: None,
        at: store.now(),
    };
    append(txn, &thread, new).await?;
    Ok(())
}

fn answered_already() -> StoreError {
    StoreError::conflict(
        "ask-answered",
        "Somebody has answered this ask meanwhile; their reading is in the thread. Yours was \
         not kept: take it as a reading of its own if it adds something.",
    )
}

/// The state of the job's open request, which every screen of the shop shows anyway.
async fn gate_of<C: ConnectionTrait>(conn: &C, job_id: Uuid) -> Result<Option<String>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        state: String,
    }
    let row = Row::find_by_statement(sql(
        "SELECT state FROM condemn_request WHERE job_id = $1 AND state NOT IN \
             ('draft', 'approved', 'declined', 'withdrawn', 'overturned') \
         ORDER BY created_at DESC, id DESC LIMIT 1",
        [job_id.into()],
    ))
    .one(conn)
    .await?;
    Ok(row.map(|row| row.state))
}

fn words(circuit: &Circuit, asker: &str, reading: &Reading, gate: Option<&str>) -> String {
    let point = |id: &str| {
        let known = circuit.points.iter().find(|point| point.id == id);
        known.map_or_else(|| id.to_owned(), |point| point.label.clone())
    };
    let shown = match &reading.shown {
        Shown::Value { value, unit } => format!("{value} {}", unit.sign()),
        Shown::OverLimit => "OL".to_owned(),
        Shown::Climbing => "still climbing".to_owned(),
    };
    let gate = match gate {
        None => "The readings were judged again.",
        Some(state) if state == State::Held.id() => {
            "The gate answers: held, the readings must still isolate one part."
        }
        Some(state) if state == State::Ready.id() => {
            "The gate answers: the readings are ready for a second read."
        }
        Some(_) => "The gate has judged the readings again.",
    };
    format!(
        "{} answers what {asker} asked for: {} to {}, {shown}. {gate}",
        reading.id,
        point(&reading.from),
        point(&reading.to),
    )
}
