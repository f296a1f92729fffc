//! The moves: which are allowed, to whom, and what they do.
//!
//! Belongs here: one function per move, each a list of conditions and one change. Does not
//! belong here: what is shown to whom ([`super::claim_visible_to`]).

use super::request::{
    Actor, Approval, Move, Override, Person, PersonId, Read, Refusal, RefusalCode, Request,
    Signature, State,
};
use super::shown::{claim_visible_to, stage_words};

/// Fewest characters of an override's reason; a shorter one is refused, because an override
/// is read again months later by someone who was not there.
pub const OVERRIDE_REASON_CHARS_MIN: usize = 20;

/// Fewest characters of any other sentence that a move must carry (what to measure, why
/// declined, what was found); a shorter one is refused.
pub const SENTENCE_CHARS_MIN: usize = 5;

/// Makes a move, or says why not. The request given is left as it was.
///
/// # Errors
/// [`Refusal`]: a code and a sentence that says what would be right.
pub fn apply(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
    let mut changed = request.clone();
    match (next, actor) {
        (Move::Judge { digest, isolated }, Actor::Shop) => {
            judge(&mut changed, digest, *isolated)?;
        }
        (Move::Settle, Actor::Shop) => settle(&mut changed)?,
        (Move::Judge { .. } | Move::Settle, Actor::Person(_)) => {
            return refuse(RefusalCode::NotYours, "The shop judges and settles by itself.");
        }
        (_, Actor::Shop) => {
            return refuse(RefusalCode::NotYours, "Only a person can make this move.");
        }
        (Move::Submit, Actor::Person(person)) => submit(&mut changed, person)?,
        (Move::Take, Actor::Person(person)) => take(&mut changed, person)?,
        (Move::CommitRead { agrees }, Actor::Person(person)) => {
            commit_read(&mut changed, person, *agrees)?;
        }
        (Move::Countersign { digest }, Actor::Person(person)) => {
            countersign(&mut changed, person, digest)?;
        }
        (Move::SendBack { note }, Actor::Person(person)) => send_back(&mut changed, person, note)?,
        (Move::HandOn, Actor::Person(person)) => hand_on(&mut changed, person)?,
        (Move::OverrideIsolation { reason }, Actor::Person(person)) => {
            override_isolation(&mut changed, person, reason)?;
        }
        (Move::Approve { digest, amount_cents }, Actor::Person(person)) => {
            approve(&mut changed, person, digest, *amount_cents)?;
        }
        (Move::Decline { digest, reason }, Actor::Person(person)) => {
            decline(&mut changed, person, digest, reason)?;
        }
        (Move::Withdraw, Actor::Person(person)) => withdraw(&mut changed, person)?,
        (Move::Overturn { found }, Actor::Person(person)) => overturn(&mut changed, person, found)?,
        (Move::StandAside, Actor::Person(person)) => stand_aside(&mut changed, person)?,
    }
    Ok(changed)
}

type Moved = Result<(), Refusal>;

fn refuse<T>(code: RefusalCode, says: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal::new(code, says))
}

fn in_state(request: &Request, wanted: State, does: &str) -> Moved {
    if request.state == wanted {
        return Ok(());
    }
    refuse(
        RefusalCode::WrongState,
        format!(
            "{does} while {}; now {}.",
            stage_words(wanted).to_lowercase(),
            stage_words(request.state).to_lowercase()
        ),
    )
}

fn still_open(request: &Request) -> Moved {
    if !request.state.ended() {
        return Ok(());
    }
    refuse(
        RefusalCode::WrongState,
        format!(
            "This request has ended ({}); make a new one if there is new evidence.",
            stage_words(request.state).to_lowercase()
        ),
    )
}

fn on_current(request: &Request, digest: &str) -> Moved {
    if request.is_current(digest) {
        return Ok(());
    }
    refuse(
        RefusalCode::DigestChanged,
        "The evidence has changed since you saw it. Look at it again, then decide on what is there now.",
    )
}

fn says_enough(sentence: &str, chars_min: usize, what: &str) -> Moved {
    if sentence.trim().chars().count() >= chars_min {
        return Ok(());
    }
    refuse(
        RefusalCode::TooShort,
        format!("{what} in a sentence of at least {chars_min} characters."),
    )
}

fn manager(person: &Person) -> Moved {
    if person.manager {
        return Ok(());
    }
    refuse(RefusalCode::NotYours, "This is for a service manager or the owner to decide.")
}

fn sees_claim(request: &Request, person: &Person) -> Moved {
    if claim_visible_to(request, person) {
        return Ok(());
    }
    refuse(
        RefusalCode::BlindFirst,
        "The claim is kept from you because you could be its second reader. Stand aside to see it, then decide.",
    )
}

/// Where a request goes when a reader is wanted anew.
fn at_the_gate(request: &Request) -> State {
    if request.evidence_settles() { State::Ready } else { State::Held }
}

fn submit(request: &mut Request, person: &Person) -> Moved {
    if person.id != request.requester {
        return refuse(RefusalCode::NotYours, "Only its requester submits a request.");
    }
    in_state(request, State::Draft, "A request is submitted")?;
    request.state = at_the_gate(request);
    Ok(())
}

