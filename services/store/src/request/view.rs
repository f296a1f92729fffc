//! What a caller is shown of a condemn request.
//!
//! Belongs here: leaving out what is kept from the caller, what is owed and by whom, which
//! moves they may make, what has happened. Does not belong here: wire shapes.
//!
//! Everything that would give a claim away is in [`Told`], which is absent for whoever must
//! read blind first: a caller of this module cannot show by mistake what it was not given.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use engine::case::Claim;
use engine::gate::{self, MoveKind, State};
use engine::verdict::Verdict;
use roster::ladder::Kind;
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::Value;
use uuid::Uuid;

use super::ask::{self, Ask};
use super::people::{Colleague, People};
use super::{Filter, Overridden, Request, find, list};
use crate::approval::Approval;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::Named;
use crate::ladder::{self, Ladder};
use crate::person::Caller;
use crate::read::BlindRead;
use crate::signature::Countersignature;

/// A request as one caller may see it.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Its id.
    pub id: Uuid,
    /// The job.
    pub job_id: Uuid,
    /// The job's number.
    pub job_number: i32,
    /// The unit's label.
    pub unit_label: String,
    /// Where it stands.
    pub state: State,
    /// Who claims.
    pub requester: Named,
    /// What is owed, in order.
    pub owed: Vec<OwedShown>,
    /// What the caller may do.
    pub may: Vec<MoveKind>,
    /// The latest search for a reader, where there has been one.
    pub ladder: Option<Ladder>,
    /// The latest ladder for its approval, for whoever sees the claim.
    pub approval_ladder: Option<Ladder>,
    /// Who was asked to read, oldest first; reasons only where the caller sees the claim.
    pub asked: Vec<Ask>,
    /// Whether the caller is asked to read it and has not answered.
    pub asks_me: bool,
    /// What has happened, oldest first.
    pub events: Vec<EventShown>,
    /// Counts changes.
    pub version: i32,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub changed_at: DateTime<Utc>,
    /// Everything that gives the claim away; absent for whoever must read blind first.
    pub told: Option<Told>,
}

/// What is kept from whoever could still read a request blind.
#[derive(Clone, Debug)]
pub struct Told {
    /// What is claimed.
    pub claim: Claim,
    /// In the requester's words.
    pub note: String,
    /// The estimate.
    pub estimated_cost_cents: i64,
    /// The evidence as last judged.
    pub digest: String,
    /// The verdict on it.
    pub verdict: Verdict,
    /// When it was judged.
    pub judged_at: DateTime<Utc>,
    /// Whether a blind read on this evidence names something else.
    pub disagreement: bool,
    /// Countersignatures that are void because the evidence changed.
    pub void_signatures: usize,
    /// Every blind read, oldest first.
    pub reads: Vec<BlindRead>,
    /// The countersignature on the present evidence.
    pub signature: Option<Countersignature>,
    /// The decision.
    pub approval: Option<Approval>,
    /// The last override.
    pub overridden: Option<Overridden>,
}

/// One thing owed, and who can give it now.
#[derive(Clone, Debug)]
pub struct OwedShown {
    /// Which.
    pub step: gate::Step,
    /// In a sentence.
    pub words: String,
    /// Who can give it now; nobody when it is given.
    pub who: Vec<Named>,
    /// Whether it is given.
    pub done: bool,
}

/// One thing that happened.
#[derive(Clone, Debug)]
pub struct EventShown {
    /// When.
    pub at: DateTime<Utc>,
    /// Who; the shop's own rules when absent.
    pub actor: Option<Named>,
    /// What, for clients.
    pub kind: String,
    /// What, for people.
    pub words: String,
}

/// A request as the caller may see it.
///
/// # Errors
/// `NotFound`, for somebody else's draft too.
pub async fn shown_to(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
) -> Result<Shown, StoreError> {
    shown_in(store, store.conn(), caller, request_id).await
}

