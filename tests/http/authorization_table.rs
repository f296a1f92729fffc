//! Who may what, route by route.
//!
//! Belongs here: one row per route, and a body that is right in all but who sends it. Does not
//! belong here: trying them ([`super::authorization`]), which fails for a route without a row
//! and for a row without a route.

use serde_json::{Value, json};
use uuid::Uuid;

/// What a row's route is tried on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum On {
    /// A job with one reading, and a request that is ready for a second read.
    Ready,
    /// A request that only Ana knows of.
    Draft,
    /// A request that its readings do not isolate.
    Held,
    /// A request that Bo is reading blind.
    Reading,
    /// A request that Bo has read.
    Revealed,
    /// A request that Bo has countersigned.
    Awaiting,
    /// The first, with Bo asked to read it.
    Asked,
    /// A session of Cleo's, a new one for each who tries.
    Session,
    /// An entry of Cleo's in the rota, offered to Ana, and leave that Cleo asks for; new ones for
    /// each who tries.
    Rota,
    /// A proposal of Pia's, a new one for each who tries.
    Plan,
    /// The same, taken over.
    PlanTaken,
}

/// The ids that a row's path and body are filled with.
pub(crate) struct Ids {
    pub(crate) customer: Uuid,
    pub(crate) site: Uuid,
    pub(crate) unit: Uuid,
    pub(crate) person: Uuid,
    pub(crate) session: Uuid,
    pub(crate) job: Uuid,
    pub(crate) job_version: i64,
    pub(crate) reading: Uuid,
    pub(crate) request: Uuid,
    pub(crate) photo: Uuid,
    pub(crate) ask: Uuid,
    pub(crate) guest_link: Uuid,
    pub(crate) circuit: String,
    pub(crate) circuit_text: String,
    pub(crate) meter: Uuid,
    pub(crate) rota_entry: Uuid,
    pub(crate) plan: Uuid,
    pub(crate) swap: Uuid,
    pub(crate) leave: Uuid,
    pub(crate) unasked: Uuid,
    pub(crate) rule: Uuid,
    /// A day near now.
    pub(crate) day: String,
    pub(crate) digest: String,
    pub(crate) key: Uuid,
    pub(crate) email: String,
}

pub(crate) struct Row {
    pub(crate) route: &'static str,
    pub(crate) on: On,
    pub(crate) body: fn(&Ids) -> Value,
    /// In the order of [`COLUMNS`]: a status, or `may`.
    pub(crate) says: &'static str,
}

/// Nobody; the technician who has the job and asks; a technician who could read (and has the
/// request where somebody is reading); scheduler; service manager; owner; and Zed, who holds
/// every role in another shop.
pub(crate) const COLUMNS: [&str; 7] = ["(nobody)", "ana", "bo", "pia", "dan", "olaf", "zed"];

/// Nobody at all.
const OUT: &str = "401 401 401 401 401 401 401";

const fn row(route: &'static str, says: &'static str, on: On, body: fn(&Ids) -> Value) -> Row {
    Row { route, on, body, says }
}

impl Row {
    /// Whether it can be tried on what another row was tried on.
    pub(crate) fn leaves_it_as_it_was(&self) -> bool {
        let moves = ["/api/requests/", "/api/jobs/{id}"];
        self.on == On::Ready
            && (self.route.starts_with("GET ")
                || !moves.iter().any(|part| self.route.contains(part)))
    }
}

fn none(_: &Ids) -> Value {
    Value::Null
}

