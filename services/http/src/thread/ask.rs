//! Asks for a reading, and their cards filled in.
//!
//! Belongs here: the route and wire shapes of asks. Does not belong here: the reading's way
//! into the evidence, which is that of any other.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, post, web};
use engine::case::{Meter, Power, Shown};
use engine::units::Quantity;
use serde::{Deserialize, Serialize};
use store::evidence;
use store::thread::ask::{Ask, Filled};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::evidence::shapes::{Evidence, meter, meter_shown, power, quantity};
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

/// What somebody is asked to measure.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[schema(as = Ask)]
#[serde(deny_unknown_fields)]
pub struct AskShape {
    /// What to measure.
    #[schema(schema_with = quantity)]
    pub quantity: Quantity,
    /// The point of the first probe.
    pub from: String,
    /// The point of the second.
    pub to: String,
    /// What to lift first.
    #[serde(default)]
    pub lifted: Vec<String>,
    /// Dead or energised.
    #[schema(schema_with = power)]
    pub power: Power,
    /// Under power: which of the circuit's states to read it in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(required = false)]
    pub state: Option<String>,
    /// What it would settle, in the asker's words.
    #[serde(default)]
    pub why: String,
}

/// An ask's card, filled in.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct FilledAsk {
    /// What the meter showed.
    #[schema(schema_with = meter_shown)]
    pub shown: Shown,
    /// Temperature of the part, °C.
    #[serde(default)]
    pub part_temp_c: Option<f64>,
    /// Minutes since the motor last ran.
    #[serde(default)]
    pub stopped_min: Option<f64>,
    /// The meter.
    #[serde(default)]
    #[schema(schema_with = meter)]
    pub meter: Option<Meter>,
    /// One of the shop's meters, whose record then says what it can tell; of `meter` only
    /// `zeroed` counts beside it.
    #[serde(default)]
    pub meter_id: Option<Uuid>,
}

/// The routes of this noun.
pub(crate) fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(ask_answer);
}

/// Answers an ask of the job's thread: the reading joins the evidence, and the thread says so.
#[utoipa::path(
    tag = "thread",
    params(("job_id" = Uuid, Path), ("ask_id" = Uuid, Path, description = "The ask's message"),
        ("Idempotency-Key" = Uuid, Header)),
    request_body = FilledAsk,
    responses(
        (status = 201, description = "Kept; the evidence as it is now", body = Evidence),
        (status = 403, description = "Not a technician, or owes a blind read", body = ProblemBody),
        (status = 404, description = "No such job or ask in the shop", body = ProblemBody),
        (status = 409, description = "Answered already, or the job is closed", body = ProblemBody),
        (status = 422, description = "What is wrong with the reading, and where", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/asks/{ask_id}/answer")]
async fn ask_answer(
    path: web::Path<(Uuid, Uuid)>,
    write: Write<FilledAsk>,
) -> Result<HttpResponse, Problem> {
    let (job_id, ask_id) = path.into_inner();
    let answer = async move |store: &Store, caller: &Caller, new: FilledAsk| {
        let FilledAsk { shown, part_temp_c, stopped_min, meter, meter_id } = new;
        let filled = Filled { shown, part_temp_c, stopped_min, meter, meter_id };
        let shown = evidence::ask_answer(store, caller, job_id, ask_id, filled).await?;
        Ok(Evidence::from(shown))
    };
    write.once(StatusCode::CREATED, answer).await
}

impl From<Ask> for AskShape {
    fn from(ask: Ask) -> Self {
        let Ask { quantity, from, to, lifted, power, state, why } = ask;
        AskShape { quantity, from, to, lifted, power, state, why }
    }
}

impl From<AskShape> for Ask {
    fn from(ask: AskShape) -> Self {
        let AskShape { quantity, from, to, lifted, power, state, why } = ask;
        Ask { quantity, from, to, lifted, power, state, why }
    }
}
