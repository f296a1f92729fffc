//! Who may be signed in as in a demo, so that the page can offer it.
//!
//! Belongs here: that list. Does not belong here: the demo's people and its data, which are the
//! binary's; anywhere but in a demo the list is empty.

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;

/// One of the demo's people.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DemoSignIn {
    /// Address to sign in with.
    pub email: String,
    /// The demo's password; everyone may know it.
    pub password: String,
    /// Name.
    pub name: String,
    /// What they are there for.
    pub says: String,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(demo_sign_ins);
}

/// The demo's sign-ins; none anywhere else.
#[utoipa::path(
    tag = "demo",
    security(()),
    responses((status = 200, description = "The sign-ins", body = [DemoSignIn]))
)]
#[get("/api/demo/sign-ins")]
async fn demo_sign_ins(state: web::Data<AppState>) -> HttpResponse {
    HttpResponse::Ok().json(&state.config.demo_sign_ins)
}
