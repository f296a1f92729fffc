//! What a guest is shown: the circuit, the readings, the request; never whose house it is.
//!
//! Belongs here: leaving out and masking. Does not belong here: what a blind reader is shown
//! of a request, which [`crate::request`] decides for everybody alike.

use chrono::{DateTime, Utc};
use sea_orm::FromQueryResult;
use uuid::Uuid;

use super::Stated;
use super::mask::Mask;
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::evidence::{self, Evidence};
use crate::person::Caller;
use crate::request::{self, Shown};

/// The case as its guest sees it.
#[derive(Clone, Debug)]
pub struct GuestCase {
    /// Who the guest is, as stated.
    pub me: Stated,
    /// The shop's name.
    pub shop_name: String,
    /// Who made the link.
    pub invited_by: String,
    /// When the link ends.
    pub expires_at: DateTime<Utc>,
    /// The unit's label, maker and model.
    pub unit: [String; 3],
    /// What was complained of.
    pub complaint: String,
    /// Readings and observations.
    pub evidence: Evidence,
    /// The request, blind until the guest has read it.
    pub request: Shown,
    /// The job, whose thread they may talk in once they have read.
    pub job_id: Uuid,
}

/// The case of a guest.
///
/// # Errors
/// `NotSignedIn` for whoever is no guest, or the database fails.
pub async fn case_of(store: &Store, caller: &Caller) -> Result<GuestCase, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        name: String,
        licence: Option<String>,
        email: String,
        shop_name: String,
        invited_by: String,
        expires_at: DateTime<Utc>,
        label: String,
        maker: String,
        model: String,
        complaint: String,
    }
    let Some(scope) = caller.guest else {
        return Err(StoreError::NotSignedIn { says: "This page is for guests.".to_owned() });
    };
    let conn = store.conn();
    let row = Row::find_by_statement(sql(
        "SELECT person.name, person.licence, person.email, shop.name AS shop_name, \
             inviter.name AS invited_by, guest_link.expires_at, unit.label, unit.maker, \
             unit.model, job.complaint \
         FROM person JOIN guest_link ON guest_link.id = person.guest_link \
         JOIN shop ON shop.id = person.shop_id \
         JOIN person AS inviter ON inviter.id = guest_link.made_by \
         JOIN job ON job.id = guest_link.job_id JOIN unit ON unit.id = job.unit_id \
         WHERE person.id = $1",
        [caller.person_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or(StoreError::NotFound { what: "guest" })?;
    let mask = Mask::of_job(conn, scope.job_id).await?;
    let evidence = evidence::of_job(conn, caller.shop_id, scope.job_id).await?;
    let request = request::shown_to(store, caller, scope.request_id).await?;
    Ok(GuestCase {
        me: Stated {
            person_id: caller.person_id,
            name: row.name,
            licence: row.licence.unwrap_or_default(),
            email: row.email,
        },
        shop_name: row.shop_name,
        invited_by: row.invited_by,
        expires_at: row.expires_at,
        unit: [mask.text(&row.label), mask.text(&row.maker), mask.text(&row.model)],
        complaint: mask.text(&row.complaint),
        evidence: evidence_masked(evidence, &mask),
        request: request_masked(request, caller, &mask),
        job_id: scope.job_id,
    })
}

fn evidence_masked(mut evidence: Evidence, mask: &Mask) -> Evidence {
    for struck in evidence.readings.iter_mut().filter_map(|kept| kept.struck.as_mut()) {
        struck.reason = mask.text(&struck.reason);
    }
    evidence
}

/// Without what is the shop's own business: who was asked, what it costs, the record.
fn request_masked(mut request: Shown, caller: &Caller, mask: &Mask) -> Shown {
    request.unit_label = mask.text(&request.unit_label);
    request.events.clear();
    request.asked.clear();
    request.ladder = None;
    for owed in &mut request.owed {
        owed.who.clear();
    }
    let me = caller.person_id;
    request.told = request.told.take().and_then(|mut told| {
        // A request that has ended is open to the shop; to a guest it is what they have read.
        if !told.reads.iter().any(|read| read.reader.id == me) {
            return None;
        }
        told.note = mask.text(&told.note);
        told.estimated_cost_cents = 0;
        for read in &mut told.reads {
            read.judgement.note = mask.text(&read.judgement.note);
        }
        if let Some(signature) = &mut told.signature {
            signature.note = mask.text(&signature.note);
        }
        if let Some(overridden) = &mut told.overridden {
            overridden.reason = mask.text(&overridden.reason);
        }
        told.approval = None;
        Some(told)
    });
    request
}
