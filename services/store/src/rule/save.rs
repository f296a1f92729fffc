//! Saving a rule: checked, as a new version, on the record.
//!
//! Belongs here: who may, what is checked, the rules that ship. Does not belong here: the checks
//! of the language ([`roster::rules::check`]).

use chrono::TimeDelta;
use roster::rules::action::{self, Action};
use roster::rules::edge::{REARM_MAX_MIN, REARM_MIN};
use roster::rules::starting::starting;
use roster::rules::{Condition, Fault};
use sea_orm::{ConnectionTrait, DatabaseTransaction, FromQueryResult};
use serde_json::json;
use uuid::Uuid;

use super::{Rule, RuleState, find};
use crate::db::{Store, sql};
use crate::error::{StoreError, by_constraint};
use crate::live_feed;
use crate::person::{Caller, person_find};
use crate::record::{self, Entry};
use crate::text::Faults;

/// Longest name.
const NAME_CHARS_MAX: usize = 120;

/// Longest explanation, and longest reason for a change.
const WORDS_CHARS_MAX: usize = 600;

/// Most rules of a shop; each is looked at once a minute.
const RULES_MAX: i64 = 60;

/// A rule to save.
#[derive(Clone, Debug)]
pub struct RuleSave {
    /// Its name.
    pub name: String,
    /// Why one would want it.
    pub why: String,
    /// When it fires.
    pub condition: String,
    /// What it does.
    pub actions: Vec<Action>,
    /// Minutes before it may fire again.
    pub rearm_min: i64,
    /// Whether it does anything.
    pub state: RuleState,
    /// Why it is changed; may be empty.
    pub reason: String,
}

/// What is wrong with a condition; nothing when it can be saved.
pub fn check(condition: &str) -> Vec<Fault> {
    Condition::parse(condition).err().unwrap_or_default()
}

/// Adds a rule.
///
/// # Errors
/// `Forbidden` unless they manage, `InvalidMany` with pointers, `Conflict` where there are too
/// many, or the database fails.
pub async fn rule_add(store: &Store, caller: &Caller, save: RuleSave) -> Result<Rule, StoreError> {
    caller.must_manage("change the shop's rules")?;
    let txn = store.begin().await?;
    let save = sound(&txn, caller, save).await?;
    #[derive(FromQueryResult)]
    struct Count {
        count: i64,
    }
    // The shop's row puts two who add at once in order.
    let count = Count::find_by_statement(sql(
        "SELECT (SELECT count(*) FROM rule WHERE shop_id = shop.id) AS count FROM shop \
         WHERE id = $1 FOR NO KEY UPDATE",
        [caller.shop_id.into()],
    ))
    .one(&txn)
    .await?
    .map_or(0, |row| row.count);
    if count >= RULES_MAX {
        return Err(StoreError::conflict(
            "too-many-rules",
            format!("A shop has at most {RULES_MAX} rules. Change one that is off instead."),
        ));
    }
    let id = rule_row(&txn, store, caller.shop_id, 0).await?;
    keep(&txn, store, caller, id, 1, &save).await?;
    finish(store, txn, caller, id).await
}

/// Saves a new version of a rule. `version` is the one that was looked at.
///
/// # Errors
/// As [`rule_add`], and `NotFound`, `Conflict` where somebody changed it meanwhile.
pub async fn rule_change(
    store: &Store,
    caller: &Caller,
    id: Uuid,
    version: i32,
    save: RuleSave,
) -> Result<Rule, StoreError> {
    caller.must_manage("change the shop's rules")?;
    let txn = store.begin().await?;
    // The clock holds this lock while the rule fires, so no version changes under it.
    txn.execute_raw(sql("SELECT 1 FROM rule WHERE id = $1 FOR NO KEY UPDATE", [id.into()])).await?;
    let before = find(&txn, caller.shop_id, store.now(), id).await?.now;
    if before.version != version {
        return Err(StoreError::changed_meanwhile("rule", before.version));
    }
    let save = sound(&txn, caller, save).await?;
    keep(&txn, store, caller, id, version + 1, &save).await?;
    if before.condition != save.condition || before.state == RuleState::Off {
        // What held before says nothing about the new words: they fire when they come to hold.
        txn.execute_raw(sql(
            "UPDATE rule SET armed = true, held = NULL, trouble = NULL WHERE id = $1",
            [id.into()],
        ))
        .await?;
    }
    finish(store, txn, caller, id).await
}

async fn finish(
    store: &Store,
    txn: DatabaseTransaction,
    caller: &Caller,
    id: Uuid,
) -> Result<Rule, StoreError> {
    let now = store.now();
    live_feed::announce(&txn, now, caller.shop_id, "rule", id, json!({})).await?;
    let rule = find(&txn, caller.shop_id, now, id).await?;
    txn.commit().await?;
    Ok(rule)
}

