//! The moves of a condemn request.
//!
//! Belongs here: each move as one transaction: locks, the evidence judged as it is now, the
//! gate's decision, the rows, the record, the mail. Does not belong here: whether a move is
//! allowed, which [`engine::gate`] decides and the database checks again.

use engine::gate::{self, Actor, Move, State};
use sea_orm::DatabaseTransaction;
use serde_json::{Value, json};
use uuid::Uuid;

use super::after::After;
use super::keep::{agrees, keep, update};
use super::load::lock_request;
use super::make::must_see_open_ones;
use super::view::{self, Shown};
use super::{NOTE_CHARS_MAX, Request, ask, climb, digest_changed, find, readers, refused, rejudge};
use crate::approval::{self, NewApproval};
use crate::db::Store;
use crate::delegate;
use crate::error::StoreError;
use crate::person::Caller;
use crate::read::Judgement;
use crate::text::Faults;
use crate::thread;
use crate::{evidence, guest};

/// One move with what it carries.
#[derive(Clone, Debug)]
pub enum Step {
    /// See [`Move::Submit`].
    Submit,
    /// See [`Move::Take`].
    Take,
    /// See [`Move::CommitRead`].
    CommitRead(Judgement),
    /// See [`Move::Countersign`].
    Countersign {
        /// The evidence, as the signer saw it.
        digest: String,
        /// In the signer's words; may be empty.
        note: String,
    },
    /// See [`Move::SendBack`].
    SendBack {
        /// What to measure, and why.
        note: String,
        /// The title of the proposed test, where it is one of the engine's.
        test: Option<String>,
    },
    /// See [`Move::HandOn`].
    HandOn {
        /// Why; may be empty.
        note: String,
        /// Who is asked first; whoever is best placed where absent.
        to: Option<Uuid>,
    },
    /// See [`Move::OverrideIsolation`].
    Override {
        /// Why.
        reason: String,
    },
    /// See [`Move::Approve`].
    Approve {
        /// The evidence, as the approver saw it.
        digest: String,
        /// The amount answered for.
        amount_cents: i64,
        /// In the approver's words; may be empty.
        reason: String,
    },
    /// See [`Move::Decline`].
    Decline {
        /// The evidence, as the approver saw it.
        digest: String,
        /// Why.
        reason: String,
    },
    /// See [`Move::Withdraw`].
    Withdraw {
        /// Why; may be empty.
        reason: String,
    },
    /// See [`Move::Overturn`].
    Overturn {
        /// Why the mind changed; may be empty.
        reason: String,
        /// What was found instead.
        found: String,
    },
    /// See [`Move::StandAside`].
    StandAside,
}

/// Makes a move.
///
/// # Errors
/// `Conflict` "digest-changed" when the evidence moved on, other `Conflict` and `Forbidden` as
/// the gate refuses, `InvalidMany` with pointers into the body, `NotFound`.
pub async fn request_move(
    store: &Store,
    caller: &Caller,
    request_id: Uuid,
    step: Step,
) -> Result<Shown, StoreError> {
    lengths(&step)?;
    let txn = store.begin().await?;
    let job_id = lock_request(&txn, caller.shop_id, request_id).await?;
    let mut request = find(&txn, store.now(), caller.shop_id, request_id).await?;
    if request.state == State::Draft && request.requester.id != caller.person_id {
        return Err(StoreError::NotFound { what: "request" });
    }
    let mut after = After::default();
    if rests_on_evidence(&step) && !request.state.ended() {
        // The revision counts readings; nameplate values and thresholds can change without it.
        let evidence = evidence::of_job(&txn, caller.shop_id, job_id).await?;
        let verdict = rejudge::judge_request(&request, &evidence).await?;
        if verdict.evidence_digest != request.digest || evidence.revision != request.judged_revision
        {
            let moved_on = verdict.evidence_digest != request.digest;
            rejudge::judged(store, &txn, &request, &evidence, verdict, &mut after).await?;
            if moved_on && request.state != State::Draft {
                finish(store, txn, after).await?;
                return Err(digest_changed());
            }
            request = find(&txn, store.now(), caller.shop_id, request_id).await?;
        }
    }
    move_locked(store, &txn, caller, &request, &step, &mut after).await?;
    finish_showing(store, txn, after, caller, request_id).await
}

/// Commits with what follows, and shows the request as it is then: read before the locks are let
/// go, so that it is what this move came to and not the next one.
pub(super) async fn finish_showing(
    store: &Store,
    txn: DatabaseTransaction,
    mut after: After,
    caller: &Caller,
    request_id: Uuid,
) -> Result<Shown, StoreError> {
    let now = store.now();
    after.record(&txn, now).await?;
    after.announce(&txn, now).await?;
    let shown = view::shown_in(store, &txn, caller, request_id).await?;
    txn.commit().await?;
    Ok(shown)
}

async fn finish(
    store: &Store,
    txn: DatabaseTransaction,
    mut after: After,
) -> Result<(), StoreError> {
    let now = store.now();
    after.record(&txn, now).await?;
    after.announce(&txn, now).await?;
    txn.commit().await?;
    Ok(())
}

