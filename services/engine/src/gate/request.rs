//! What the rules of the gate are decided from.
//!
//! Belongs here: the shapes, and questions that one shape answers about itself. Does not
//! belong here: the moves ([`super::apply`]).

use std::collections::BTreeSet;

/// A person, as the gate knows them: a number that says whether two are the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PersonId(pub u128);

/// Where a request stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// Being written; only its requester knows of it.
    Draft,
    /// The readings do not isolate what is claimed.
    Held,
    /// Isolated or overridden; waits for a second reader.
    Ready,
    /// A second reader has it and has not yet committed a blind read.
    Reading,
    /// The blind read is committed; the reader sees the claim.
    Revealed,
    /// Countersigned; the shop's policy decides at once what follows.
    Countersigned,
    /// The reader wants more measured first.
    SentBack,
    /// A manager answers for the money.
    AwaitingApproval,
    /// The part may be replaced.
    Approved,
    /// A manager said no.
    Declined,
    /// The requester took it back.
    Withdrawn,
    /// Evidence changed the mind.
    Overturned,
}

impl State {
    /// Every state, in the order of a request's life.
    pub const ALL: [State; 12] = [
        State::Draft,
        State::Held,
        State::Ready,
        State::Reading,
        State::Revealed,
        State::Countersigned,
        State::SentBack,
        State::AwaitingApproval,
        State::Approved,
        State::Declined,
        State::Withdrawn,
        State::Overturned,
    ];

    /// The identifier, as stored and sent.
    pub fn id(self) -> &'static str {
        match self {
            State::Draft => "draft",
            State::Held => "held",
            State::Ready => "ready",
            State::Reading => "reading",
            State::Revealed => "revealed",
            State::Countersigned => "countersigned",
            State::SentBack => "sent_back",
            State::AwaitingApproval => "awaiting_approval",
            State::Approved => "approved",
            State::Declined => "declined",
            State::Withdrawn => "withdrawn",
            State::Overturned => "overturned",
        }
    }

    /// The state with that identifier.
    pub fn from_id(id: &str) -> Option<State> {
        State::ALL.into_iter().find(|state| state.id() == id)
    }

    /// Whether nothing can move it any more.
    pub fn ended(self) -> bool {
        matches!(self, State::Approved | State::Declined | State::Withdrawn | State::Overturned)
    }
}

/// Who moves a request, with what the rules must know of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Actor {
    /// The shop itself: the engine's judgement and the approval policy.
    Shop,
    /// One of its people.
    Person(Person),
}

/// One of the shop's people, as the rules see them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Person {
    /// Who.
    pub id: PersonId,
    /// Works as a technician, and so could be asked for a second read.
    pub technician: bool,
    /// Service manager or owner.
    pub manager: bool,
    /// Holds the qualification that the claimed component asks of a reader.
    pub qualified: bool,
}

/// A committed blind read.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Read {
    /// Who read.
    pub reader: PersonId,
    /// The evidence that was read.
    pub digest: String,
    /// Whether it names the component that the requester claims.
    pub agrees: bool,
}

/// A countersignature.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Signature {
    /// Who signed.
    pub signer: PersonId,
    /// The evidence that was signed.
    pub digest: String,
}

/// A manager's override of isolation.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Override {
    /// The manager.
    pub by: PersonId,
    /// The evidence it was given on; on any other it counts for nothing.
    pub digest: String,
}

/// The decision about the money.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Approval {
    /// The manager; `None` when the shop's policy approved by itself.
    pub approver: Option<PersonId>,
    /// The evidence it was given on.
    pub digest: String,
    /// Approved, or declined.
    pub approved: bool,
    /// The amount answered for.
    pub amount_cents: i64,
}

/// What makes a shop ask a manager.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct ApprovalRules {
    /// At or above this a manager is asked, and must be independent.
    pub limit_cents: i64,
    /// Ask when the unit is under warranty.
    pub warranty: bool,
    /// Ask when the unit is this old or older.
    pub age_years: Option<u32>,
    /// Ask when a blind read on this evidence names something else.
    pub disagreement: bool,
    /// Ask when isolation was overridden.
    pub overridden: bool,
}

/// A reason to ask a manager.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ask {
    /// The estimate reaches the shop's limit.
    Cost,
    /// The unit is under warranty.
    Warranty,
    /// The unit is old.
    Age,
    /// A blind read names something else.
    Disagreement,
    /// Isolation was overridden.
    Override,
}

