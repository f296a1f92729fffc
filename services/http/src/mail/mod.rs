//! Sent mail, for the demo's page.
//!
//! Belongs here: the route and wire shape of mail that was sent. Does not belong here: writing
//! and sending it.

use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::problem::{Problem, ProblemBody};

/// A mail that was sent, or kept for want of a mail server.
#[derive(Serialize, ToSchema)]
#[schema(as = Mail)]
pub struct MailShape {
    /// Id.
    id: Uuid,
    /// To which address.
    to: String,
    /// To whom, where it is a person of the shop.
    to_name: Option<String>,
    /// The template.
    template: String,
    /// Subject.
    subject: String,
    /// Text.
    text: String,
    /// Whether it left the machine.
    sent: bool,
    /// When it was sent or kept.
    sent_at: DateTime<Utc>,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(mail_list);
}

/// The shop's mail, newest first, for those who manage.
#[utoipa::path(tag = "mail", responses(
    (status = 200, description = "The mail", body = Vec<MailShape>),
    (status = 403, description = "Only for those who manage", body = ProblemBody),
))]
#[get("/api/mail")]
async fn mail_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let mails = store::mail::list(&state.store, &caller).await?;
    let shapes: Vec<_> = mails.into_iter().map(MailShape::from).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

impl From<store::mail::Mail> for MailShape {
    fn from(mail: store::mail::Mail) -> Self {
        MailShape {
            id: mail.id,
            to: mail.to_email,
            to_name: mail.to_name,
            template: mail.template,
            subject: mail.subject,
            text: mail.body_text,
            sent: mail.sent,
            sent_at: mail.sent_at,
        }
    }
}
