//! A running service with a customer, a site and a unit, and short ways to say what people do.
//!
//! Belongs here: the steps that many tests take. Does not belong here: what a step promises.

use blackbox::client::{Answer, Client, id_in};
use blackbox::service::{Service, Settings};
use serde_json::{Value, json};
use uuid::Uuid;

/// Above the shop's limit of 500.00, so that a manager answers for it.
pub(crate) const COSTLY: i64 = 187_654;
/// Below it, so that shop policy may.
pub(crate) const CHEAP: i64 = 12_345;

pub(crate) struct World {
    pub(crate) service: Service,
    pub(crate) customer_id: Uuid,
    pub(crate) site_id: Uuid,
    pub(crate) unit_id: Uuid,
    pia: Client,
}

impl World {
    pub(crate) async fn new(name: &str) -> Self {
        Self::with(name, Settings::default()).await
    }

    pub(crate) async fn with(name: &str, settings: Settings) -> Self {
        let service = Service::start(&format!("http_{name}"), settings).await;
        let pia = Client::signed_in(&service, "pia").await;
        let customer = json!({ "name": "Orsolya Quill", "phone": "555 0142" });
        let customer_id = id_in(&pia.post("/api/customers", &customer).await.done());
        let site = json!({ "address": "9 Kiln Row", "town": "Fernwick" });
        let path = format!("/api/customers/{customer_id}/sites");
        let site_id = id_in(&pia.post(&path, &site).await.done());
        let unit = json!({ "label": "Heat pump, yard", "circuit": "compressor-1ph-plug" });
        let unit_id = id_in(&pia.post(&format!("/api/sites/{site_id}/units"), &unit).await.done());
        World { service, customer_id, site_id, unit_id, pia }
    }

    pub(crate) async fn client(&self, name: &str) -> Client {
        Client::signed_in(&self.service, name).await
    }

    /// A job on the unit, given to somebody.
    pub(crate) async fn job(&self, assigned_to: &Client) -> Uuid {
        let new = json!({
            "unit_id": self.unit_id,
            "complaint": "Hums and trips",
            "urgency": "no_heat_cool",
            "assigned_to": assigned_to.id,
        });
        id_in(&self.pia.post("/api/jobs", &new).await.done())
    }

    /// A job with readings that isolate the run winding, and a submitted request on it.
    pub(crate) async fn ready(&self, requester: &Client, cost_cents: i64) -> (Uuid, Uuid) {
        let job_id = self.job(requester).await;
        pins(requester, job_id).await;
        let request = ask(requester, job_id, cost_cents, "").await.done();
        assert_eq!(request["state"], "ready", "{request}");
        (job_id, id_in(&request))
    }

    /// The same, taken and read blind by somebody who agrees.
    pub(crate) async fn revealed(
        &self,
        requester: &Client,
        reader: &Client,
        cost_cents: i64,
    ) -> (Uuid, Uuid) {
        let (job_id, request_id) = self.ready(requester, cost_cents).await;
        step(reader, request_id, "take", &Value::Null).await.done();
        step(reader, request_id, "blind-read", &agreeing()).await.done();
        (job_id, request_id)
    }

    /// The same, countersigned and waiting for a manager.
    pub(crate) async fn awaiting(&self, requester: &Client, reader: &Client) -> (Uuid, Uuid) {
        let (job_id, request_id) = self.revealed(requester, reader, COSTLY).await;
        let signed = countersign(reader, request_id).await.done();
        assert_eq!(signed["state"], "awaiting_approval", "{signed}");
        (job_id, request_id)
    }
}

/// Somebody makes a move on a request.
pub(crate) async fn step(who: &Client, request_id: Uuid, step: &str, body: &Value) -> Answer {
    who.post(&format!("/api/requests/{request_id}/{step}"), body).await
}

/// Somebody countersigns what they see.
pub(crate) async fn countersign(who: &Client, request_id: Uuid) -> Answer {
    let digest = digest(who, request_id).await;
    step(who, request_id, "countersign", &json!({ "digest": digest })).await
}

/// Somebody approves what they see.
pub(crate) async fn approve(who: &Client, request_id: Uuid) -> Answer {
    let digest = digest(who, request_id).await;
    let body = json!({ "digest": digest, "amount_cents": COSTLY, "reason": "Worth it." });
    step(who, request_id, "approve", &body).await
}

/// The request as somebody sees it.
pub(crate) async fn seen(who: &Client, request_id: Uuid) -> Value {
    who.get(&format!("/api/requests/{request_id}")).await.done()
}

/// The digest as somebody sees it.
pub(crate) async fn digest(who: &Client, request_id: Uuid) -> String {
    seen(who, request_id).await["digest"].as_str().expect("they see the digest").to_owned()
}

/// Somebody claims that the run winding is open.
pub(crate) async fn ask(who: &Client, job_id: Uuid, cost_cents: i64, note: &str) -> Answer {
    let new = json!({
        "claim": { "component": "compressor", "part": "run_winding", "mode": "open" },
        "estimated_cost_cents": cost_cents,
        "note": note,
        "submit": true,
    });
    who.post(&format!("/api/jobs/{job_id}/requests"), &new).await
}

/// Somebody takes a reading.
pub(crate) async fn take_reading(who: &Client, job_id: Uuid, reading: &Value) -> Answer {
    who.post(&format!("/api/jobs/{job_id}/readings"), &json!({ "reading": reading })).await
}

/// Ohms at the pins, plug off, cold; nothing for over limit.
pub(crate) fn at_pins(from: &str, to: &str, ohm: Option<f64>) -> Value {
    let shown = match ohm {
        Some(value) => json!({ "is": "value", "value": value, "unit": "ohm" }),
        None => json!({ "is": "over_limit" }),
    };
    json!({
        "quantity": "resistance", "from": from, "to": to, "lifted": ["plug"], "power": "off",
        "shown": shown, "part_temp_c": 24, "stopped_min": 600,
    })
}

/// An open between two compressor leads, read at the contactor end through the harness.
pub(crate) fn through_the_harness() -> Value {
    json!({
        "quantity": "resistance", "from": "T1", "to": "T2", "power": "off",
        "shown": { "is": "over_limit" }, "part_temp_c": 32, "stopped_min": 60,
    })
}

/// Somebody takes the three readings that isolate an open run winding.
pub(crate) async fn pins(who: &Client, job_id: Uuid) {
    for reading in [at_pins("C", "S", Some(1.3)), at_pins("C", "R", None), at_pins("S", "R", None)]
    {
        take_reading(who, job_id, &reading).await.done();
    }
}

/// A blind read that names what Ana claims.
pub(crate) fn agreeing() -> Value {
    json!({ "component": "compressor", "part": "run_winding", "mode": "open", "sure": "sure",
        "note": "The run winding is open at the pins." })
}

/// A blind read that names something else.
pub(crate) fn disagreeing() -> Value {
    json!({ "component": "harness", "sure": "fairly_sure", "note": "I would look at the plug." })
}
