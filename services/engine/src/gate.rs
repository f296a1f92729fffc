//! The condemn gate: the states of a condemn request and who may move it, as a pure machine.
//!
//! Belongs here: every rule about who may do what and when ([`apply`]), what is still owed
//! ([`owed`]), whose eyes the claim is kept from ([`claim_visible_to`]). Does not belong here:
//! where a request is stored, who its people are by name, clocks, mail.
//!
//! The database repeats the rules that must hold whatever the service does; this machine is
//! what the service asks first, so that a refusal comes with a sentence that helps.

mod request;
mod rules;
mod shown;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod walks;

pub use request::{
    Actor, Approval, ApprovalRules, Ask, Move, MoveKind, Override, Person, PersonId, Read, Refusal,
    RefusalCode, Request, Signature, State,
};
pub use rules::{OVERRIDE_REASON_CHARS_MIN, SENTENCE_CHARS_MIN, apply, could_approve};
pub use shown::{Owed, Step, claim_visible_to, may, owed, stage_words};
