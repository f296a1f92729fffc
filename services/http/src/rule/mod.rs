//! The shop's rules.
//!
//! Belongs here: the routes of this noun. Does not belong here: the language, the clock, and the
//! wire shapes ([`shapes`]).

pub mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, web};
use store::rule::{self, RuleSave};
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use self::shapes::{
    CheckedShape, ConditionCheck, FiringShape, RehearsalShape, RuleChange, RuleNew, RuleShape,
    RuleStory, RuleTryShape, RulesShape, VariableShape,
};
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::{Body, Write};
use crate::problem::{Problem, ProblemBody};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(rule_list)
        .service(rule_add)
        .service(rule_show)
        .service(rule_change)
        .service(rule_check)
        .service(rule_rehearse);
}

/// The shop's rules with their latest firings, and what a condition may speak of.
#[utoipa::path(tag = "rules", responses(
    (status = 200, description = "The rules", body = RulesShape),
))]
#[get("/api/rules")]
async fn rule_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let rules = rule::list(&state.store, &caller).await?;
    let firings = rule::firings(&state.store, &caller, None).await?;
    Ok(HttpResponse::Ok().json(RulesShape {
        rules: rules.into_iter().map(RuleShape::from).collect(),
        firings: firings.into_iter().map(FiringShape::from).collect(),
        variables: VariableShape::all(),
    }))
}

/// Adds a rule.
#[utoipa::path(tag = "rules",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = RuleNew,
    responses(
        (status = 201, description = "The rule", body = RuleShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 422, description = "What is wrong with it, and where", body = ProblemBody),
    ))]
#[post("/api/rules")]
async fn rule_add(write: Write<RuleNew>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, body: RuleNew| {
        let rule = rule::rule_add(store, caller, RuleSave::from(body)).await?;
        Ok(RuleShape::from(rule))
    };
    write.once(StatusCode::CREATED, work).await
}

/// A rule with its versions and firings.
#[utoipa::path(tag = "rules", responses(
    (status = 200, description = "The rule", body = RuleStory),
    (status = 404, description = "No such rule", body = ProblemBody),
))]
#[get("/api/rules/{id}")]
async fn rule_show(
    caller: SignedIn,
    state: web::Data<AppState>,
    id: web::Path<Uuid>,
) -> Result<HttpResponse, Problem> {
    let versions = rule::versions(&state.store, &caller, *id).await?;
    let firings = rule::firings(&state.store, &caller, Some(*id)).await?;
    let now = state.store.now();
    let rule = rule::find(state.store.conn(), caller.shop_id, now, *id).await?;
    Ok(HttpResponse::Ok().json(RuleStory::new(rule, versions, firings)))
}

/// Saves a new version of a rule; none is ever changed.
#[utoipa::path(tag = "rules",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = RuleChange,
    responses(
        (status = 200, description = "The rule", body = RuleShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 409, description = "Somebody changed it meanwhile", body = ProblemBody),
        (status = 422, description = "What is wrong with it, and where", body = ProblemBody),
    ))]
#[post("/api/rules/{id}/versions")]
async fn rule_change(
    id: web::Path<Uuid>,
    write: Write<RuleChange>,
) -> Result<HttpResponse, Problem> {
    let id = *id;
    let work = async move |store: &Store, caller: &Caller, body: RuleChange| {
        let version = body.version;
        let rule = rule::rule_change(store, caller, id, version, RuleSave::from(body.rule)).await?;
        Ok(RuleShape::from(rule))
    };
    write.once(StatusCode::OK, work).await
}

/// What is wrong with a condition, keeping nothing.
#[utoipa::path(tag = "rules", request_body = ConditionCheck, responses(
    (status = 200, description = "What is wrong; nothing when it can be saved",
        body = CheckedShape),
))]
#[post("/api/rules/check")]
async fn rule_check(_: SignedIn, body: Body<ConditionCheck>) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::Ok().json(CheckedShape::from(rule::check(&body.0.condition))))
}

/// What a rule would have done last weekend, or would do on ones that are drawn; keeps nothing.
#[utoipa::path(tag = "rules", request_body = RuleTryShape, responses(
    (status = 200, description = "What it would have done", body = RehearsalShape),
    (status = 403, description = "Only for those who schedule", body = ProblemBody),
    (status = 422, description = "What is wrong with it, and where", body = ProblemBody),
))]
#[post("/api/rules/rehearse")]
async fn rule_rehearse(
    caller: SignedIn,
    state: web::Data<AppState>,
    body: Body<RuleTryShape>,
) -> Result<HttpResponse, Problem> {
    let rehearsal = rule::rehearse(&state.store, &caller, body.0.into()).await?;
    Ok(HttpResponse::Ok().json(RehearsalShape::from(rehearsal)))
}