impl Ask {
    /// In words, after "because".
    pub fn says(self) -> &'static str {
        match self {
            Ask::Cost => "the cost reaches the shop's limit",
            Ask::Warranty => "the unit is under warranty",
            Ask::Age => "the unit is old enough that replacing it whole may be better",
            Ask::Disagreement => "the second read named something else",
            Ask::Override => "isolation was overridden",
        }
    }
}

/// A condemn request, as far as the rules need it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Request {
    /// Where it stands.
    pub state: State,
    /// Who claims.
    pub requester: PersonId,
    /// Everyone who took a reading on the job, struck ones included, or struck one.
    pub reading_takers: BTreeSet<PersonId>,
    /// The evidence as last judged; `None` before the first judgement.
    pub digest: Option<String>,
    /// Whether the verdict on that evidence is `isolated`.
    pub isolated: bool,
    /// The last override given.
    pub overridden: Option<Override>,
    /// The second reader who has it now.
    pub reader: Option<PersonId>,
    /// Every blind read committed, oldest first, void ones included.
    pub reads: Vec<Read>,
    /// Every countersignature, oldest first, void ones included.
    pub signatures: Vec<Signature>,
    /// Who will not read it and has been shown the claim.
    pub stood_aside: BTreeSet<PersonId>,
    /// The decision, once there is one.
    pub approval: Option<Approval>,
    /// The estimate.
    pub cost_cents: i64,
    /// When a manager is asked.
    pub rules: ApprovalRules,
    /// Whether the unit is under warranty.
    pub under_warranty: bool,
    /// The unit's age, where its installation date is known.
    pub age_years: Option<u32>,
}

impl Request {
    /// Whether `digest` is the evidence as last judged.
    pub fn is_current(&self, digest: &str) -> bool {
        self.digest.as_deref() == Some(digest)
    }

    /// Whether an override counts on the evidence as last judged.
    pub fn override_counts(&self) -> bool {
        self.overridden.as_ref().is_some_and(|given| self.is_current(&given.digest))
    }

    /// Whether the evidence lets it through: isolated, or overridden on this very evidence.
    pub fn evidence_settles(&self) -> bool {
        self.digest.is_some() && (self.isolated || self.override_counts())
    }

    /// Whether a blind read on the present evidence names something else.
    pub fn disagreement(&self) -> bool {
        self.reads.iter().any(|read| self.is_current(&read.digest) && !read.agrees)
    }

    /// The countersignature on the present evidence.
    pub fn signature(&self) -> Option<&Signature> {
        self.signatures.iter().rev().find(|signature| self.is_current(&signature.digest))
    }

    /// How many countersignatures are void because the evidence has changed.
    pub fn void_signatures(&self) -> usize {
        self.signatures.iter().filter(|signature| !self.is_current(&signature.digest)).count()
    }

    /// Whether that person has committed a blind read, on whatever evidence.
    pub fn has_read(&self, person: PersonId) -> bool {
        self.reads.iter().any(|read| read.reader == person)
    }

    /// Whether that person has committed a blind read on the present evidence.
    pub fn has_read_current(&self, person: PersonId) -> bool {
        self.reads.iter().any(|read| read.reader == person && self.is_current(&read.digest))
    }

    /// Whether that amount asks for an approver who is neither requester nor reader.
    pub fn reaches_limit(&self, amount_cents: i64) -> bool {
        amount_cents >= self.rules.limit_cents
    }

    /// Why a manager is asked; empty when policy may approve by itself.
    pub fn asks(&self) -> Vec<Ask> {
        let old = match (self.rules.age_years, self.age_years) {
            (Some(limit), Some(age)) => age >= limit,
            _ => false,
        };
        let overridden = !self.isolated && self.override_counts();
        [
            (self.reaches_limit(self.cost_cents), Ask::Cost),
            (self.rules.warranty && self.under_warranty, Ask::Warranty),
            (old, Ask::Age),
            (self.rules.disagreement && self.disagreement(), Ask::Disagreement),
            (self.rules.overridden && overridden, Ask::Override),
        ]
        .into_iter()
        .filter_map(|(applies, ask)| applies.then_some(ask))
        .collect()
    }
}

