//! How a condemn request is sent.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes, and what is
//! kept from whom: the store leaves that out before it gets here.

use chrono::{DateTime, Utc};
use roster::ladder::Kind;
use serde::{Deserialize, Serialize};
use store::guest::Stated;
use store::read::{BlindRead, Judgement, Sure};
use store::request::{EventShown, Overridden, OwedShown, Shown, Told};
use utoipa::ToSchema;
use uuid::Uuid;

use super::readers::AskShape;
use crate::evidence::shapes::{Hidden, person};
use crate::ladder::shapes::LadderShape;
use crate::openapi::{ClaimShape, VerdictShape};
use crate::shapes::PersonRef;

/// A condemn request, as the caller may see it.
#[derive(Debug, Serialize, ToSchema)]
pub struct Request {
    /// Its id.
    pub id: Uuid,
    /// The job.
    pub job_id: Uuid,
    /// The job's number.
    pub job_number: i32,
    /// The unit's label.
    pub unit_label: String,
    /// Where it stands: draft, held, ready, reading, revealed, countersigned, sent_back,
    /// awaiting_approval, approved, declined, withdrawn or overturned.
    pub state: String,
    /// The same in words.
    pub stage_words: String,
    /// Who claims.
    pub requester: PersonRef,
    /// What is claimed; null while hidden.
    pub claim: Option<ClaimShape>,
    /// The requester's words; null while hidden.
    pub note: Option<String>,
    /// Why the claim and all that gives it away are not shown; null when they are.
    pub hidden: Option<Hidden>,
    /// The estimate; null while hidden.
    pub estimated_cost_cents: Option<i64>,
    /// The evidence as last judged; null while hidden.
    pub digest: Option<String>,
    /// The verdict on it; null while hidden.
    pub verdict: Option<VerdictShape>,
    /// When it was judged; null while hidden.
    pub judged_at: Option<DateTime<Utc>>,
    /// Whether a blind read on this evidence names something else.
    pub disagreement: bool,
    /// Countersignatures that are void because the evidence changed.
    pub void_signatures: u32,
    /// What is owed, in order.
    pub owed: Vec<Owed>,
    /// Every blind read, oldest first; empty while hidden.
    pub reads: Vec<Read>,
    /// The countersignature on the present evidence.
    pub countersignature: Option<Countersignature>,
    /// The decision about the money.
    pub approval: Option<Approval>,
    /// The last override of isolation.
    #[serde(rename = "override")]
    pub overridden: Option<Override>,
    /// What has happened, oldest first.
    pub events: Vec<Event>,
    /// What the caller may do: submit, take, commit_read, countersign, send_back, hand_on,
    /// approve, decline, override, withdraw, overturn, stand_aside.
    pub may: Vec<String>,
    /// The latest search for a reader; null before the first.
    pub ladder: Option<LadderShape>,
    /// The latest ladder for its approval; null where the caller may not see the claim.
    pub approval_ladder: Option<LadderShape>,
    /// Who was asked to read, oldest first.
    pub asked: Vec<AskShape>,
    /// Whether the caller is asked to read it and has not answered.
    pub asks_me: bool,
    /// Counts changes.
    pub version: i32,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub changed_at: DateTime<Utc>,
}

/// One thing owed.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OwedStep)]
pub struct Owed {
    /// evidence, second_read or approval.
    pub step: String,
    /// In a sentence.
    pub words: String,
    /// Who can give it now.
    pub who: Vec<PersonRef>,
    /// Whether it is given, on the present evidence.
    pub done: bool,
}

/// A blind read.
#[derive(Debug, Serialize, ToSchema)]
pub struct Read {
    /// Its id.
    pub id: Uuid,
    /// Who read.
    pub reader: PersonRef,
    /// What they stated of themselves, where they are a guest.
    pub guest: Option<GuestStated>,
    /// The component that has failed in the reader's view; null when they cannot tell.
    pub component: Option<String>,
    /// The part of it.
    pub part: Option<String>,
    /// Its fault mode.
    pub mode: Option<String>,
    /// sure, fairly_sure or cannot_tell.
    pub sure: String,
    /// In the reader's words.
    pub note: String,
    /// Whether it names the component claimed.
    pub agrees: bool,
    /// Whether it is on other evidence than the present.
    pub void: bool,
    /// Whether the reader had seen the job's thread, or this claim on earlier evidence, before.
    pub seen_thread_before: bool,
    /// When the claim was shown to them.
    pub revealed_at: DateTime<Utc>,
    /// When.
    pub at: DateTime<Utc>,
}

/// A countersignature.
#[derive(Debug, Serialize, ToSchema)]
pub struct Countersignature {
    /// Its id.
    pub id: Uuid,
    /// Who signed.
    pub signer: PersonRef,
    /// What they stated of themselves, where they are a guest.
    pub guest: Option<GuestStated>,
    /// The evidence that was signed.
    pub digest: String,
    /// In the signer's words.
    pub note: String,
    /// Seconds from seeing the claim to signing.
    pub seconds_since_reveal: i64,
    /// When.
    pub at: DateTime<Utc>,
}

