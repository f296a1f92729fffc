//! Whether somebody fits a job: what speaks against it, said before it is done.
//!
//! Belongs here: a missing qualification, leave, no duty, a time before or after what was agreed.
//! Does not belong here: what cannot be at all, such as two places at once ([`super::assign`]).
//!
//! None of it forbids: whoever gives out the work may know better, and then says why.

use chrono::{DateTime, Utc};
use roster::duty::Kind;
use sea_orm::ConnectionTrait;

use super::assign::local_words;
use super::{Job, Window};
use crate::error::StoreError;
use crate::person::{Person, Qualification};
use crate::rota;

/// One thing that speaks against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Against {
    /// "qualification", "leave", "off_duty", "too_early" or "late".
    pub kind: &'static str,
    /// In a sentence.
    pub says: String,
}

/// What speaks against somebody doing a job in a slot; mostly nothing.
///
/// # Errors
/// When the database fails.
pub async fn against<C: ConnectionTrait>(
    conn: &C,
    job: &Job,
    person: &Person,
    planned: Option<Window>,
) -> Result<Vec<Against>, StoreError> {
    let mut against = Vec::new();
    let lacking: Vec<&str> = job
        .required
        .iter()
        .filter(|required| !person.qualifications.contains(required))
        .map(|required| words(*required))
        .collect();
    if !lacking.is_empty() {
        against.push(Against {
            kind: "qualification",
            says: format!("{} is not qualified for {}.", person.name, lacking.join(" and ")),
        });
    }
    let Some(slot) = planned else { return Ok(against) };
    let duty = rota::duty_at(conn, person.shop_id, slot.start).await?;
    match duty.of(person.id) {
        Some(is) if is.kind == Kind::Leave => against
            .push(Against { kind: "leave", says: format!("{} is on leave then.", person.name) }),
        Some(is) if is.can_be_called => {}
        // The second rota may still be opened; until then they are at home.
        Some(_) => against.push(Against {
            kind: "off_duty",
            says: format!("{} is on the second rota then, which is not open.", person.name),
        }),
        None if duty.known => against.push(Against {
            kind: "off_duty",
            says: format!("{} is not on duty then.", person.name),
        }),
        None => {}
    }
    let local = |at: DateTime<Utc>| local_words(conn, person.shop_id, at);
    if let Some(not_before) = job.not_before.filter(|not_before| slot.start < *not_before) {
        against.push(Against {
            kind: "too_early",
            says: format!("Nobody is wanted there before {}.", local(not_before).await?),
        });
    }
    if let Some(promised) = job.window.filter(|promised| promised.end <= slot.start) {
        against.push(Against {
            kind: "late",
            says: format!("Somebody was promised by {}.", local(promised.end).await?),
        });
    }
    Ok(against)
}

/// Goes on where nothing speaks against it, or a reason is given.
pub(super) fn must_have_reason(
    against: &[Against],
    because: Option<&str>,
) -> Result<(), StoreError> {
    if against.is_empty() || because.is_some() {
        return Ok(());
    }
    let says: Vec<&str> = against.iter().map(|one| one.says.as_str()).collect();
    Err(StoreError::conflict(
        "needs-reason",
        format!(
            "{} If it is right nevertheless, say why in `because`; the reason goes on the record.",
            says.join(" ")
        ),
    ))
}

/// A qualification, as the thing that somebody can do.
pub(super) fn words(qualification: Qualification) -> &'static str {
    match qualification {
        Qualification::SealedSystem => "the sealed system",
        Qualification::ThreePhase => "three phase",
        Qualification::Combustion => "combustion",
        Qualification::Electrical => "electrical work",
    }
}
