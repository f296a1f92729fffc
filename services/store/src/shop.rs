//! Shops: name, zone, money, the thresholds of its verdicts and its approval rules.
//!
//! Belongs here: adding a shop, reading and changing the caller's. Does not belong here: what
//! the thresholds mean (the engine's), their bounds ([`thresholds`]) and when approval is asked for (the request's).

pub mod thresholds;

use engine::policy::Policy;
use sea_orm::ActiveValue::Set;
use sea_orm::{ActiveModelTrait as _, ConnectionTrait, EntityTrait as _};
use serde::{Deserialize, Serialize};
use serde_json::json;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::entity::shop as row;
use crate::error::StoreError;
use crate::person::Caller;
use crate::record::{self, Entry};
use crate::rule::{self, RuleState};
use crate::text::Faults;
use crate::zone;

/// Longest name.
const NAME_CHARS_MAX: usize = 120;

/// Longest telephone number.
const PHONE_CHARS_MAX: usize = 40;

/// Highest approval limit: a hundred million; more is a slip of the finger.
const APPROVAL_LIMIT_CENTS_MAX: i64 = 10_000_000_000;

/// Oldest age a rule can name.
const AGE_YEARS_MAX: u32 = 80;

/// A shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
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
    /// Under this amount a policy may answer for the money; from it on a person does.
    pub approval_limit_cents: i64,
    /// The thresholds of its verdicts.
    pub policy: Policy,
    /// When a person must approve, whatever the amount.
    pub approval_rules: ApprovalRules,
}

/// When a person must approve, whatever the amount.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ApprovalRules {
    /// The unit is under warranty.
    pub warranty: bool,
    /// The unit is at least this old, in years; no such rule where absent.
    pub age_years: Option<u32>,
    /// A blind read differed from the claim.
    pub disagreement: bool,
    /// Isolation was overridden.
    pub r#override: bool,
}

impl Default for ApprovalRules {
    fn default() -> Self {
        ApprovalRules { warranty: true, age_years: None, disagreement: true, r#override: true }
    }
}

/// A new shop.
#[derive(Clone, Debug)]
pub struct ShopNew {
    /// Name.
    pub name: String,
    /// IANA zone.
    pub zone: String,
    /// ISO 4217 code.
    pub currency: String,
}

/// What to change; the rest stays.
#[derive(Clone, Debug, Default)]
pub struct ShopChange {
    /// Name.
    pub name: Option<String>,
    /// IANA zone.
    pub zone: Option<String>,
    /// The telephone that customers are told to call.
    pub phone: Option<Option<String>>,
    /// Up to this amount a policy may answer for the money.
    pub approval_limit_cents: Option<i64>,
    /// The thresholds of its verdicts.
    pub policy: Option<Policy>,
    /// When a person must approve.
    pub approval_rules: Option<ApprovalRules>,
    /// Why; needed where something is loosened.
    pub reason: Option<String>,
}

/// Adds a shop with an empty record and the rules that ship, tried and not on. For set-up and the demo; no caller can ask for it.
///
/// # Errors
/// `InvalidMany`, or the database fails.
pub async fn shop_add<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    new: ShopNew,
) -> Result<Uuid, StoreError> {
    let mut faults = Faults::default();
    let name = faults.text("/name", &new.name, NAME_CHARS_MAX);
    if new.currency.len() != 3 || !new.currency.bytes().all(|byte| byte.is_ascii_uppercase()) {
        faults.add("/currency", "This is not a currency's code; one looks like USD or EUR.");
    }
    zone::check(txn, &mut faults, "/zone", &new.zone).await?;
    faults.done()?;

    let id = store.new_id();
    txn.execute_raw(sql(
        "INSERT INTO shop (id, name, zone, currency, created_at) VALUES ($1, $2, $3, $4, $5)",
        [id.into(), name.into(), new.zone.into(), new.currency.into(), store.now().into()],
    ))
    .await?;
    txn.execute_raw(sql("INSERT INTO record_head (shop_id) VALUES ($1)", [id.into()])).await?;
    txn.execute_raw(sql("INSERT INTO job_head (shop_id) VALUES ($1)", [id.into()])).await?;
    rule::install_starting(txn, store, id, RuleState::Tried).await?;
    Ok(id)
}

