//! The board: every job, for everyone who may see it.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this noun.
pub fn routes(_cfg: &mut ServiceConfig<'_>) {}
