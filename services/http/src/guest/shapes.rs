//! How links and a guest's case are sent.
//!
//! Belongs here: wire shapes and their conversion. Does not belong here: routes, and what is
//! kept from a guest: the store leaves that out before it gets here.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::guest::{GuestCase, Invitation, Link, LinkNew};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::evidence::shapes::{Evidence, person};
use crate::request::shapes::{GuestStated, Request};
use crate::shapes::PersonRef;

/// A link to make.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewGuestLink {
    /// For the shop's own list: whom it is meant for.
    #[serde(default)]
    pub meant_for: String,
    /// How long it is good, in hours; 1 to 336.
    pub hours: i64,
    /// Where the service mails it to; the caller passes it on where absent.
    #[serde(default)]
    pub mail_to: Option<String>,
}

/// A link.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestLink {
    /// Its id.
    pub id: Uuid,
    /// Who made it.
    pub made_by: PersonRef,
    /// For the shop's own list.
    pub meant_for: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it ends by itself.
    pub expires_at: DateTime<Utc>,
    /// When it was ended.
    pub revoked_at: Option<DateTime<Utc>>,
    /// Whether it can be used now.
    pub stands: bool,
    /// Who came by it; null while nobody has.
    pub guest: Option<GuestStated>,
}

/// A link that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestLinkMade {
    /// The link.
    #[serde(flatten)]
    pub link: GuestLink,
    /// Goes into the address: `/guest#…`. Only its hash is kept, so it is null in the answer to
    /// a repeat.
    pub token: Option<String>,
}

/// A link's token.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GuestToken {
    /// What came after `#` in the address.
    pub token: String,
}

/// What a guest says of themselves, and where the code is to go.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GuestDetails {
    /// The link's token.
    pub token: String,
    /// Name, as it will stand beside a signature.
    pub name: String,
    /// Licence number.
    pub licence: String,
    /// E-mail address.
    pub email: String,
}

/// The code that came by mail.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GuestCode {
    /// The link's token.
    pub token: String,
    /// Six digits.
    pub code: String,
}

/// That a code is on its way.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestCodeSent {
    /// How long it is good, in minutes.
    pub good_for_min: i64,
    /// Wrong tries that it takes.
    pub tries: i32,
}

/// What a link is for.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestInvitation {
    /// The shop.
    pub shop_name: String,
    /// Who made the link.
    pub invited_by: String,
    /// When it ends.
    pub expires_at: DateTime<Utc>,
    /// Whether somebody came by it already; then only the same address comes again.
    pub opened: bool,
}

/// The unit, as far as a guest needs it.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestUnit {
    /// Label.
    pub label: String,
    /// Maker.
    pub maker: String,
    /// Model.
    pub model: String,
}

/// The case as its guest sees it: no customer, no site.
#[derive(Debug, Serialize, ToSchema)]
pub struct GuestCaseShape {
    /// The person that stands for the guest.
    pub person_id: Uuid,
    /// Who the guest is, as stated.
    pub me: GuestStated,
    /// The shop.
    pub shop_name: String,
    /// Who made the link.
    pub invited_by: String,
    /// When it ends.
    pub expires_at: DateTime<Utc>,
    /// The unit.
    pub unit: GuestUnit,
    /// What was complained of.
    pub complaint: String,
    /// The job, whose thread the guest may talk in once they have read.
    pub job_id: Uuid,
    /// Readings and observations; the verdict is with the request, once it is shown.
    pub evidence: Evidence,
    /// The request; the claim is null until the guest's read is in.
    pub request: Request,
}

impl From<NewGuestLink> for LinkNew {
    fn from(new: NewGuestLink) -> Self {
        LinkNew { meant_for: new.meant_for, hours: new.hours, mail_to: new.mail_to }
    }
}

impl GuestLink {
    /// A link as it is at a time.
    pub fn new(link: Link, now: DateTime<Utc>) -> Self {
        GuestLink {
            stands: link.revoked_at.is_none() && link.expires_at > now,
            id: link.id,
            made_by: person(link.made_by),
            meant_for: link.meant_for,
            created_at: link.created_at,
            expires_at: link.expires_at,
            revoked_at: link.revoked_at,
            guest: link.guest.map(GuestStated::from),
        }
    }
}

impl GuestLinkMade {
    /// A link with the token that opens it.
    pub fn new(link: Link, token: String, now: DateTime<Utc>) -> Self {
        GuestLinkMade { link: GuestLink::new(link, now), token: Some(token) }
    }

    /// What is stored of this answer: everything but the token.
    ///
    /// # Errors
    /// When it cannot be written, which is ours to mend.
    pub fn kept(&self) -> serde_json::Result<String> {
        let mut value = serde_json::to_value(self)?;
        value["token"] = serde_json::Value::Null;
        serde_json::to_string(&value)
    }
}

impl From<Invitation> for GuestInvitation {
    fn from(invitation: Invitation) -> Self {
        GuestInvitation {
            shop_name: invitation.shop_name,
            invited_by: invitation.invited_by,
            expires_at: invitation.expires_at,
            opened: invitation.opened,
        }
    }
}

impl From<GuestCase> for GuestCaseShape {
    fn from(case: GuestCase) -> Self {
        let evidence =
            store::evidence::Shown { evidence: case.evidence, verdict: None, claimless: true };
        let [label, maker, model] = case.unit;
        let mut request = Request::from(case.request);
        // The shop's own business.
        request.estimated_cost_cents = None;
        GuestCaseShape {
            person_id: case.me.person_id,
            me: case.me.into(),
            shop_name: case.shop_name,
            invited_by: case.invited_by,
            expires_at: case.expires_at,
            unit: GuestUnit { label, maker, model },
            complaint: case.complaint,
            job_id: case.job_id,
            evidence: evidence.into(),
            request,
        }
    }
}
