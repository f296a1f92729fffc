//! The caller's shop.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use store::shop::{ApprovalRules, Shop, ShopChange};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::evidence::shapes::person;
use crate::idempotency::Write;
use crate::openapi::PolicyShape;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::{PersonRef, absent_or};

/// A shop.
#[derive(Serialize, ToSchema)]
#[schema(as = Shop)]
pub struct ShopShape {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// IANA zone.
    pub zone: String,
    /// ISO 4217 code.
    pub currency: String,
    /// The telephone that customers are told to call.
    pub phone: Option<String>,
    /// Up to this amount a policy may answer for the money, in cents.
    pub approval_limit_cents: i64,
    /// The thresholds of its verdicts.
    pub policy: PolicyShape,
    /// When a person must approve, whatever the amount.
    pub approval_rules: ApprovalRulesShape,
}

/// When a person must approve, whatever the amount.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ApprovalRules)]
pub struct ApprovalRulesShape {
    /// The unit is under warranty.
    pub warranty: bool,
    /// The unit is at least this old, in years; null for no such rule.
    #[serde(default)]
    pub age_years: Option<u32>,
    /// A blind read differed from the claim.
    pub disagreement: bool,
    /// Isolation was overridden.
    pub r#override: bool,
}

/// What to change of a shop; what is absent stays.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ShopPatch)]
pub struct ShopPatch {
    /// Name.
    #[serde(default)]
    name: Option<String>,
    /// IANA zone.
    #[serde(default)]
    zone: Option<String>,
    /// The telephone that customers are told to call; null for none.
    #[serde(default, deserialize_with = "absent_or")]
    phone: Option<Option<String>>,
    /// Up to this amount a policy may answer for the money, in cents.
    #[serde(default)]
    approval_limit_cents: Option<i64>,
    /// The thresholds of its verdicts, all of them.
    #[serde(default)]
    policy: Option<PolicyShape>,
    /// When a person must approve.
    #[serde(default)]
    approval_rules: Option<ApprovalRulesShape>,
    /// Why; needed where something is loosened, and kept with the change on the record.
    #[serde(default)]
    reason: Option<String>,
}

/// A change of what the shop judges by.
#[derive(Serialize, ToSchema)]
pub struct ThresholdChange {
    /// When.
    pub at: DateTime<Utc>,
    /// Who.
    pub by: Option<PersonRef>,
    /// Why, where they said.
    pub reason: Option<String>,
    /// What was made looser, in words; empty where nothing was.
    pub loosened: Vec<String>,
    /// As it was: policy, approval rules, approval limit.
    pub before: serde_json::Value,
    /// As it is from then on.
    pub after: serde_json::Value,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(shop_show).service(shop_change).service(threshold_changes);
}

/// The caller's shop.
#[utoipa::path(tag = "shop", responses(
    (status = 200, description = "The shop", body = ShopShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/shop")]
async fn shop_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let shop = store::shop::shop_find(state.store.conn(), caller.shop_id).await?;
    Ok(HttpResponse::Ok().json(ShopShape::from(shop)))
}

/// The changes of what the shop judges by, newest first; at most 200.
#[utoipa::path(tag = "shop", responses(
    (status = 200, description = "Newest first", body = Vec<ThresholdChange>),
))]
#[get("/api/shop/threshold-changes")]
async fn threshold_changes(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let changes = store::shop::thresholds::changes(state.store.conn(), caller.shop_id).await?;
    let changes: Vec<_> = changes
        .into_iter()
        .map(|change| ThresholdChange {
            at: change.at,
            by: change.by.map(person),
            reason: change.reason,
            loosened: change.loosened,
            before: change.before,
            after: change.after,
        })
        .collect();
    Ok(HttpResponse::Ok().json(changes))
}

/// Changes the caller's shop. Thresholds and rules that change are on the record.
#[utoipa::path(tag = "shop",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = ShopPatch,
    responses(
        (status = 200, description = "As it is now", body = ShopShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/shop")]
async fn shop_change(write: Write<ShopPatch>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, patch: ShopPatch| {
        let shop = store::shop::shop_change(store, caller, patch.into()).await?;
        Ok(ShopShape::from(shop))
    };
    write.once(StatusCode::OK, work).await
}

impl From<Shop> for ShopShape {
    fn from(shop: Shop) -> Self {
        ShopShape {
            id: shop.id,
            name: shop.name,
            zone: shop.zone,
            currency: shop.currency,
            phone: shop.phone,
            approval_limit_cents: shop.approval_limit_cents,
            policy: shop.policy.into(),
            approval_rules: ApprovalRulesShape {
                warranty: shop.approval_rules.warranty,
                age_years: shop.approval_rules.age_years,
                disagreement: shop.approval_rules.disagreement,
                r#override: shop.approval_rules.r#override,
            },
        }
    }
}

impl From<ShopPatch> for ShopChange {
    fn from(patch: ShopPatch) -> Self {
        ShopChange {
            name: patch.name,
            zone: patch.zone,
            phone: patch.phone,
            approval_limit_cents: patch.approval_limit_cents,
            policy: patch.policy.map(|policy| policy.0),
            approval_rules: patch.approval_rules.map(|rules| ApprovalRules {
                warranty: rules.warranty,
                age_years: rules.age_years,
                disagreement: rules.disagreement,
                r#override: rules.r#override,
            }),
            reason: patch.reason,
        }
    }
}
