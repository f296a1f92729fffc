//! Whether the service is well, and the line in the log for each request.
//!
//! Belongs here: the health address and the access log. Does not belong here: what a request
//! does.

use std::sync::atomic::{AtomicU64, Ordering};

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;
use actix_web::{Error, HttpResponse, get, web};
use serde::Serialize;
use tracing::Instrument as _;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::problem::{Problem, ProblemBody};

/// The service's state of health.
#[derive(Serialize, ToSchema)]
pub struct Health {
    /// "well" when the database answers.
    pub state: &'static str,
    /// The service's version.
    pub version: &'static str,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(health_show);
}

/// Whether the service and its database answer.
#[utoipa::path(
    tag = "health",
    security(()),
    responses(
        (status = 200, description = "Well", body = Health),
        (status = 503, description = "The database does not answer", body = ProblemBody),
    )
)]
#[get("/api/health")]
async fn health_show(state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    state.store.ping().await?;
    Ok(HttpResponse::Ok().json(Health { state: "well", version: env!("CARGO_PKG_VERSION") }))
}

/// Numbers requests in the log, so that lines of one request can be told from another's.
static REQUEST: AtomicU64 = AtomicU64::new(1);

/// One line per request: method, route and status. The route is the pattern, not the path,
/// and neither query nor body nor name is written: the log holds no personal data.
pub(crate) async fn access_log<B: MessageBody>(
    req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, Error> {
    let number = REQUEST.fetch_add(1, Ordering::Relaxed);
    let span = tracing::info_span!("request", number);
    async {
        let method = req.method().clone();
        let response = next.call(req).await?;
        let route = response.request().match_pattern().unwrap_or_else(|| "(page)".to_owned());
        let status = response.status().as_u16();
        tracing::debug!(%method, route, status, "answered");
        Ok(response)
    }
    .instrument(span)
    .await
}