/// The same within a transaction: whoever made a move is shown what it came to, and not what
/// others did a moment later.
///
/// # Errors
/// As [`shown_to`].
pub(super) async fn shown_in<C: ConnectionTrait>(
    store: &Store,
    conn: &C,
    caller: &Caller,
    request_id: Uuid,
) -> Result<Shown, StoreError> {
    let request = find(conn, store.now(), caller.shop_id, request_id).await?;
    if request.state == State::Draft && request.requester.id != caller.person_id {
        return Err(StoreError::NotFound { what: "request" });
    }
    let shown = show(store, conn, caller, vec![request]).await?;
    shown.into_iter().next().ok_or(StoreError::NotFound { what: "request" })
}

/// The requests that a filter finds, as the caller may see them; others' drafts left out.
///
/// # Errors
/// When the database fails.
pub async fn list_shown(
    store: &Store,
    caller: &Caller,
    filter: Filter,
    only_mine: bool,
) -> Result<Vec<Shown>, StoreError> {
    let me = caller.person_id;
    let requests = list(store.conn(), store.now(), caller.shop_id, filter)
        .await?
        .into_iter()
        .filter(|request| request.state != State::Draft || request.requester.id == me)
        .filter(|request| {
            let reads = request.reader.as_ref().is_some_and(|reader| reader.id == me);
            !only_mine || request.requester.id == me || reads
        })
        .collect();
    show(store, store.conn(), caller, requests).await
}

async fn show<C: ConnectionTrait>(
    store: &Store,
    conn: &C,
    caller: &Caller,
    requests: Vec<Request>,
) -> Result<Vec<Shown>, StoreError> {
    if requests.is_empty() {
        return Ok(Vec::new());
    }
    let all: Vec<&Request> = requests.iter().collect();
    let people = People::of(conn, store.now(), caller.shop_id, &all).await?;
    let ids: Vec<Uuid> = requests.iter().map(|request| request.id).collect();
    let mut happened = happened(conn, caller.shop_id, &ids).await?;
    let mut ladders = ladder::latest_of(conn, Kind::SecondRead, &ids).await?;
    let mut approvals = ladder::latest_of(conn, Kind::Approval, &ids).await?;
    let mut asks: BTreeMap<Uuid, Vec<Ask>> = BTreeMap::new();
    for ask in ask::list_of_requests(conn, &ids).await? {
        asks.entry(ask.request_id).or_default().push(ask);
    }
    Ok(requests
        .into_iter()
        .map(|request| {
            let search = Search {
                ladder: ladders.remove(&request.id),
                approval: approvals.remove(&request.id),
                asked: asks.remove(&request.id).unwrap_or_default(),
            };
            let happened = happened.remove(&request.id).unwrap_or_default();
            show_one(caller, request, &people, search, happened)
        })
        .collect())
}

/// What is known of the search for a reader.
struct Search {
    ladder: Option<Ladder>,
    approval: Option<Ladder>,
    asked: Vec<Ask>,
}

fn show_one(
    caller: &Caller,
    request: Request,
    people: &People,
    search: Search,
    happened: Vec<Happened>,
) -> Shown {
    let visible = request.visible_to(caller);
    let me = caller.person_id;
    Shown {
        asks_me: search.asked.iter().any(|ask| ask.person.id == me && ask.answer.is_none()),
        asked: search
            .asked
            .into_iter()
            .map(|ask| {
                let told = visible || ask.person.id == me;
                Ask { reason: if told { ask.reason } else { String::new() }, ..ask }
            })
            .collect(),
        ladder: search.ladder,
        // Whom it asks depends on the cost.
        approval_ladder: search.approval.filter(|_| visible),
        owed: gate::owed(&request.gate, visible)
            .into_iter()
            .map(|owed| OwedShown {
                who: if owed.done { Vec::new() } else { who(&request, owed.step, people, visible) },
                step: owed.step,
                words: owed.words,
                done: owed.done,
            })
            .collect(),
        may: gate::may(&request.gate, &request.person(caller)),
        events: happened.into_iter().filter_map(|one| event_shown(one, visible)).collect(),
        id: request.id,
        job_id: request.job_id,
        job_number: request.job_number,
        unit_label: request.unit_label.clone(),
        state: request.state,
        requester: request.requester.clone(),
        version: request.version,
        created_at: request.created_at,
        changed_at: request.changed_at,
        told: visible.then(|| told(request)),
    }
}