/// Makes a move on a request whose job and row are locked.
pub(super) async fn move_locked(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    request: &Request,
    step: &Step,
    after: &mut After,
) -> Result<(), StoreError> {
    if matches!(step, Step::Submit) {
        must_see_open_ones(store, txn, caller, request.job_id).await?;
    }
    if let Step::Approve { amount_cents, .. } = step
        && !caller.manages()
        && request.delegates.contains(&caller.person_id)
        && !delegate::may_approve(txn, store.now(), caller.person_id, *amount_cents).await?
    {
        return Err(StoreError::forbidden(
            "This amount is not below what was delegated to you; a manager answers for it.",
        ));
    }
    let actor = Actor::Person(request.person(caller));
    let next = gate_move(request, step);
    let changed = gate::apply(&request.gate, &actor, &next)
        .map_err(|refusal| pointed(refused(refusal), step))?;
    keep(store, txn, caller, request, step).await?;
    update(store, txn, request, &changed).await?;
    note(store, txn, caller, request, step, after).await?;
    asked_answered(store, txn, caller, request, &changed, step, after).await?;

    if changed.state == State::Countersigned {
        settle(store, txn, request, &changed, after).await?;
    } else if changed.state == State::Ready && request.state != State::Ready {
        let present = find(txn, store.now(), request.shop_id, request.id).await?;
        let first = readers::first_of(store, txn, caller, &present, step).await?;
        climb::start(store, txn, &present, first, after).await?;
    } else if matches!(changed.state, State::Approved | State::Declined | State::Overturned)
        && request.requester.id != caller.person_id
    {
        ask::tell_requester(store, txn, request, changed.state).await?;
    }
    Ok(())
}

/// What a move means for those who were asked to read.
async fn asked_answered(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    request: &Request,
    changed: &gate::Request,
    step: &Step,
    after: &mut After,
) -> Result<(), StoreError> {
    let (now, me) = (store.now(), caller.person_id);
    match step {
        Step::Take => {
            ask::answer(txn, now, request.id, me, "accepted", "").await?;
        }
        Step::StandAside => {
            let asked = ask::answer(txn, now, request.id, me, "declined", "Stood aside.").await?;
            if asked && changed.state == State::Ready {
                readers::go_on_without(store, txn, request, after).await?;
            }
        }
        Step::HandOn { .. } if request.state == State::Reading => {
            // Whoever gives it back unread is not the next to be asked.
            if let Some(reader) = &request.reader {
                ask::gave_back(store, txn, request, reader.id).await?;
            }
        }
        Step::CommitRead(judgement) if !agrees(request, judgement) => {
            let present = find(txn, now, request.shop_id, request.id).await?;
            let told = ask::tell_of_difference(store, txn, &present).await?;
            after.request(request, None, "difference_told", json!({ "told": told }));
        }
        _ => {}
    }
    if request.state != changed.state {
        climb::stop(store, txn, request, changed.state.id()).await?;
    }
    Ok(())
}

/// What the shop's policy does with a countersignature.
async fn settle(
    store: &Store,
    txn: &DatabaseTransaction,
    request: &Request,
    countersigned: &gate::Request,
    after: &mut After,
) -> Result<(), StoreError> {
    let settled = gate::apply(countersigned, &Actor::Shop, &Move::Settle).map_err(refused)?;
    if let Some(approval) = &settled.approval {
        let new = NewApproval {
            id: store.new_id(),
            shop_id: request.shop_id,
            request_id: request.id,
            approver: None,
            digest: &approval.digest,
            approved: true,
            amount_cents: approval.amount_cents,
            reason: "",
            at: store.now(),
        };
        approval::insert(txn, new).await?;
    }
    update(store, txn, request, &settled).await?;
    if settled.state == State::Approved {
        let body = json!({ "digest": request.digest, "by_policy": true });
        after.request(request, None, "request_approved", body);
        event(store, txn, request, "The condemn request is approved by shop policy.").await?;
        return ask::tell_requester(store, txn, request, settled.state).await;
    }
    let asks: Vec<&str> = settled.asks().into_iter().map(gate::Ask::says).collect();
    let present = find(txn, store.now(), request.shop_id, request.id).await?;
    let asked = climb::start_approval(store, txn, &present, after).await?;
    after.request(request, None, "approval_asked", json!({ "because": asks, "asked": asked }));
    Ok(())
}

/// Whether a move is made on evidence, which then must be as it was judged.
fn rests_on_evidence(step: &Step) -> bool {
    matches!(
        step,
        Step::Submit
            | Step::Take
            | Step::CommitRead(_)
            | Step::Countersign { .. }
            | Step::Override { .. }
            | Step::Approve { .. }
            | Step::Decline { .. }
    )
}

