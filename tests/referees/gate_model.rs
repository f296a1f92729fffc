//! The gate explored: a slice of the model in every run, and three broken gates that it must
//! catch.
//!
//! Belongs here: how far to look, and what a broken gate looks like. Does not belong here: the
//! model (`blackbox::gate_model`). The whole: `cargo run --release -p countersign-tests --bin
//! gate-model`.

use blackbox::gate_model::{FORWARD, Gate, Machine, SAME_DIGEST};
use engine::gate::{Actor, Move, MoveKind, Refusal, Request, Signature, State, apply};
use stateright::{Checker as _, Model as _};

/// States of the slice: some seconds without optimisation.
const SLICE_STATES: usize = 60_000;

/// States after which a broken gate must have been caught.
const CAUGHT_WITHIN_STATES: usize = 400_000;

#[test]
fn no_order_of_arrival_gets_around_the_gate() {
    for late in [false, true] {
        let checker = Gate { machine: apply, late, moves: &MoveKind::ALL }
            .checker()
            .threads(2)
            .target_state_count(SLICE_STATES)
            .spawn_bfs()
            .join();

        assert!(checker.unique_state_count() >= SLICE_STATES / 2, "late: {late}");
        for (name, path) in checker.discoveries() {
            let good = !name.starts_with("approved only")
                && !name.starts_with("the second reader")
                && !name.starts_with("countersignature")
                && !name.starts_with("nobody");
            assert!(good, "{name}: {path}");
        }
    }
}

fn caught(machine: Machine) {
    let checker = Gate { machine, late: true, moves: &FORWARD }
        .checker()
        .threads(2)
        .target_state_count(CAUGHT_WITHIN_STATES)
        .spawn_bfs()
        .join();
    let found = checker.discovery(SAME_DIGEST);
    assert!(found.is_some(), "not caught in {} states", checker.unique_state_count());
}

/// Whatever digest a move carries is taken for the present one.
fn unchecked(request: &Request, next: &Move) -> Move {
    let now = request.digest.clone().unwrap_or_default();
    match next {
        Move::Approve { amount_cents, .. } => {
            Move::Approve { digest: now, amount_cents: *amount_cents }
        }
        Move::Countersign { .. } => Move::Countersign { digest: now },
        other => other.clone(),
    }
}

#[test]
fn an_approval_that_does_not_look_at_the_digest_again_is_caught() {
    fn broken(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
        match next {
            Move::Approve { .. } => apply(request, actor, &unchecked(request, next)),
            _ => apply(request, actor, next),
        }
    }
    caught(broken);
}

#[test]
fn a_signature_that_does_not_look_at_the_digest_is_caught() {
    fn broken(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
        match next {
            Move::Countersign { .. } => apply(request, actor, &unchecked(request, next)),
            _ => apply(request, actor, next),
        }
    }
    caught(broken);
}

#[test]
fn a_signature_that_outlives_its_evidence_is_caught() {
    fn broken(request: &Request, actor: &Actor, next: &Move) -> Result<Request, Refusal> {
        let mut after = apply(request, actor, next)?;
        if let (Move::Judge { digest, .. }, State::AwaitingApproval) = (next, request.state) {
            after.state = State::AwaitingApproval;
            if let Some(Signature { signer, .. }) = request.signature() {
                after.signatures.push(Signature { signer: *signer, digest: digest.clone() });
            }
        }
        Ok(after)
    }
    caught(broken);
}