fn told(request: Request) -> Told {
    Told {
        signature: request.signature().cloned(),
        void_signatures: request.gate.void_signatures(),
        claim: request.claim,
        note: request.note,
        estimated_cost_cents: request.estimated_cost_cents,
        digest: request.digest,
        verdict: request.verdict,
        judged_at: request.judged_at,
        disagreement: request.disagreement,
        reads: request.reads,
        approval: request.approval,
        overridden: request.overridden,
    }
}

/// Who can give what is owed now.
fn who(request: &Request, step: gate::Step, people: &People, visible: bool) -> Vec<Named> {
    if request.state.ended() {
        return Vec::new();
    }
    match step {
        gate::Step::Evidence => vec![request.requester.clone()],
        gate::Step::SecondRead => match (&request.reader, request.state) {
            (_, State::SentBack) => vec![request.requester.clone()],
            (Some(reader), _) => vec![reader.clone()],
            (None, _) => {
                let ranked = people.readers_of(request).ranked;
                ranked.into_iter().filter_map(|ranked| people.named(ranked.id)).collect()
            }
        },
        // Who may approve depends on the cost.
        gate::Step::Approval if !visible => Vec::new(),
        gate::Step::Approval => {
            people.approvers_of(request).into_iter().map(Colleague::named).collect()
        }
    }
}

/// An entry of the record about a request, with the actor's name.
#[derive(Debug, FromQueryResult)]
struct Happened {
    subject_id: Uuid,
    at: DateTime<Utc>,
    actor: Option<Uuid>,
    actor_name: Option<String>,
    kind: String,
    body: Value,
}

async fn happened<C: ConnectionTrait>(
    conn: &C,
    shop_id: Uuid,
    request_ids: &[Uuid],
) -> Result<BTreeMap<Uuid, Vec<Happened>>, StoreError> {
    let all = Happened::find_by_statement(sql(
        "SELECT entry.subject_id, entry.at, entry.actor, person.name AS actor_name, entry.kind, \
             entry.body \
         FROM record_entry AS entry LEFT JOIN person ON person.id = entry.actor \
         WHERE entry.shop_id = $1 AND entry.subject_kind = 'request' \
             AND entry.subject_id = ANY($2) ORDER BY entry.seq",
        [shop_id.into(), request_ids.to_vec().into()],
    ))
    .all(conn)
    .await?;
    let mut map: BTreeMap<Uuid, Vec<Happened>> = BTreeMap::new();
    for one in all {
        map.entry(one.subject_id).or_default().push(one);
    }
    Ok(map)
}

/// What is shown of an entry. To whoever must read blind, only that the request was made and
/// taken: what others thought of the evidence would lead them.
fn event_shown(happened: Happened, visible: bool) -> Option<EventShown> {
    let neutral = ["request_made", "request_submitted", "request_taken"];
    if !visible && !neutral.contains(&happened.kind.as_str()) {
        return None;
    }
    Some(EventShown {
        at: happened.at,
        words: event_words(&happened.kind, &happened.body),
        actor: happened.actor.zip(happened.actor_name).map(|(id, name)| Named { id, name }),
        kind: happened.kind,
    })
}