pub(crate) const ROWS: &[Row] = &[
    // Open to anybody. A refresh is let in by its cookie alone, which none of these has.
    row("GET /api/health", "may may may may may may may", On::Ready, none),
    row("GET /api/demo/sign-ins", "may may may may may may may", On::Ready, none),
    row(
        "POST /api/session",
        "may may may may may may may",
        On::Ready,
        |_| json!({ "email": "ana@tern.example", "password": blackbox::seed::PASSWORD }),
    ),
    row("POST /api/session/refresh", "401 401 401 401 401 401 401", On::Ready, none),
    row("POST /api/session/end", "may may may may may may may", On::Ready, none),
    // Of the caller's own; Zed sees Lowmoor's.
    //                        nobody ana bo pia dan olaf zed
    row("GET /api/me", "401 may may may may may may", On::Ready, none),
    row("GET /api/sessions", "401 may may may may may may", On::Ready, none),
    row("GET /api/shop", "401 may may may may may may", On::Ready, none),
    row("GET /api/people", "401 may may may may may may", On::Ready, none),
    row("GET /api/board", "401 may may may may may may", On::Ready, none),
    row("GET /api/intake", "401 may may may may may may", On::Ready, none),
    row("GET /api/standing", "401 may may may may may may", On::Ready, none),
    row("GET /api/board/jobs", "401 may may may may may may", On::Ready, none),
    row("GET /api/customers/search", "401 may may may may may may", On::Ready, none),
    row("GET /api/customers", "401 may may may may may may", On::Ready, none),
    row("GET /api/requests", "401 may may may may may may", On::Ready, none),
    row("GET /api/circuits", "401 may may may may may may", On::Ready, none),
    row("GET /api/circuits/{name}", "401 may may may may may 404", On::Ready, none),
    row("GET /api/circuits/{name}/file", "401 may may may may may 404", On::Ready, none),
    // Of another shop's there are no versions and no units, which says nothing.
    row("GET /api/circuits/{name}/versions", "401 may may may may may may", On::Ready, none),
    row("GET /api/circuits/{name}/units", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/circuits/look",
        "401 may may may may may may",
        On::Ready,
        |ids| json!({ "text": ids.circuit_text }),
    ),
    row("POST /api/circuits", "401 403 403 403 may may may", On::Ready, |ids| {
        let name = format!("name = \"{}\"", ids.circuit);
        let text = ids.circuit_text.replacen(&name, &format!("name = \"{}\"", ids.key), 1);
        json!({ "text": text, "after_version": 0 })
    }),
    row(
        "POST /api/circuits/{name}/withdraw",
        "401 403 403 403 may may 404",
        On::Ready,
        |_| json!({ "reason": "Drawn wrongly." }),
    ),
    row("GET /api/meters", "401 may may may may may may", On::Ready, none),
    // A technician adds what is in their own van; this one is in Cleo's.
    row("POST /api/meters", "401 403 403 403 may may 422", On::Ready, |ids| {
        super::meters::said(&ids.key.to_string(), Some(ids.person))
    }),
    row(
        "PUT /api/meters/{id}",
        "401 403 403 403 may may 404",
        On::Ready,
        |ids| json!({ "version": 1, "meter": super::meters::said(&ids.key.to_string(), None) }),
    ),
    row("GET /api/shop/threshold-changes", "401 may may may may may may", On::Ready, none),
    row("GET /api/mail", "401 403 403 403 may may may", On::Ready, none),
    row("POST /api/live/ticket", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/check",
        "401 may may may may may may",
        On::Ready,
        |_| json!({ "format": 1, "circuit": "control-24v" }),
    ),
    row("GET /api/capacity", "401 may may may may may may", On::Ready, none),
    row("GET /api/capacity/settings", "401 may may may may may may", On::Ready, none),
    row("PUT /api/capacity/settings", "401 403 403 403 may may may", On::Ready, |_| {
        json!({ "travel_min": 20, "tolerable_min": { "no_heat_vulnerable": 60, "water": 60,
                "food_storage": 120, "no_heat_cool": 120, "comfort": 1440 } })
    }),
    row(
        "PUT /api/capacity/weather",
        "401 403 403 may may may may",
        On::Ready,
        |ids| json!({ "day": ids.day, "outdoor_f": 12 }),
    ),
    row("GET /api/rules", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/rules/check",
        "401 may may may may may may",
        On::Ready,
        |_| json!({ "condition": "weekend" }),
    ),
    row("POST /api/rules/rehearse", "401 403 403 may may may may", On::Ready, |_| {
        json!({ "condition": "weekend", "actions": [{ "do": "widen_readers" }],
                "rearm_min": 60, "over": "last_weekend" })
    }),
    row("POST /api/rules", "401 403 403 403 may may may", On::Ready, |_| {
        json!({ "name": "Tried", "condition": "weekend", "rearm_min": 60, "state": "off",
            "actions": [{ "do": "widen_readers" }] })
    }),
    row("GET /api/rules/{id}", "401 may may may may may 404", On::Ready, none),
    row("POST /api/rules/{id}/versions", "401 403 403 403 may may 404", On::Ready, |_| {
        json!({ "version": 1, "rule": { "name": "Tried", "condition": "weekend", "rearm_min": 60,
            "state": "off", "actions": [{ "do": "widen_readers" }] } })
    }),
    row("DELETE /api/sessions/{id}", "401 404 404 404 may may 404", On::Session, none),
    row(
        "PATCH /api/shop",
        "401 403 403 403 may may may",
        On::Ready,
        |_| json!({ "approval_limit_cents": 50_000 }),
    ),
    row("POST /api/people", "401 403 403 403 may may may", On::Ready, |ids| {
        json!({ "email": ids.email, "name": "Ivo Newman", "password": "long enough, this",
            "roles": ["technician"] })
    }),
    row(
        "PATCH /api/people/{id}",
        "401 403 403 403 may may 404",
        On::Ready,
        |_| json!({ "qualifications": ["sealed_system"] }),
    ),
    // The rota and the calendar: all see them, those who give out work change the one, those who
    // manage the other.
    row("GET /api/rota", "401 may may may may may may", On::Ready, none),
    row("GET /api/rota/duty", "401 may may may may may may", On::Ready, none),
    row("POST /api/rota/entries", "401 403 403 may may may 404", On::Ready, |ids| {
        json!({ "person_id": ids.person, "kind": "shift", "start": super::rota::at(8),
            "end": super::rota::at(16) })
    }),
    row("GET /api/rota/feed", "401 may may may may may may", On::Ready, none),
    row("POST /api/rota/feed", "401 may may may may may may", On::Ready, none),
    row("DELETE /api/rota/feed", "401 may may may may may may", On::Ready, none),
    row("GET /api/feeds/{token}", OUT, On::Ready, none),
    row("DELETE /api/rota/entries/{id}", "401 403 403 may may may 404", On::Rota, none),
    row("GET /api/rota/fairness", "401 may may may may may may", On::Ready, none),
    row("GET /api/rota/swaps", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/rota/swaps",
        "401 403 403 403 403 403 404",
        On::Rota,
        |ids| json!({ "entry_id": ids.rota_entry }),
    ),
    row("POST /api/rota/swaps/{id}/accept", "401 may 403 403 403 403 404", On::Rota, none),
    row("POST /api/rota/swaps/{id}/decline", "401 may 403 403 403 403 404", On::Rota, none),
    row("POST /api/rota/swaps/{id}/withdraw", "401 403 403 403 403 403 404", On::Rota, none),
    row("GET /api/rota/leave", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/rota/leave",
        "401 may may may may may may",
        On::Ready,
        |_| json!({ "start": super::rota::at(24 * 70), "end": super::rota::at(24 * 72) }),
    ),
    row("POST /api/rota/leave/{id}/grant", "401 404 404 may may may 404", On::Rota, none),
    row(
        "POST /api/rota/leave/{id}/refuse",
        "401 404 404 may may may 404",
        On::Rota,
        |_| json!({ "why": "Everybody is away then." }),
    ),
    row("POST /api/rota/leave/{id}/withdraw", "401 404 404 403 403 403 404", On::Rota, none),
    row("POST /api/rota/pattern", "401 403 403 may may may 404", On::Ready, |ids| {
        json!({ "kind": "second", "first_week": super::rota::at(24 * 90)[..10], "weeks": 2,
            "people": [ids.person], "turn": "weekly", "dry_run": true,
            "handover": { "weekday": 4, "minute": 1020 } })
    }),
    row(
        "POST /api/rota/second",
        "401 403 403 may may may may",
        On::Ready,
        |_| json!({ "until": super::rota::at(48), "why": "Four calls and one van." }),
    ),
    row("DELETE /api/rota/second", "401 403 403 may may may may", On::Ready, none),
    row("GET /api/calendar", "401 may may may may may may", On::Ready, none),
    row("GET /api/calendar/countries", "401 may may may may may may", On::Ready, none),
    row("PUT /api/calendar", "401 403 403 403 may may may", On::Ready, |_| {
        json!({ "week": [[], [], [], [], [], [], []],
            "rest": { "rest_min": 660, "duty_max_min": 780, "nights_on_call_max": 7,
                "on_break": "warn" } })
    }),
    // The estate: who takes a call writes down who called.
    row(
        "POST /api/customers",
        "401 may may may may may may",
        On::Ready,
        |_| json!({ "name": "Per Langton" }),
    ),
    row("GET /api/customers/{id}", "401 may may may may may 404", On::Ready, none),
    row(
        "PATCH /api/customers/{id}",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "notes": "Rings twice." }),
    ),
    row(
        "POST /api/customers/{id}/sites",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "address": "1 Mill Race", "town": "Fernwick" }),
    ),
    row(
        "PATCH /api/sites/{id}",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "notes": "Key at the mill." }),
    ),
    row(
        "POST /api/sites/{id}/units",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "label": "Cold room", "circuit": "compressor-3ph" }),
    ),
    row("GET /api/units/{id}", "401 may may may may may 404", On::Ready, none),
    row(
        "PATCH /api/units/{id}",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "serial": "K-77" }),
    ),
    // Jobs.
    row(
        "POST /api/jobs",
        "401 403 403 may may may 404",
        On::Ready,
        |ids| json!({ "unit_id": ids.unit, "complaint": "Warm", "urgency": "comfort" }),
    ),
    row("GET /api/jobs/{id}", "401 may may may may may 404", On::Ready, none),
    row("GET /api/jobs/{id}/history", "401 may may may may may 404", On::Ready, none),
    row(
        "PATCH /api/jobs/{id}",
        "401 may 403 may may may 404",
        On::Ready,
        |ids| json!({ "version": ids.job_version, "state": "on_site" }),
    ),
    row(
        "POST /api/jobs/{id}/assignment",
        "401 403 403 may may may 404",
        On::Ready,
        |ids| json!({ "version": ids.job_version, "person_id": ids.person }),
    ),
    // What happens when nobody answers, and what waits for a working day.
    row("GET /api/ladders", "401 may may may may may may", On::Ready, none),
    row("PUT /api/ladders", "401 403 403 403 may may may", On::Ready, |_| {
        let steps = |group: &str| json!({ "week": [{ "after_min": 0, "who": [{ "group": group }], "how": "mail" }] });
        json!({ "version": 0, "ladders": { "second_read": steps("best"),
                "urgent_job": steps("everyone"), "approval": steps("managers"), "urgent": ["water"], "quiet": null, "never_quiet": [] } })
    }),
    row(
        "POST /api/ladders/preview",
        "401 403 403 may may may may",
        On::Ready,
        |_| json!({ "kind": "urgent_job", "at": "2026-11-29T05:40:00Z", "urgency": "water" }),
    ),
    row("GET /api/delegates", "401 may may may may may may", On::Ready, none),
    row("PUT /api/people/{id}/delegation", "401 403 403 403 may may 404", On::Ready, |_| {
        let until = super::rota::now() + chrono::TimeDelta::hours(5);
        json!({ "up_to_cents": 50_000, "until": until, "why": "A day off" })
    }),
    row("DELETE /api/people/{id}/delegation", "401 403 403 403 may may 404", On::Ready, none),
    row("GET /api/people/{id}/quiet-hours", "401 may may may may may 404", On::Ready, none),
    row("PUT /api/people/{id}/quiet-hours", "401 403 403 403 may may 404", On::Ready, |_| {
        json!({ "own": true, "hours": { "from_min": 1320, "to_min": 420 },
                "zone": "Europe/Oslo" })
    }),
    row("GET /api/jobs/{id}/ladder", "401 may may may may may 404", On::Ready, none),
    row(
        "POST /api/jobs/{id}/decline",
        "401 409 409 409 409 409 404",
        On::Ready,
        |_| json!({ "reason": "I am ill today" }),
    ),
    row("GET /api/jobs/{id}/holdover", "401 may may may may may 404", On::Ready, none),
    row("GET /api/jobs/{id}/holdover/asks", "401 may may may may may 404", On::Ready, none),
    row("POST /api/jobs/{id}/holdover", "401 may 403 may may may 404", On::Ready, |ids| {
        json!({ "version": ids.job_version, "measures": ["auxiliary_heat"],
                "checked": ["told", "warm", "alarm", "frost"] })
    }),
    row("DELETE /api/jobs/{id}/holdover", "401 409 403 409 409 409 404", On::Ready, none),
    row("POST /api/worse/look", OUT, On::Ready, |_| json!({ "token": "none" })),
    row("POST /api/worse", OUT, On::Ready, |_| {
        json!({ "token": "none", "danger": "no", "none_at_all": "yes", "vulnerable": "unsure",
                "water": "no", "food": "no" })
    }),
    row(
        "POST /api/jobs/{id}/pin",
        "401 403 403 may may may 404",
        On::Ready,
        |_| json!({ "pinned": false }),
    ),
    // Proposals: those who give out work.
    row("GET /api/plans", "401 403 403 may may may may", On::Ready, none),
    row("POST /api/plans", "401 403 403 may may may may", On::Ready, |_| super::plan::ask()),
    row("GET /api/plans/{id}", "401 403 403 may may may 404", On::Plan, none),
    row("POST /api/plans/{id}/take", "401 403 403 may may may 404", On::Plan, |_| json!({})),
    row("POST /api/plans/{id}/drop", "401 403 403 may may may 404", On::Plan, none),
    row("POST /api/plans/{id}/undo", "401 403 403 may may may 404", On::PlanTaken, none),
    row("GET /api/ways", "401 may may may may may may", On::Ready, none),
    row("GET /api/ways/table", "401 403 403 may may may may", On::Ready, none),
    row("PATCH /api/ways", "401 403 403 may may may may", On::Ready, |_| json!({ "factor": 1.4 })),
    // Evidence and talk.
    row("GET /api/jobs/{job_id}/evidence", "401 may may may may may 404", On::Ready, none),
    // Kept, as the verdict is, from whoever could still read blind.
    row("GET /api/jobs/{job_id}/test-plan", "401 may 403 403 may may 404", On::Ready, none),
    // What a call turned out to be: kept as well from whoever could still read blind, and said by
    // technicians and those who manage, once no request on the job is open.
    row("GET /api/jobs/{job_id}/found", "401 may 403 403 may may 404", On::Ready, none),
    row(
        "POST /api/jobs/{job_id}/found",
        "401 may may 403 may may 404",
        On::Draft,
        |_| json!({ "was": "nothing_wrong", "how": "run_test" }),
    ),
    row("GET /api/found", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/jobs/{job_id}/readings",
        "401 may may 403 403 403 404",
        On::Ready,
        |_| json!({ "reading": super::world::through_the_harness() }),
    ),
    row(
        "POST /api/readings/{reading_id}/strike",
        "401 may 403 403 may may 404",
        On::Ready,
        |_| json!({ "reason": "The lead was off." }),
    ),
    row(
        "POST /api/jobs/{job_id}/observations",
        "401 may may 403 403 403 404",
        On::Ready,
        |_| json!({ "sign": "hums_no_start", "present": true }),
    ),
    row("GET /api/jobs/{job_id}/thread", "401 may may may may may 404", On::Ready, none),
    row(
        "POST /api/jobs/{job_id}/thread",
        "401 may may may may may 404",
        On::Ready,
        |ids| json!({ "key": ids.key, "kind": "text", "body": { "text": "On my way." } }),
    ),
    row("GET /api/threads/search", "401 may may may may may may", On::Ready, none),
    row(
        "POST /api/jobs/{job_id}/photos",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "content": super::talk::dot_in_base64() }),
    ),
    row("GET /api/photos/{photo_id}", "401 may may may may may 404", On::Ready, none),
    row(
        "POST /api/jobs/{job_id}/asks/{ask_id}/answer",
        "401 may may 403 403 403 404",
        On::Ready,
        |_| json!({ "shown": { "is": "over_limit" } }),
    ),
    row(
        "POST /api/jobs/{job_id}/thread/mark",
        "401 may may may may may 404",
        On::Ready,
        |_| json!({ "seen_seq": 1 }),
    ),
    // Condemn requests. Dan and Olaf manage and are no technicians.
    row("POST /api/jobs/{job_id}/requests", "401 may 403 403 403 403 404", On::Ready, |_| {
        json!({ "claim": { "component": "capacitor" }, "estimated_cost_cents": 9_000,
            "submit": false })
    }),
    row("GET /api/requests/{request_id}", "401 may may may may may 404", On::Ready, none),
    row("POST /api/requests/{request_id}/submit", "401 may 404 404 404 404 404", On::Draft, none),
    row("POST /api/requests/{request_id}/take", "401 403 may 403 403 403 404", On::Ready, none),
    row(
        "POST /api/requests/{request_id}/blind-read",
        "401 403 may 403 403 403 404",
        On::Reading,
        |_| super::world::agreeing(),
    ),
    row(
        "POST /api/requests/{request_id}/countersign",
        "401 403 may 403 403 403 404",
        On::Revealed,
        |ids| json!({ "digest": ids.digest }),
    ),
    row(
        "POST /api/requests/{request_id}/send-back",
        "401 403 may 403 403 403 404",
        On::Revealed,
        |_| json!({ "note": "Read S to R again." }),
    ),
    row(
        "POST /api/requests/{request_id}/hand-on",
        "401 403 may 403 may may 404",
        On::Revealed,
        |_| json!({ "note": "I am called away." }),
    ),
    row(
        "POST /api/requests/{request_id}/override",
        "401 403 403 403 may may 404",
        On::Held,
        |_| json!({ "reason": "The terminal box is under ice until spring." }),
    ),
    row(
        "POST /api/requests/{request_id}/approve",
        "401 403 403 403 may may 404",
        On::Awaiting,
        |ids| json!({ "digest": ids.digest, "amount_cents": super::world::COSTLY }),
    ),
    row(
        "POST /api/requests/{request_id}/decline",
        "401 403 403 403 may may 404",
        On::Awaiting,
        |ids| json!({ "digest": ids.digest, "reason": "Too old for it." }),
    ),
    row(
        "POST /api/requests/{request_id}/withdraw",
        "401 may 403 403 403 403 404",
        On::Ready,
        |_| json!({ "reason": "The capacitor was weak." }),
    ),
    row(
        "POST /api/requests/{request_id}/overturn",
        "401 may may 403 may may 404",
        On::Revealed,
        |_| json!({ "found": "A burnt plug contact." }),
    ),
    // Finding a reader. Who else could read is kept from those who could.
    row(
        "GET /api/requests/{request_id}/candidates",
        "401 may 403 403 may may 404",
        On::Ready,
        none,
    ),
    row(
        "POST /api/requests/{request_id}/ask",
        "401 may 403 403 may may 404",
        On::Asked,
        |ids| json!({ "person_id": ids.unasked }),
    ),
    // Whoever was not asked is told 409, which is no matter of rights.
    row(
        "POST /api/requests/{request_id}/decline-read",
        "401 may may may may may 404",
        On::Asked,
        |_| json!({ "reason": "On a ladder." }),
    ),
    row("GET /api/reads/pairs", "401 403 403 403 may may may", On::Ready, none),
    // Links for guests.
    row(
        "POST /api/requests/{request_id}/guest-links",
        "401 may may 403 may may 404",
        On::Ready,
        |_| json!({ "meant_for": "Rosa next door", "hours": 24 }),
    ),
    row(
        "GET /api/requests/{request_id}/guest-links",
        "401 may may may may may 404",
        On::Ready,
        none,
    ),
    row("DELETE /api/guest-links/{id}", "401 may 403 403 may may 404", On::Ready, none),
    // A guest's own: nobody who signs in is let in by that, nor by a token that is none.
    row("POST /api/guest/invitation", OUT, On::Ready, |_| json!({ "token": "none" })),
    row(
        "POST /api/guest/code",
        OUT,
        On::Ready,
        |_| json!({ "token": "none", "name": "Rosa Lind", "licence": "L-1", "email": "r@l.example" }),
    ),
    row(
        "POST /api/guest/session",
        OUT,
        On::Ready,
        |_| json!({ "token": "none", "code": "000000" }),
    ),
    row("GET /api/guest/case", OUT, On::Ready, none),
    row("POST /api/guest/take", OUT, On::Ready, none),
    row("POST /api/guest/decline", OUT, On::Ready, |_| json!({ "reason": "On a ladder." })),
    row("POST /api/guest/blind-read", OUT, On::Ready, |_| super::world::agreeing()),
    row("POST /api/guest/countersign", OUT, On::Ready, |ids| json!({ "digest": ids.digest })),
    row("POST /api/guest/send-back", OUT, On::Ready, |_| json!({ "note": "Read S to R again." })),
    row("GET /api/guest/thread", OUT, On::Ready, none),
    row(
        "POST /api/guest/thread",
        OUT,
        On::Ready,
        |ids| json!({ "key": ids.key, "kind": "text", "body": { "text": "Hello." } }),
    ),
    row("POST /api/guest/thread/mark", OUT, On::Ready, |_| json!({ "seen_seq": 1 })),
    row("POST /api/guest/live-ticket", OUT, On::Ready, none),
    // Whoever sees the claim already has nothing to stand aside from, which is no matter of
    // rights; so Ana, Dan and Olaf are told 409.
    row(
        "POST /api/requests/{request_id}/stand-aside",
        "401 may may may may may 404",
        On::Ready,
        none,
    ),
];
