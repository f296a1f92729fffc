//! Condemn requests: what is kept of one, and its life.
//!
//! Belongs here: the shape of a request as kept, and whose eyes its claim is kept from. Does
//! not belong here: the rules ([`engine::gate`] decides, the database insists), the moves
//! ([`moves`]), what a caller is shown ([`view`]).
//!
//! Every write locks the job's row first, then the request's, as the guards in the database
//! do, so that none of them can wait for another in a circle.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use engine::case::{Case, Claim};
use engine::gate;
use engine::rates::Rates;
use engine::verdict::Verdict;
use uuid::Uuid;

use crate::approval::Approval;
use crate::error::StoreError;
use crate::evidence::{Evidence, Named};
use crate::person::{Caller, Role};
use crate::read::BlindRead;
use crate::signature::Countersignature;

mod after;
mod ask;
mod climb;
mod keep;
mod load;
mod make;
mod moves;
mod people;
mod readers;
mod rejudge;
mod view;

pub(crate) use after::After;
pub use ask::Ask;
pub(crate) use climb::climb;
pub use climb::widen;
pub(crate) use load::lock_job;
pub use load::{Filter, LIST_MAX, find, list, list_of_job};
pub use make::{COST_CENTS_MAX, NOTE_CHARS_MAX, NewRequest, request_make};
pub use moves::{Step, request_move};
pub(crate) use people::{Habit, habits};
pub use readers::{CandidateShown, Candidates, candidates, read_decline, reader_ask};
pub(crate) use rejudge::rejudge_job;
pub use view::{EventShown, OwedShown, Shown, Told, list_shown, shown_to};

/// A manager's override, as kept.
#[derive(Clone, Debug)]
pub struct Overridden {
    /// The manager.
    pub by: Named,
    /// When.
    pub at: DateTime<Utc>,
    /// Why.
    pub reason: String,
    /// The evidence it was given on.
    pub digest: String,
}

/// A condemn request as kept.
#[derive(Clone, Debug)]
pub struct Request {
    /// Its id.
    pub id: Uuid,
    /// Its shop.
    pub shop_id: Uuid,
    /// The job.
    pub job_id: Uuid,
    /// The job's number.
    pub job_number: i32,
    /// The unit's label.
    pub unit_label: String,
    /// Who claims.
    pub requester: Named,
    /// What is claimed.
    pub claim: Claim,
    /// What the component asks of a reader.
    pub qualification: Option<String>,
    /// Where it stands.
    pub state: gate::State,
    /// The estimate.
    pub estimated_cost_cents: i64,
    /// In the requester's words.
    pub note: String,
    /// The circuit it was made with.
    pub circuit_name: String,
    /// That circuit's text.
    pub circuit_text: String,
    /// What the shop's calls said when it was made; `None` where they said nothing.
    pub rates: Option<Rates>,
    /// The evidence as last judged.
    pub digest: String,
    /// The verdict on it.
    pub verdict: Verdict,
    /// The job's revision that was judged.
    pub judged_revision: i64,
    /// When it was judged.
    pub judged_at: DateTime<Utc>,
    /// Whether a blind read on this evidence names something else.
    pub disagreement: bool,
    /// Who reads it now.
    pub reader: Option<Named>,
    /// The last override, which counts only on its own digest.
    pub overridden: Option<Overridden>,
    /// Every blind read, oldest first.
    pub reads: Vec<BlindRead>,
    /// Every countersignature, oldest first.
    pub signatures: Vec<Countersignature>,
    /// The decision.
    pub approval: Option<Approval>,
    /// Who may answer for the money by a rule's delegation, while it waits for that.
    pub delegates: Vec<Uuid>,
    /// Counts changes.
    pub version: i32,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub changed_at: DateTime<Utc>,
    /// What the rules are decided from.
    pub gate: gate::Request,
}

impl Request {
    /// The engine's case for its claim, by the circuit and the shop's calls that it keeps.
    pub fn case_on(&self, evidence: &Evidence) -> Case {
        let claim = self.claim.clone();
        evidence.case_for(claim, &self.circuit_name, &self.circuit_text, self.rates.clone())
    }

    /// A caller as the gate knows them for this request.
    pub fn person(&self, caller: &Caller) -> gate::Person {
        if let Some(guest) = caller.guest {
            // Whoever made the link answers for asking somebody who can judge this part; the
            // signature says what the guest stated of themselves.
            let invited = guest.request_id == self.id;
            return gate::Person {
                id: person_id(caller.person_id),
                technician: invited,
                manager: false,
                qualified: invited,
            };
        }
        let held: Vec<&str> = caller.qualifications.iter().map(|held| held.name()).collect();
        gate::Person {
            id: person_id(caller.person_id),
            technician: caller.is(Role::Technician),
            manager: caller.manages() || self.delegates.contains(&caller.person_id),
            qualified: self.qualification.as_deref().is_none_or(|wanted| held.contains(&wanted)),
        }
    }

    /// Whether the caller may see the claim, and all that gives it away.
    pub fn visible_to(&self, caller: &Caller) -> bool {
        gate::claim_visible_to(&self.gate, &self.person(caller))
    }

    /// Whether it is open, in earnest, and kept from the caller.
    pub fn hidden_while_open(&self, caller: &Caller) -> bool {
        !self.state.ended() && self.state != gate::State::Draft && !self.visible_to(caller)
    }

    /// The countersignature on the present evidence.
    pub fn signature(&self) -> Option<&Countersignature> {
        self.signatures.iter().rev().find(|signature| signature.digest == self.digest)
    }
}

/// A person's id as the gate has it.
pub(crate) fn person_id(id: Uuid) -> gate::PersonId {
    gate::PersonId(id.as_u128())
}

/// Many people's ids as the gate has them.
pub(crate) fn person_ids(ids: impl IntoIterator<Item = Uuid>) -> BTreeSet<gate::PersonId> {
    ids.into_iter().map(person_id).collect()
}

/// The evidence is no longer what the caller saw.
pub(crate) fn digest_changed() -> StoreError {
    StoreError::conflict(
        gate::RefusalCode::DigestChanged.id(),
        "The evidence has changed since you saw it. Look at it again, then decide on what is \
         there now.",
    )
}

/// A refusal of the gate as an error.
pub(crate) fn refused(refusal: gate::Refusal) -> StoreError {
    use gate::RefusalCode as Code;
    let code = refusal.code.id();
    match refusal.code {
        Code::NotYours
        | Code::NotIndependent
        | Code::NotQualified
        | Code::BlindFirst
        | Code::StoodAside => StoreError::Forbidden { code, says: refusal.says },
        Code::WrongState | Code::DigestChanged | Code::NotIsolated | Code::NotCountersigned => {
            StoreError::Conflict { code, says: refusal.says }
        }
        Code::TooShort => StoreError::invalid("", refusal.says),
        Code::BadAmount => StoreError::invalid("/amount_cents", refusal.says),
    }
}