fn gate_move(request: &Request, step: &Step) -> Move {
    match step.clone() {
        Step::Submit => Move::Submit,
        Step::Take => Move::Take,
        Step::CommitRead(judgement) => Move::CommitRead { agrees: agrees(request, &judgement) },
        Step::Countersign { digest, .. } => Move::Countersign { digest },
        Step::SendBack { note, .. } => Move::SendBack { note },
        Step::HandOn { .. } => Move::HandOn,
        Step::Override { reason } => Move::OverrideIsolation { reason },
        Step::Approve { digest, amount_cents, .. } => Move::Approve { digest, amount_cents },
        Step::Decline { digest, reason } => Move::Decline { digest, reason },
        Step::Withdraw { .. } => Move::Withdraw,
        Step::Overturn { found, .. } => Move::Overturn { found },
        Step::StandAside => Move::StandAside,
    }
}

/// The move on the record, and in the thread where it bears on the talk there.
async fn note(
    store: &Store,
    txn: &DatabaseTransaction,
    caller: &Caller,
    request: &Request,
    step: &Step,
    after: &mut After,
) -> Result<(), StoreError> {
    let digest = &request.digest;
    let (kind, words, body): (_, Option<&str>, Value) = match step {
        Step::Submit => {
            ("request_submitted", Some("A condemn request was made."), json!({ "digest": digest }))
        }
        Step::Take => (
            "request_taken",
            Some("A second technician is reading the evidence blind."),
            json!({ "digest": digest }),
        ),
        Step::CommitRead(judgement) => (
            "blind_read_committed",
            Some("The blind read is in. The two can talk now."),
            json!({
                "digest": digest,
                "component": judgement.component,
                "part": judgement.part,
                "mode": judgement.mode,
                "sure": judgement.sure,
                "note": judgement.note,
                "agrees": agrees(request, judgement),
            }),
        ),
        Step::Countersign { note, .. } => (
            "request_countersigned",
            Some("The condemn request was countersigned."),
            match caller.guest {
                // Nobody can ask a guest later: the record says whom they said they are.
                Some(_) => json!({ "digest": digest, "note": note.trim(),
                    "guest": guest::stated(txn, caller.person_id).await? }),
                None => json!({ "digest": digest, "note": note.trim() }),
            },
        ),
        Step::SendBack { note, test } => (
            "request_sent_back",
            Some("The second reader asks for more evidence first."),
            json!({ "digest": digest, "note": note.trim(), "test": test }),
        ),
        Step::HandOn { note, to } => (
            "request_handed_on",
            Some("The condemn request went to another reader."),
            json!({ "digest": digest, "note": note.trim(), "to": to }),
        ),
        Step::Override { reason } => {
            ("isolation_overridden", None, json!({ "digest": digest, "reason": reason.trim() }))
        }
        Step::Approve { amount_cents, reason, .. } => (
            "request_approved",
            Some("The condemn request is approved."),
            json!({ "digest": digest, "amount_cents": amount_cents, "reason": reason.trim() }),
        ),
        Step::Decline { reason, .. } => (
            "request_declined",
            Some("The condemn request is declined."),
            json!({ "digest": digest, "reason": reason.trim() }),
        ),
        Step::Withdraw { reason } => (
            "request_withdrawn",
            (request.state != State::Draft).then_some("The condemn request was withdrawn."),
            json!({ "digest": digest, "reason": reason.trim() }),
        ),
        Step::Overturn { reason, found } => (
            "request_overturned",
            Some("The condemn request was overturned by evidence."),
            json!({ "digest": digest, "reason": reason.trim(), "found": found.trim() }),
        ),
        Step::StandAside => ("stood_aside", None, json!({ "digest": digest })),
    };
    if let Some(words) = words {
        event(store, txn, request, words).await?;
    }
    after.request(request, Some(caller.person_id), kind, body);
    Ok(())
}

async fn event(
    store: &Store,
    txn: &DatabaseTransaction,
    request: &Request,
    words: &str,
) -> Result<(), StoreError> {
    thread::event_append(txn, store.ambient(), request.shop_id, request.job_id, words).await?;
    Ok(())
}

fn lengths(step: &Step) -> Result<(), StoreError> {
    let mut faults = Faults::default();
    let mut at_most = |pointer: &str, text: &str| {
        faults.text_or_empty(pointer, text, NOTE_CHARS_MAX);
    };
    match step {
        Step::CommitRead(judgement) => at_most("/note", &judgement.note),
        Step::Countersign { note, .. } | Step::HandOn { note, .. } => at_most("/note", note),
        Step::SendBack { note, test } => {
            at_most("/note", note);
            at_most("/test", test.as_deref().unwrap_or_default());
        }
        Step::Override { reason }
        | Step::Approve { reason, .. }
        | Step::Decline { reason, .. }
        | Step::Withdraw { reason } => at_most("/reason", reason),
        Step::Overturn { reason, found } => {
            at_most("/reason", reason);
            at_most("/found", found);
        }
        Step::Submit | Step::Take | Step::StandAside => {}
    }
    faults.done()
}

/// Points a refusal that is about a sentence at the sentence.
fn pointed(error: StoreError, step: &Step) -> StoreError {
    match error {
        StoreError::Invalid { pointer, says } if pointer.is_empty() => {
            let pointer = match step {
                Step::SendBack { .. } => "/note",
                Step::Overturn { .. } => "/found",
                _ => "/reason",
            };
            StoreError::invalid(pointer, says)
        }
        other => other,
    }
}