/// One move.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Move {
    /// The requester asks in earnest.
    Submit,
    /// The engine has judged; after every change of the evidence.
    Judge {
        /// The evidence judged.
        digest: String,
        /// Whether it isolates what is claimed.
        isolated: bool,
    },
    /// A second reader takes it.
    Take,
    /// The second reader commits a blind read.
    CommitRead {
        /// Whether it names the component that the requester claims.
        agrees: bool,
    },
    /// The second reader signs.
    Countersign {
        /// The evidence they signed, as they saw it.
        digest: String,
    },
    /// The shop's policy decides what follows a countersignature.
    Settle,
    /// The second reader wants more measured first.
    SendBack {
        /// What to measure, and why.
        note: String,
    },
    /// To another reader.
    HandOn,
    /// A manager lets it through although it is not isolated.
    OverrideIsolation {
        /// Why (inaccessible, dangerous to test).
        reason: String,
    },
    /// A manager answers for the money.
    Approve {
        /// The evidence, as they saw it.
        digest: String,
        /// The amount answered for.
        amount_cents: i64,
    },
    /// A manager says no.
    Decline {
        /// The evidence, as they saw it.
        digest: String,
        /// Why.
        reason: String,
    },
    /// The requester takes it back.
    Withdraw,
    /// Evidence changed the mind.
    Overturn {
        /// What was found instead.
        found: String,
    },
    /// "I will not read this one; show me the claim."
    StandAside,
}

/// The moves people make, without what they carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MoveKind {
    /// See [`Move::Submit`].
    Submit,
    /// See [`Move::Take`].
    Take,
    /// See [`Move::CommitRead`].
    CommitRead,
    /// See [`Move::Countersign`].
    Countersign,
    /// See [`Move::SendBack`].
    SendBack,
    /// See [`Move::HandOn`].
    HandOn,
    /// See [`Move::Approve`].
    Approve,
    /// See [`Move::Decline`].
    Decline,
    /// See [`Move::OverrideIsolation`].
    Override,
    /// See [`Move::Withdraw`].
    Withdraw,
    /// See [`Move::Overturn`].
    Overturn,
    /// See [`Move::StandAside`].
    StandAside,
}

impl MoveKind {
    /// Every kind, in the order in which they are offered.
    pub const ALL: [MoveKind; 12] = [
        MoveKind::Submit,
        MoveKind::Take,
        MoveKind::CommitRead,
        MoveKind::Countersign,
        MoveKind::SendBack,
        MoveKind::HandOn,
        MoveKind::Approve,
        MoveKind::Decline,
        MoveKind::Override,
        MoveKind::Withdraw,
        MoveKind::Overturn,
        MoveKind::StandAside,
    ];

    /// The identifier, as sent.
    pub fn id(self) -> &'static str {
        match self {
            MoveKind::Submit => "submit",
            MoveKind::Take => "take",
            MoveKind::CommitRead => "commit_read",
            MoveKind::Countersign => "countersign",
            MoveKind::SendBack => "send_back",
            MoveKind::HandOn => "hand_on",
            MoveKind::Approve => "approve",
            MoveKind::Decline => "decline",
            MoveKind::Override => "override",
            MoveKind::Withdraw => "withdraw",
            MoveKind::Overturn => "overturn",
            MoveKind::StandAside => "stand_aside",
        }
    }
}

/// What kind of refusal; a client branches on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RefusalCode {
    /// The request is in a state that does not know this move.
    WrongState,
    /// The evidence has changed since the caller saw it.
    DigestChanged,
    /// Neither isolated nor overridden on this evidence.
    NotIsolated,
    /// The move is another's to make.
    NotYours,
    /// The caller is requester, reader or reading taker where the rules want none of them.
    NotIndependent,
    /// The caller lacks the qualification.
    NotQualified,
    /// The claim is kept from the caller until they read blind or stand aside.
    BlindFirst,
    /// The caller has stood aside and knows the claim.
    StoodAside,
    /// No countersignature on this evidence.
    NotCountersigned,
    /// A sentence is too short to say anything.
    TooShort,
    /// An amount below nothing.
    BadAmount,
}

impl RefusalCode {
    /// The identifier, as sent.
    pub fn id(self) -> &'static str {
        match self {
            RefusalCode::WrongState => "wrong-state",
            RefusalCode::DigestChanged => "digest-changed",
            RefusalCode::NotIsolated => "not-isolated",
            RefusalCode::NotYours => "not-yours",
            RefusalCode::NotIndependent => "not-independent",
            RefusalCode::NotQualified => "not-qualified",
            RefusalCode::BlindFirst => "blind-first",
            RefusalCode::StoodAside => "stood-aside",
            RefusalCode::NotCountersigned => "not-countersigned",
            RefusalCode::TooShort => "too-short",
            RefusalCode::BadAmount => "bad-amount",
        }
    }
}

/// A move refused, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq, Hash, thiserror::Error)]
#[error("{says}")]
pub struct Refusal {
    /// What kind.
    pub code: RefusalCode,
    /// In a sentence; it never names what is claimed.
    pub says: String,
}

impl Refusal {
    /// A refusal.
    pub fn new(code: RefusalCode, says: impl Into<String>) -> Self {
        Refusal { code, says: says.into() }
    }
}