/// Everything that is checked, and the texts as they are kept.
async fn sound<C: ConnectionTrait>(
    txn: &C,
    caller: &Caller,
    save: RuleSave,
) -> Result<RuleSave, StoreError> {
    let mut faults = Faults::default();
    let name = faults.text("/name", &save.name, NAME_CHARS_MAX);
    let why = faults.text_or_empty("/why", &save.why, WORDS_CHARS_MAX);
    let reason = faults.text_or_empty("/reason", &save.reason, WORDS_CHARS_MAX);
    for fault in check(&save.condition) {
        faults.add("/condition", fault.to_string());
    }
    if !(REARM_MIN..=REARM_MAX_MIN).contains(&save.rearm_min) {
        faults.add(
            "/rearm_min",
            format!("A rule fires again after {REARM_MIN} to {REARM_MAX_MIN} minutes."),
        );
    }
    for fault in action::faults(&save.actions, save.state == RuleState::On) {
        let field =
            if fault.field.is_empty() { String::new() } else { format!("/{}", fault.field) };
        faults.add(&format!("/actions/{}{field}", fault.action), fault.says);
    }
    for (at, action) in save.actions.iter().enumerate() {
        let Action::DelegateApprovals { person_id: Some(person_id), .. } = action else { continue };
        let pointer = format!("/actions/{at}/person_id");
        let person = match Uuid::parse_str(person_id) {
            Ok(id) => person_find(txn, caller.shop_id, id).await.ok(),
            Err(_) => None,
        };
        if !person.is_some_and(|person| person.active) {
            faults
                .add(&pointer, "There is nobody of that id at work in this shop; choose somebody.");
        }
    }
    faults.done()?;
    Ok(RuleSave { name, why, reason, condition: save.condition.trim().to_owned(), ..save })
}

/// A rule without a version yet. Those made in the same moment keep the order of `place`.
async fn rule_row<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    place: i64,
) -> Result<Uuid, StoreError> {
    let id = store.new_id();
    let at = store.now() + TimeDelta::microseconds(place);
    txn.execute_raw(sql(
        "INSERT INTO rule (id, shop_id, created_at) VALUES ($1, $2, $3)",
        [id.into(), shop_id.into(), at.into()],
    ))
    .await?;
    Ok(id)
}

async fn keep<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    caller: &Caller,
    id: Uuid,
    version: i32,
    save: &RuleSave,
) -> Result<(), StoreError> {
    version_row(txn, store, caller.shop_id, Some(caller.person_id), id, version, save).await?;
    let entry = Entry {
        shop_id: caller.shop_id,
        actor: Some(caller.person_id),
        kind: "rule_saved",
        subject_kind: "rule",
        subject_id: id,
        body: json!({
            "version": version,
            "name": save.name,
            "condition": save.condition,
            "actions": save.actions,
            "rearm_min": save.rearm_min,
            "state": save.state.name(),
            "reason": save.reason,
        }),
    };
    record::append(txn, store.now(), entry).await?;
    Ok(())
}

async fn version_row<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    by: Option<Uuid>,
    id: Uuid,
    version: i32,
    save: &RuleSave,
) -> Result<(), StoreError> {
    let newer = || {
        StoreError::conflict(
            "changed-meanwhile",
            "Somebody saved this rule at the same moment. Look at it again, then repeat your change.",
        )
    };
    txn.execute_raw(sql(
        "INSERT INTO rule_version (rule_id, shop_id, version, name, why, condition, actions, \
             rearm_min, state, by, at, reason) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        [
            id.into(),
            shop_id.into(),
            version.into(),
            save.name.clone().into(),
            save.why.clone().into(),
            save.condition.clone().into(),
            json!(save.actions).into(),
            save.rearm_min.into(),
            save.state.name().into(),
            by.into(),
            store.now().into(),
            save.reason.clone().into(),
        ],
    ))
    .await
    .map_err(|error| by_constraint(error, &[("rule_version_key", &newer)]))?;
    Ok(())
}

/// Gives a shop the rules that ship, in that state.
///
/// # Errors
/// When the database fails.
pub async fn install_starting<C: ConnectionTrait>(
    txn: &C,
    store: &Store,
    shop_id: Uuid,
    state: RuleState,
) -> Result<(), StoreError> {
    for (at, rule) in (0..).zip(starting()) {
        let id = rule_row(txn, store, shop_id, at).await?;
        let save = RuleSave {
            name: rule.name.to_owned(),
            why: rule.why.to_owned(),
            condition: rule.condition.to_owned(),
            actions: rule.actions,
            rearm_min: rule.rearm_min,
            state,
            reason: "Comes with the programme.".to_owned(),
        };
        version_row(txn, store, shop_id, None, id, 1, &save).await?;
    }
    Ok(())
}

/// Gives the rules that ship, tried, to every shop that has never had one: shops from before there
/// were rules.
///
/// # Errors
/// When the database fails.
pub async fn install_missing(store: &Store) -> Result<(), StoreError> {
    #[derive(FromQueryResult)]
    struct Shop {
        id: Uuid,
    }
    let txn = store.begin().await?;
    // Locked, so that two that start at once do not give them twice; looked at under the lock.
    let shops = Shop::find_by_statement(sql(
        "SELECT id FROM shop WHERE NOT EXISTS (SELECT FROM rule WHERE rule.shop_id = shop.id) \
         ORDER BY id FOR NO KEY UPDATE",
        [],
    ))
    .all(&txn)
    .await?;
    for shop in shops {
        let has = sql("SELECT 1 FROM rule WHERE shop_id = $1 LIMIT 1", [shop.id.into()]);
        if txn.query_one_raw(has).await?.is_none() {
            install_starting(&txn, store, shop.id, RuleState::Tried).await?;
        }
    }
    txn.commit().await?;
    Ok(())
}