/// What a guest reader said of themselves.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestStated {
    /// Name, as stated.
    pub name: String,
    /// Licence number, as stated; nobody has checked it.
    pub licence: String,
    /// Their e-mail address, verified by a code.
    pub email: String,
}

/// A decision about the money.
#[derive(Debug, Serialize, ToSchema)]
pub struct Approval {
    /// The manager; null when the shop's policy approved by itself.
    pub approver: Option<PersonRef>,
    /// The evidence it was given on.
    pub digest: String,
    /// approved or declined.
    pub decision: String,
    /// The amount answered for.
    pub amount_cents: i64,
    /// In the manager's words.
    pub reason: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// An override of isolation.
#[derive(Debug, Serialize, ToSchema)]
pub struct Override {
    /// The manager.
    pub by: PersonRef,
    /// When.
    pub at: DateTime<Utc>,
    /// Why.
    pub reason: String,
    /// Whether it was given on other evidence than the present, and so counts for nothing.
    pub void: bool,
}

/// One thing that happened.
#[derive(Debug, Serialize, ToSchema)]
pub struct Event {
    /// When.
    pub at: DateTime<Utc>,
    /// Who; null for the shop's own rules.
    pub actor: Option<PersonRef>,
    /// What, for clients.
    pub kind: String,
    /// What, for people.
    pub words: String,
}

/// The body that makes a request.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewRequest {
    /// What is claimed to have failed.
    pub claim: ClaimShape,
    /// What replacing it is estimated to cost, in cents of the shop's currency.
    pub estimated_cost_cents: i64,
    /// In the requester's words.
    #[serde(default)]
    pub note: String,
    /// Whether to submit it at once; a draft otherwise.
    pub submit: bool,
}

/// The body of a move that carries nothing; it may be left out.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

/// The body of a blind read.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewRead {
    /// The component that has failed, "nothing_wrong" or "unknown_fault"; may be left out by
    /// who cannot tell.
    #[serde(default)]
    pub component: Option<String>,
    /// The part of it.
    #[serde(default)]
    pub part: Option<String>,
    /// Its fault mode.
    #[serde(default)]
    pub mode: Option<String>,
    /// How sure.
    pub sure: SureShape,
    /// In the reader's words.
    #[serde(default)]
    pub note: String,
}

/// How sure a reader is.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SureShape {
    /// Would sign it.
    Sure,
    /// Leans to it.
    FairlySure,
    /// The evidence does not tell.
    CannotTell,
}

/// The body of a countersignature.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewCountersignature {
    /// The evidence, as the signer saw it.
    pub digest: String,
    /// In the signer's words.
    #[serde(default)]
    pub note: String,
}

/// The body that sends a request back.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SendBack {
    /// What to measure, and why.
    pub note: String,
    /// The title of the proposed test, where it is one of the verdict's.
    #[serde(default)]
    pub test: Option<String>,
}

/// The body that hands a request on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandOn {
    /// Why. The next reader sees it once their own read is in.
    #[serde(default)]
    pub note: String,
    /// Who is asked first; whoever is best placed where absent.
    #[serde(default)]
    pub to: Option<Uuid>,
}

/// The body of a move that gives a reason.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// Why.
    #[serde(default)]
    pub reason: String,
}

/// The body of an approval.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Approve {
    /// The evidence, as the approver saw it.
    pub digest: String,
    /// The amount answered for.
    pub amount_cents: i64,
    /// In the approver's words.
    #[serde(default)]
    pub reason: String,
}

/// The body that declines a request.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Decline {
    /// The evidence, as the manager saw it.
    pub digest: String,
    /// Why.
    pub reason: String,
}

/// The body that overturns a request.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Overturn {
    /// Why the mind changed.
    #[serde(default)]
    pub reason: String,
    /// What was found instead.
    pub found: String,
}

impl From<NewRead> for Judgement {
    fn from(read: NewRead) -> Self {
        Judgement {
            component: read.component,
            part: read.part,
            mode: read.mode,
            sure: match read.sure {
                SureShape::Sure => Sure::Sure,
                SureShape::FairlySure => Sure::FairlySure,
                SureShape::CannotTell => Sure::CannotTell,
            },
            note: read.note.trim().to_owned(),
        }
    }
}