fn judge(request: &mut Request, digest: &str, isolated: bool) -> Moved {
    still_open(request)?;
    if request.is_current(digest) {
        // The same evidence judged again: nothing that was signed has moved.
        request.isolated = isolated;
        return Ok(());
    }
    request.digest = Some(digest.to_owned());
    request.isolated = isolated;
    if request.state != State::Draft {
        request.reader = None;
        request.state = at_the_gate(request);
    }
    Ok(())
}

/// Whether the rules let that person be the second reader at all.
fn independent_reader(request: &Request, person: PersonId) -> Moved {
    if person == request.requester {
        return refuse(
            RefusalCode::NotIndependent,
            "A second read is another technician's; this request is your own.",
        );
    }
    if request.reading_takers.contains(&person) {
        return refuse(
            RefusalCode::NotIndependent,
            "You took readings on this job, so the second read is someone else's.",
        );
    }
    if request.stood_aside.contains(&person) {
        return refuse(
            RefusalCode::StoodAside,
            "You stood aside and have been shown the claim, so the second read is someone else's.",
        );
    }
    Ok(())
}

fn take(request: &mut Request, person: &Person) -> Moved {
    if !person.technician {
        return refuse(RefusalCode::NotQualified, "A second read is a technician's.");
    }
    independent_reader(request, person.id)?;
    if !person.qualified {
        // Which qualification is not said: it would tell what is claimed.
        return refuse(
            RefusalCode::NotQualified,
            "This read asks for a qualification that you do not hold; a qualified technician can take it.",
        );
    }
    in_state(request, State::Ready, "A request is taken for reading")?;
    request.reader = Some(person.id);
    // Evidence that came back to what this reader has already read need not be read twice.
    request.state =
        if request.has_read_current(person.id) { State::Revealed } else { State::Reading };
    Ok(())
}

fn is_reader(request: &Request, person: &Person) -> Moved {
    if request.reader == Some(person.id) {
        return Ok(());
    }
    refuse(RefusalCode::NotYours, "Only the second reader who has this request can do that.")
}

fn commit_read(request: &mut Request, person: &Person, agrees: bool) -> Moved {
    in_state(request, State::Reading, "A blind read is committed")?;
    is_reader(request, person)?;
    independent_reader(request, person.id)?;
    let Some(digest) = request.digest.clone() else {
        return refuse(RefusalCode::NotIsolated, "The evidence has not been judged yet.");
    };
    request.reads.push(Read { reader: person.id, digest, agrees });
    request.state = State::Revealed;
    Ok(())
}

fn countersign(request: &mut Request, person: &Person, digest: &str) -> Moved {
    if !claim_visible_to(request, person) {
        // Before the digest is looked at: whoever is told whether a digest is right can find
        // the claim by trying.
        return refuse(RefusalCode::BlindFirst, "Commit your blind read on this evidence first.");
    }
    on_current(request, digest)?;
    in_state(request, State::Revealed, "A request is countersigned")?;
    is_reader(request, person)?;
    independent_reader(request, person.id)?;
    if !request.has_read_current(person.id) {
        return refuse(RefusalCode::BlindFirst, "Commit your blind read on this evidence first.");
    }
    settled(request)?;
    request.signatures.push(Signature { signer: person.id, digest: digest.to_owned() });
    request.state = State::Countersigned;
    Ok(())
}

fn settled(request: &Request) -> Moved {
    if request.evidence_settles() {
        return Ok(());
    }
    refuse(
        RefusalCode::NotIsolated,
        "The readings do not isolate what is claimed. Take the next test, or ask a manager to override with a reason.",
    )
}

fn settle(request: &mut Request) -> Moved {
    in_state(request, State::Countersigned, "Policy decides")?;
    let Some(digest) = request.signature().map(|signature| signature.digest.clone()) else {
        return refuse(RefusalCode::NotCountersigned, "Nobody has countersigned this evidence.");
    };
    settled(request)?;
    if !request.asks().is_empty() {
        request.state = State::AwaitingApproval;
        return Ok(());
    }
    request.approval =
        Some(Approval { approver: None, digest, approved: true, amount_cents: request.cost_cents });
    request.state = State::Approved;
    Ok(())
}

fn send_back(request: &mut Request, person: &Person, note: &str) -> Moved {
    in_state(request, State::Revealed, "A request is sent back")?;
    is_reader(request, person)?;
    says_enough(note, SENTENCE_CHARS_MIN, "Say what to measure")?;
    request.state = State::SentBack;
    Ok(())
}

fn hand_on(request: &mut Request, person: &Person) -> Moved {
    match request.state {
        State::Reading | State::Revealed if request.reader == Some(person.id) => {}
        // Two judgements stand against each other: whoever claimed may ask for a third.
        State::Revealed if person.id == request.requester && request.disagreement() => {}
        // A reader who does not come back, or who sends back what cannot be measured, must not
        // be able to hold a request for ever.
        State::Reading | State::Revealed | State::SentBack => {
            manager(person)?;
            sees_claim(request, person)?;
        }
        _ => in_state(request, State::Revealed, "A request is handed on")?,
    }
    request.reader = None;
    request.state = at_the_gate(request);
    Ok(())
}