/// A shop by its id.
///
/// # Errors
/// `NotFound`, or the database fails.
pub async fn shop_find<C: ConnectionTrait>(conn: &C, shop_id: Uuid) -> Result<Shop, StoreError> {
    let model = row::Entity::find_by_id(shop_id)
        .one(conn)
        .await?
        .ok_or(StoreError::NotFound { what: "shop" })?;
    from_row(model)
}

/// Changes the caller's shop. A changed threshold or rule is on the record.
///
/// # Errors
/// `Forbidden` unless they manage, `InvalidMany`, or the database fails.
pub async fn shop_change(
    store: &Store,
    caller: &Caller,
    change: ShopChange,
) -> Result<Shop, StoreError> {
    caller.must_manage("change the shop's settings")?;
    let txn = store.begin().await?;
    txn.execute_raw(sql("SELECT 1 FROM shop WHERE id = $1 FOR UPDATE", [caller.shop_id.into()]))
        .await?;
    let before = shop_find(&txn, caller.shop_id).await?;

    let mut faults = Faults::default();
    let mut after = before.clone();
    if let Some(name) = &change.name {
        after.name = faults.text("/name", name, NAME_CHARS_MAX);
    }
    if let Some(zone) = change.zone {
        zone::check(&txn, &mut faults, "/zone", &zone).await?;
        after.zone = zone;
    }
    if let Some(phone) = change.phone {
        after.phone = faults.text_opt("/phone", phone.as_deref(), PHONE_CHARS_MAX);
    }
    if let Some(limit) = change.approval_limit_cents {
        if !(0..=APPROVAL_LIMIT_CENTS_MAX).contains(&limit) {
            faults.add(
                "/approval_limit_cents",
                format!("The limit is in cents, from 0 to {APPROVAL_LIMIT_CENTS_MAX}."),
            );
        }
        after.approval_limit_cents = limit;
    }
    if let Some(policy) = change.policy {
        thresholds::check(&mut faults, &policy);
        after.policy = policy;
    }
    if let Some(rules) = change.approval_rules {
        if rules.age_years.is_some_and(|years| years > AGE_YEARS_MAX) {
            faults.add(
                "/approval_rules/age_years",
                format!("An age of at most {AGE_YEARS_MAX} years, or null for no such rule."),
            );
        }
        after.approval_rules = rules;
    }
    let loosened = thresholds::loosened(&before, &after);
    let reason = thresholds::reason_of(&mut faults, change.reason.as_deref(), &loosened);
    faults.done()?;

    let model = row::ActiveModel {
        id: Set(caller.shop_id),
        name: Set(after.name.clone()),
        zone: Set(after.zone.clone()),
        phone: Set(after.phone.clone()),
        approval_limit_cents: Set(after.approval_limit_cents),
        policy: Set(json!(after.policy)),
        approval_rules: Set(json!(after.approval_rules)),
        ..Default::default()
    };
    model.update(&txn).await?;
    if (&before.policy, &before.approval_rules, before.approval_limit_cents)
        != (&after.policy, &after.approval_rules, after.approval_limit_cents)
    {
        let judged_by = |shop: &Shop| {
            json!({
                "policy": shop.policy,
                "approval_rules": shop.approval_rules,
                "approval_limit_cents": shop.approval_limit_cents,
            })
        };
        let entry = Entry {
            shop_id: caller.shop_id,
            actor: Some(caller.person_id),
            kind: "policy_changed",
            subject_kind: "shop",
            subject_id: caller.shop_id,
            body: json!({
                "before": judged_by(&before), "after": judged_by(&after),
                "loosened": loosened, "reason": reason,
            }),
        };
        record::append(&txn, store.now(), entry).await?;
    }
    txn.commit().await?;
    Ok(after)
}

fn from_row(model: row::Model) -> Result<Shop, StoreError> {
    Ok(Shop {
        id: model.id,
        name: model.name,
        zone: model.zone,
        currency: model.currency,
        phone: model.phone,
        approval_limit_cents: model.approval_limit_cents,
        policy: serde_json::from_value(model.policy)
            .map_err(|source| StoreError::corrupt("policy", source))?,
        approval_rules: serde_json::from_value(model.approval_rules)
            .map_err(|source| StoreError::corrupt("approval rules", source))?,
    })
}
