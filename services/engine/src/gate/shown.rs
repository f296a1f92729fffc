//! What a request shows, and to whom.
//!
//! Belongs here: whose eyes the claim is kept from, what is still owed, which moves are
//! open to whom. Does not belong here: names of people, layout.

use super::request::{Actor, Move, MoveKind, Person, Request, State};
use super::rules::{OVERRIDE_REASON_CHARS_MIN, apply};

/// Whether that person may see the claim, the verdict on it, the cost and the digest.
///
/// Everyone may once it has ended. Before: the requester, those who have committed a blind
/// read on it, those who stood aside, and managers who are not technicians, so that nobody
/// who could still become its reader is led. A draft is its requester's alone.
pub fn claim_visible_to(request: &Request, person: &Person) -> bool {
    if person.id == request.requester || request.state.ended() {
        return true;
    }
    if request.state == State::Draft {
        return false;
    }
    request.has_read(person.id)
        || request.stood_aside.contains(&person.id)
        || (person.manager && !person.technician)
}

/// Where it stands, in words.
pub fn stage_words(state: State) -> &'static str {
    match state {
        State::Draft => "Being written",
        State::Held => "Held until the readings isolate it",
        State::Ready => "Ready for a second read",
        State::Reading => "Being read blind",
        State::Revealed => "Read; the two are talking",
        State::Countersigned => "Countersigned",
        State::SentBack => "Sent back with a test",
        State::AwaitingApproval => "Waiting for approval",
        State::Approved => "Approved",
        State::Declined => "Declined",
        State::Withdrawn => "Withdrawn",
        State::Overturned => "Overturned by evidence",
    }
}

/// The three things owed, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// The evidence isolates what is claimed, or a manager overrode.
    Evidence,
    /// A second technician agrees.
    SecondRead,
    /// The money is answered for.
    Approval,
}

impl Step {
    /// The identifier, as sent.
    pub fn id(self) -> &'static str {
        match self {
            Step::Evidence => "evidence",
            Step::SecondRead => "second_read",
            Step::Approval => "approval",
        }
    }
}

/// One thing owed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owed {
    /// Which.
    pub step: Step,
    /// In a sentence; it never names what is claimed.
    pub words: String,
    /// Whether it has been given, on the present evidence.
    pub done: bool,
}

/// What is owed, in order. `shown` is whether the asker may see the claim; to others the
/// words say neither what was overridden nor what it costs.
pub fn owed(request: &Request, shown: bool) -> Vec<Owed> {
    let evidence = request.evidence_settles();
    let signed = request.signature().is_some();
    let asks = request.asks();
    let approved = request.approval.as_ref().is_some_and(|approval| {
        approval.approved
            && request.is_current(&approval.digest)
            && request.state == State::Approved
    });
    let evidence_words = match (evidence, shown && request.override_counts() && !request.isolated) {
        (true, true) => "A manager overrode isolation on this evidence",
        (true, false) => "The evidence is ready to be read",
        (false, _) => "The readings must isolate one part",
    };
    let read_words = match (signed, request.state) {
        (true, _) => "A second technician has countersigned this evidence",
        (false, State::Reading) => "A second technician is reading it blind",
        (false, State::Revealed) => {
            "The second reader has read it and must countersign or send it back"
        }
        (false, State::SentBack) => "The second reader sent it back; take the test asked for",
        (false, _) => "A second technician must read it blind and countersign",
    };
    let approval_words = if approved {
        "The money is answered for".to_owned()
    } else if !shown {
        "The money must be answered for".to_owned()
    } else if asks.is_empty() {
        "Shop policy approves by itself once it is countersigned".to_owned()
    } else {
        let because: Vec<&str> = asks.iter().map(|ask| ask.says()).collect();
        format!("A manager must answer for the money, because {}", because.join(", and "))
    };
    vec![
        Owed { step: Step::Evidence, words: evidence_words.to_owned(), done: evidence },
        Owed { step: Step::SecondRead, words: read_words.to_owned(), done: signed },
        Owed { step: Step::Approval, words: approval_words, done: approved },
    ]
}

/// The moves that person may make now. Each is tried on [`apply`], so that what is offered
/// and what is allowed cannot drift apart.
pub fn may(request: &Request, person: &Person) -> Vec<MoveKind> {
    let actor = Actor::Person(*person);
    MoveKind::ALL
        .into_iter()
        .filter(|kind| apply(request, &actor, &sample(request, *kind)).is_ok())
        .collect()
}

/// A move of that kind whose sentences are long enough and whose digest is current.
fn sample(request: &Request, kind: MoveKind) -> Move {
    let digest = request.digest.clone().unwrap_or_default();
    let sentence = "x".repeat(OVERRIDE_REASON_CHARS_MIN);
    match kind {
        MoveKind::Submit => Move::Submit,
        MoveKind::Take => Move::Take,
        MoveKind::CommitRead => Move::CommitRead { agrees: true },
        MoveKind::Countersign => Move::Countersign { digest },
        MoveKind::SendBack => Move::SendBack { note: sentence },
        MoveKind::HandOn => Move::HandOn,
        MoveKind::Approve => Move::Approve { digest, amount_cents: request.cost_cents },
        MoveKind::Decline => Move::Decline { digest, reason: sentence },
        MoveKind::Override => Move::OverrideIsolation { reason: sentence },
        MoveKind::Withdraw => Move::Withdraw,
        MoveKind::Overturn => Move::Overturn { found: sentence },
        MoveKind::StandAside => Move::StandAside,
    }
}