impl From<Shown> for Request {
    fn from(shown: Shown) -> Self {
        let request = Request {
            id: shown.id,
            job_id: shown.job_id,
            job_number: shown.job_number,
            unit_label: shown.unit_label,
            state: shown.state.id().to_owned(),
            stage_words: engine::gate::stage_words(shown.state).to_owned(),
            requester: person(shown.requester),
            claim: None,
            note: None,
            hidden: Some(Hidden::BlindFirst),
            estimated_cost_cents: None,
            digest: None,
            verdict: None,
            judged_at: None,
            disagreement: false,
            void_signatures: 0,
            owed: shown.owed.into_iter().map(Owed::from).collect(),
            reads: Vec::new(),
            countersignature: None,
            approval: None,
            overridden: None,
            events: shown.events.into_iter().map(Event::from).collect(),
            may: shown.may.into_iter().map(|kind| kind.id().to_owned()).collect(),
            ladder: shown.ladder.map(|ladder| LadderShape::new(ladder, Kind::SecondRead)),
            approval_ladder: shown
                .approval_ladder
                .map(|ladder| LadderShape::new(ladder, Kind::Approval)),
            asked: shown.asked.into_iter().map(AskShape::from).collect(),
            asks_me: shown.asks_me,
            version: shown.version,
            created_at: shown.created_at,
            changed_at: shown.changed_at,
        };
        match shown.told {
            Some(told) => with_told(request, told),
            None => request,
        }
    }
}

fn with_told(request: Request, told: Told) -> Request {
    let digest = told.digest;
    Request {
        claim: Some(told.claim.into()),
        note: Some(told.note),
        hidden: None,
        estimated_cost_cents: Some(told.estimated_cost_cents),
        verdict: Some(told.verdict.into()),
        judged_at: Some(told.judged_at),
        disagreement: told.disagreement,
        void_signatures: u32::try_from(told.void_signatures).unwrap_or(u32::MAX),
        reads: told.reads.into_iter().map(|read| read_shown(read, &digest)).collect(),
        countersignature: told.signature.map(|signature| Countersignature {
            id: signature.id,
            signer: person(signature.signer),
            guest: signature.guest.map(GuestStated::from),
            digest: signature.digest,
            note: signature.note,
            seconds_since_reveal: signature.seconds_since_reveal,
            at: signature.at,
        }),
        approval: told.approval.map(|approval| Approval {
            approver: approval.approver.map(person),
            digest: approval.digest,
            decision: if approval.approved { "approved" } else { "declined" }.to_owned(),
            amount_cents: approval.amount_cents,
            reason: approval.reason,
            at: approval.at,
        }),
        overridden: told.overridden.map(|given| override_shown(given, &digest)),
        digest: Some(digest),
        ..request
    }
}

fn read_shown(read: BlindRead, digest_now: &str) -> Read {
    Read {
        id: read.id,
        reader: person(read.reader),
        guest: read.guest.map(GuestStated::from),
        component: read.judgement.component,
        part: read.judgement.part,
        mode: read.judgement.mode,
        sure: read.judgement.sure.name().to_owned(),
        note: read.judgement.note,
        agrees: read.agrees,
        void: read.digest != digest_now,
        seen_thread_before: read.seen_thread_before,
        revealed_at: read.revealed_at,
        at: read.at,
    }
}

impl From<Stated> for GuestStated {
    fn from(stated: Stated) -> Self {
        GuestStated { name: stated.name, licence: stated.licence, email: stated.email }
    }
}

fn override_shown(given: Overridden, digest_now: &str) -> Override {
    Override {
        by: person(given.by),
        at: given.at,
        reason: given.reason,
        void: given.digest != digest_now,
    }
}

impl From<OwedShown> for Owed {
    fn from(owed: OwedShown) -> Self {
        Owed {
            step: owed.step.id().to_owned(),
            words: owed.words,
            who: owed.who.into_iter().map(person).collect(),
            done: owed.done,
        }
    }
}

impl From<EventShown> for Event {
    fn from(event: EventShown) -> Self {
        Event { at: event.at, actor: event.actor.map(person), kind: event.kind, words: event.words }
    }
}

#[cfg(test)]
mod tests {
    use engine::gate::State;
    use serde_json::Value;
    use store::evidence::Named;

    use super::*;

    #[test]
    fn what_is_kept_from_a_blind_reader_is_null_and_says_why() {
        let shown = Shown {
            id: Uuid::nil(),
            job_id: Uuid::nil(),
            job_number: 7,
            unit_label: "Roof unit 2".to_owned(),
            state: State::Reading,
            requester: Named { id: Uuid::nil(), name: "Ana".to_owned() },
            owed: Vec::new(),
            may: Vec::new(),
            ladder: None,
            approval_ladder: None,
            asked: Vec::new(),
            asks_me: false,
            events: Vec::new(),
            version: 3,
            created_at: DateTime::UNIX_EPOCH,
            changed_at: DateTime::UNIX_EPOCH,
            told: None,
        };

        let sent = serde_json::to_value(Request::from(shown)).unwrap();

        assert_eq!(sent["hidden"], "blind_first");
        for field in [
            "claim",
            "note",
            "estimated_cost_cents",
            "digest",
            "verdict",
            "judged_at",
            "countersignature",
            "approval",
            "override",
        ] {
            assert_eq!(sent[field], Value::Null, "{field}");
        }
        assert_eq!(sent["reads"], Value::Array(Vec::new()));
    }
}
