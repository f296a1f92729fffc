//! Tickets for the live stream, and its place on the one port.
//!
//! Belongs here: giving a ticket, and in [`upgrade`] turning a request with one into a byte
//! stream. Does not belong here: what is said on that stream, which is live's.

mod upgrade;

use actix_web::{HttpResponse, post, web};
use serde::Serialize;
use store::live_ticket;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::problem::{Problem, ProblemBody};

pub use upgrade::{LiveMount, mount};

/// A ticket.
#[derive(Debug, Serialize, ToSchema)]
pub struct TicketShape {
    /// Goes into the address: `/live?ticket=…`. Good once.
    pub ticket: String,
    /// How long it is good.
    pub expires_in_s: i64,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(ticket_give);
}

/// A ticket that opens one websocket at `/live`. Needs no key: an unused one only runs out.
#[utoipa::path(
    tag = "live",
    responses(
        (status = 200, description = "The ticket", body = TicketShape),
        (status = 401, description = "Not signed in", body = ProblemBody),
    )
)]
#[post("/api/live/ticket")]
async fn ticket_give(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let ticket = live_ticket::give(&state.store, &caller).await?;
    let shape = TicketShape { ticket, expires_in_s: live_ticket::TICKET_S };
    Ok(HttpResponse::Ok().insert_header(("Cache-Control", "no-store")).json(shape))
}