fn override_isolation(request: &mut Request, person: &Person, reason: &str) -> Moved {
    manager(person)?;
    if person.id == request.requester {
        return refuse(
            RefusalCode::NotIndependent,
            "Another manager has to answer for overriding your own request.",
        );
    }
    in_state(request, State::Held, "Isolation is overridden")?;
    sees_claim(request, person)?;
    says_enough(
        reason,
        OVERRIDE_REASON_CHARS_MIN,
        "Say why it cannot be measured (inaccessible, dangerous to test)",
    )?;
    let Some(digest) = request.digest.clone() else {
        return refuse(RefusalCode::NotIsolated, "The evidence has not been judged yet.");
    };
    request.overridden = Some(Override { by: person.id, digest });
    request.state = State::Ready;
    Ok(())
}

fn approve(request: &mut Request, person: &Person, digest: &str, amount_cents: i64) -> Moved {
    manager(person)?;
    sees_claim(request, person)?;
    on_current(request, digest)?;
    in_state(request, State::AwaitingApproval, "A request is approved")?;
    if amount_cents < 0 {
        return refuse(RefusalCode::BadAmount, "The amount is 0 or more.");
    }
    if request.signature().is_none() {
        return refuse(RefusalCode::NotCountersigned, "Nobody has countersigned this evidence.");
    }
    settled(request)?;
    answers_for(request, person.id, amount_cents)?;
    request.approval = Some(Approval {
        approver: Some(person.id),
        digest: digest.to_owned(),
        approved: true,
        amount_cents,
    });
    request.state = State::Approved;
    Ok(())
}

/// Whether that manager is one who may answer for such an amount.
fn answers_for(request: &Request, person: PersonId, amount_cents: i64) -> Moved {
    if person == request.requester && request.disagreement() {
        return refuse(
            RefusalCode::NotIndependent,
            "The second read named something else, so another manager than the requester decides.",
        );
    }
    // The larger of the two, so that approving less than was estimated is no way around.
    if request.reaches_limit(amount_cents.max(request.cost_cents)) {
        independent_approver(request, person)?;
    }
    Ok(())
}

/// Whether that person is one who may answer for the estimate, once it comes to that.
pub fn could_approve(request: &Request, person: &Person) -> bool {
    person.manager && answers_for(request, person.id, request.cost_cents).is_ok()
}

fn independent_approver(request: &Request, person: PersonId) -> Moved {
    let signed = request.signatures.iter().any(|signature| signature.signer == person);
    if person == request.requester
        || signed
        || request.has_read(person)
        || request.reading_takers.contains(&person)
    {
        return refuse(
            RefusalCode::NotIndependent,
            "From the shop's limit on, the approver is neither requester nor reader and took no reading on the job. Another manager has to answer for it.",
        );
    }
    Ok(())
}

fn decline(request: &mut Request, person: &Person, digest: &str, reason: &str) -> Moved {
    manager(person)?;
    sees_claim(request, person)?;
    on_current(request, digest)?;
    in_state(request, State::AwaitingApproval, "A request is declined")?;
    says_enough(reason, SENTENCE_CHARS_MIN, "Say why it is declined")?;
    request.approval = Some(Approval {
        approver: Some(person.id),
        digest: digest.to_owned(),
        approved: false,
        amount_cents: request.cost_cents,
    });
    request.state = State::Declined;
    Ok(())
}

fn withdraw(request: &mut Request, person: &Person) -> Moved {
    if person.id != request.requester {
        return refuse(RefusalCode::NotYours, "Only its requester withdraws a request.");
    }
    still_open(request)?;
    request.reader = None;
    request.state = State::Withdrawn;
    Ok(())
}

fn overturn(request: &mut Request, person: &Person, found: &str) -> Moved {
    still_open(request)?;
    if request.state == State::Draft {
        return refuse(RefusalCode::WrongState, "A draft is withdrawn, not overturned.");
    }
    let concerned = person.id == request.requester || request.has_read(person.id) || person.manager;
    if !concerned {
        return refuse(
            RefusalCode::NotYours,
            "The requester, a reader who has committed a blind read, or a manager can overturn a request.",
        );
    }
    sees_claim(request, person)?;
    says_enough(found, SENTENCE_CHARS_MIN, "Say what was found instead")?;
    request.reader = None;
    request.state = State::Overturned;
    Ok(())
}

fn stand_aside(request: &mut Request, person: &Person) -> Moved {
    still_open(request)?;
    if request.state == State::Draft || claim_visible_to(request, person) {
        return refuse(RefusalCode::WrongState, "There is nothing to stand aside from here.");
    }
    request.stood_aside.insert(person.id);
    if request.reader == Some(person.id) {
        request.reader = None;
        request.state = at_the_gate(request);
    }
    Ok(())
}
