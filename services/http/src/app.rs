//! The application, put together in one place for production and tests alike.
//!
//! Belongs here: the state, the order of routes, what wraps them all. Does not belong here:
//! any single route.

use std::net::IpAddr;
use std::num::NonZeroU32;
use std::sync::Arc;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceFactory, ServiceRequest, ServiceResponse};
use actix_web::http::header;
use actix_web::middleware::{Compress, DefaultHeaders, from_fn};
use actix_web::{App, Error, HttpRequest, web};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use store::Store;
use store::capacity::Cache;
use utoipa_actix_web::AppExt as _;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::auth::TokenKeys;
use crate::config::{Config, SIGNIN_PER_MIN_MAX};
use crate::openapi::Document;
use crate::problem::Problem;
use crate::web_client;

/// What the page may load: its own files and nothing else; nobody may frame it.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
     img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; manifest-src 'self'; \
     worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// What every route can reach.
pub struct AppState {
    /// Everything that is kept.
    pub store: Store,
    /// What was told at start.
    pub config: Config,
    /// Signs and reads access tokens.
    pub keys: TokenKeys,
    /// Sign-in tries per address.
    pub signin_limiter: DefaultKeyedRateLimiter<IpAddr>,
    /// Outlooks reckoned lately.
    pub capacity: Cache,
    /// The API's own description, which also knows which methods an address answers.
    pub document: Arc<Document>,
}

impl AppState {
    /// The state from a store and what was told at start.
    pub fn new(store: Store, config: Config) -> Self {
        let per_min = NonZeroU32::new(config.signin_per_min_max)
            .or(NonZeroU32::new(SIGNIN_PER_MIN_MAX))
            .unwrap_or(NonZeroU32::MIN);
        AppState {
            keys: TokenKeys::new(&config.token_secret),
            signin_limiter: RateLimiter::keyed(Quota::per_minute(per_min)),
            capacity: Cache::default(),
            document: Arc::new(Document::build()),
            store,
            config,
        }
    }
}

/// Every route of the API. The OpenAPI document is collected from the same list.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    crate::session::routes(cfg);
    crate::person::routes(cfg);
    crate::shop::routes(cfg);
    crate::customer::routes(cfg);
    crate::site::routes(cfg);
    crate::unit::routes(cfg);
    crate::board::routes(cfg);
    crate::calendar::routes(cfg);
    crate::rota::routes(cfg);
    crate::job::routes(cfg);
    crate::plan::routes(cfg);
    crate::intake::routes(cfg);
    crate::ladder::routes(cfg);
    crate::holdover::routes(cfg);
    crate::circuit::routes(cfg);
    crate::evidence::routes(cfg);
    crate::found::routes(cfg);
    crate::request::routes(cfg);
    crate::guest::routes(cfg);
    crate::check::routes(cfg);
    crate::capacity::routes(cfg);
    crate::rule::routes(cfg);
    crate::thread::routes(cfg);
    crate::photo::routes(cfg);
    crate::live::routes(cfg);
    crate::mail::routes(cfg);
    crate::meter::routes(cfg);
    crate::demo::routes(cfg);
    crate::health::routes(cfg);
}

/// The application. `extra` adds what does not belong to the API, such as the websocket, and
/// sees the same state.
pub fn app<F>(
    state: web::Data<AppState>,
    extra: F,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody>,
        Error = Error,
        InitError = (),
    >,
>
where
    F: FnOnce(&mut web::ServiceConfig),
{
    let (app, _) = App::new()
        .app_data(state)
        .app_data(web::PathConfig::default().error_handler(|error, _| {
            Problem::bad_parameter(format!("A part of the address is not right: {error}.")).into()
        }))
        .app_data(web::QueryConfig::default().error_handler(|error, _| {
            Problem::bad_parameter(format!("The query is not right: {error}.")).into()
        }))
        .into_utoipa_app()
        .configure(routes)
        .split_for_parts();
    app.configure(extra)
        .configure(crate::openapi::routes)
        .configure(web_client::routes)
        .default_service(web::to(elsewhere))
        .wrap(from_fn(crate::health::access_log))
        .wrap(
            DefaultHeaders::new()
                // Files of the web client say otherwise for themselves.
                .add((header::CACHE_CONTROL, "no-store"))
                .add((header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY))
                .add((header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
                .add((header::REFERRER_POLICY, "no-referrer"))
                .add(("Cross-Origin-Opener-Policy", "same-origin"))
                .add(("Cross-Origin-Resource-Policy", "same-origin"))
                .add(("Permissions-Policy", "camera=(), microphone=(), geolocation=()")),
        )
        .wrap(Compress::default())
}

/// Whatever no route took: a method that an address does not answer, an unknown address of
/// the API, or a page of the web client.
async fn elsewhere(
    req: HttpRequest,
    state: web::Data<AppState>,
) -> Result<actix_web::HttpResponse, Problem> {
    if let Some(allow) = state.document.methods_of(req.path()) {
        return Err(Problem::method(allow));
    }
    if req.path() == "/api" || req.path().starts_with("/api/") {
        return Err(Problem::not_found(
            "There is no such address; /api/openapi.json lists those there are.",
        ));
    }
    web_client::file(&req, &state.config).await
}