fn event_words(kind: &str, body: &Value) -> String {
    let text = |field: &str| body[field].as_str().unwrap_or_default();
    let with = |words: &str, field: &str| match text(field) {
        "" => words.to_owned(),
        said => format!("{words}: {said}"),
    };
    match kind {
        "request_made" => "wrote the request".to_owned(),
        "request_submitted" => "submitted it".to_owned(),
        "request_judged" => with("The evidence was judged", "sentence"),
        "ladder_fired" | "ladder_held" => ladder_words(body),
        "reader_asked" => "asked somebody in particular for a second read".to_owned(),
        "read_declined" => with("declined to read it", "reason"),
        "difference_told" => "Told the managers that the two judgements differ".to_owned(),
        "guest_link_made" => "made a link for a guest reader".to_owned(),
        "guest_link_revoked" => "ended the link of a guest reader".to_owned(),
        "guest_declined" => with("declined to read it, and the guest link has ended", "reason"),
        "guest_verified" => "came by the guest link; their e-mail address is verified".to_owned(),
        "request_taken" => "took it for a blind read".to_owned(),
        "blind_read_committed" if body["agrees"] == true => {
            with("committed a blind read that names the same", "note")
        }
        "blind_read_committed" => with("committed a blind read that names something else", "note"),
        "request_countersigned" => with("countersigned it", "note"),
        "approval_asked" => {
            let because: Vec<&str> = body["because"]
                .as_array()
                .into_iter()
                .flatten()
                .filter_map(Value::as_str)
                .collect();
            format!("Asked for approval, because {}", because.join(", and "))
        }
        "request_approved" if body["by_policy"] == true => "Approved by shop policy".to_owned(),
        "request_approved" => with("approved it", "reason"),
        "request_declined" => with("declined it", "reason"),
        "request_sent_back" => with("sent it back with a test", "note"),
        "request_handed_on" => with("handed it to another reader", "note"),
        "isolation_overridden" => with("overrode isolation", "reason"),
        "request_withdrawn" => with("withdrew it", "reason"),
        "request_overturned" => with("overturned it", "found"),
        "stood_aside" => "stood aside to see the claim".to_owned(),
        other => other.replace('_', " "),
    }
}

/// What a step of a ladder did.
fn ladder_words(body: &Value) -> String {
    let count = |field: &str| body[field].as_array().map_or(0, Vec::len);
    let wanted = if body["kind"] == Kind::Approval.id() { "approval" } else { "a second read" };
    if body["held_until"].is_string() {
        return format!(
            "Waited with asking for {wanted}: whoever is next has quiet hours, and is left alone"
        );
    }
    let told = match count("told") {
        0 => "",
        _ => ", and told the managers",
    };
    match (count("asked"), body["action"].as_str()) {
        (0, Some("ask_everyone")) => format!("Nobody is left to ask for {wanted}{told}"),
        (0, _) => format!("Found nobody to ask for {wanted}{told}"),
        (asked, _) => format!("Asked {asked} for {wanted}{told}"),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn happened(kind: &str, body: Value) -> Happened {
        Happened {
            subject_id: Uuid::nil(),
            at: DateTime::UNIX_EPOCH,
            actor: None,
            actor_name: None,
            kind: kind.to_owned(),
            body,
        }
    }

    #[test]
    fn a_blind_reader_sees_only_that_it_was_made_submitted_and_taken() {
        let kinds = [
            "request_made",
            "request_submitted",
            "request_judged",
            "ladder_fired",
            "ladder_held",
            "reader_asked",
            "read_declined",
            "difference_told",
            "request_taken",
            "blind_read_committed",
            "request_countersigned",
            "request_sent_back",
            "request_handed_on",
            "isolation_overridden",
            "stood_aside",
        ];
        let body = json!({ "claim": { "component": "compressor" }, "note": "compressor",
            "reason": "compressor", "sentence": "compressor", "asked": [] });

        let shown: Vec<EventShown> = kinds
            .into_iter()
            .filter_map(|kind| event_shown(happened(kind, body.clone()), false))
            .collect();

        let kinds: Vec<&str> = shown.iter().map(|event| event.kind.as_str()).collect();
        assert_eq!(kinds, ["request_made", "request_submitted", "request_taken"]);
        assert!(shown.iter().all(|event| !event.words.contains("compressor")));
    }

    #[test]
    fn whoever_may_see_it_is_told_why() {
        let event = happened("request_overturned", json!({ "found": "the plug was burnt" }));
        let shown = event_shown(event, true).unwrap();
        assert_eq!(shown.words, "overturned it: the plug was burnt");
    }
}
