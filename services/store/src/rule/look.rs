//! The clock's look: which rules hold, which fire, once.
//!
//! Belongs here: looking at a shop's rules and firing them. Does not belong here: how often (the
//! worker in notify), what an action does ([`super::act`]).
//!
//! Each rule is settled in a transaction of its own under the lock of its row. Another process
//! that looks at the same moment skips a locked rule, and one that comes later sees that it was
//! looked at; the database refuses a second firing within the rule's time in any case.

use chrono::{DateTime, TimeDelta, Utc};
use roster::rules::{Condition, Edge, Values};
use sea_orm::{ConnectionTrait, FromQueryResult};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{Live, RuleState, act, live_of_shop, now};
use crate::capacity::{Cache, SpanName, forecast_lately};
use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::live_feed;
use crate::record::{self, Entry};

/// A rule is looked at this often though nothing changed.
const LOOK_EVERY_S: i64 = 60;

/// A change is looked at after this long: a burst of changes is one look.
const SETTLE_S: i64 = 5;

/// What the outlook that rules see is drawn with: the same for every look.
const SEED: u64 = 1;

/// What a look remembers between two: how far each shop's feed had come.
#[derive(Debug, Default)]
pub struct Seen(std::collections::BTreeMap<Uuid, i64>);

#[derive(FromQueryResult)]
struct Shop {
    shop_id: Uuid,
    last: i64,
    looked_at: Option<DateTime<Utc>>,
}

/// Looks at the rules of every shop whose turn it is; says how many fired.
///
/// # Errors
/// When the database fails. Trouble with one rule is noted on it, and the others go on.
pub async fn look_due(store: &Store, cache: &Cache, seen: &mut Seen) -> Result<usize, StoreError> {
    let now = store.now();
    let shops = Shop::find_by_statement(sql(
        "SELECT rule.shop_id, coalesce(live_head.last, 0) AS last, min(looked_at) AS looked_at \
         FROM rule LEFT JOIN live_head ON live_head.shop_id = rule.shop_id \
         WHERE EXISTS (SELECT FROM rule_version WHERE rule_version.rule_id = rule.id) \
         GROUP BY rule.shop_id, live_head.last",
        [],
    ))
    .all(store.conn())
    .await?;
    let mut fired = 0;
    for shop in shops {
        let waited = shop.looked_at.map_or(i64::MAX, |at| (now - at).num_seconds());
        let changed = seen.0.get(&shop.shop_id) != Some(&shop.last);
        if waited < LOOK_EVERY_S && !(changed && waited >= SETTLE_S) {
            continue;
        }
        fired += look(store, cache, shop.shop_id).await?;
        // What changed since then, what fired included, is looked at once more.
        seen.0.insert(shop.shop_id, shop.last);
    }
    Ok(fired)
}

/// Looks at one shop's rules.
async fn look(store: &Store, cache: &Cache, shop_id: Uuid) -> Result<usize, StoreError> {
    let now = store.now();
    let rules = live_of_shop(store.conn(), shop_id, now).await?;
    let mut values = now::values(store, shop_id).await?;
    let parsed: Vec<(Live, Result<Condition, String>)> = rules
        .into_iter()
        .map(|rule| {
            let condition = Condition::parse(&rule.condition).map_err(|faults| {
                faults.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
            });
            (rule, condition)
        })
        .collect();
    let asks_chance =
        |condition: &Condition| condition.uses().iter().any(|name| name.starts_with("chance_late"));
    if parsed.iter().any(|(_, condition)| condition.as_ref().is_ok_and(asks_chance)) {
        let outlook = forecast_lately(store, cache, shop_id, SpanName::Tonight, SEED).await?;
        values.chance_late = outlook.chance_at(now);
    }
    let mut fired = 0;
    for (rule, condition) in &parsed {
        match settle(store, shop_id, rule, condition, &values, now).await {
            Ok(it) => fired += usize::from(it),
            Err(error @ StoreError::Unavailable { .. }) => return Err(error),
            Err(error) => {
                tracing::warn!(rule = %rule.id, error = &error as &dyn std::error::Error, "a rule");
                note_trouble(store, shop_id, rule.id, &error).await?;
            }
        }
    }
    // A shop whose rules are all off is looked at no more often.
    store
        .conn()
        .execute_raw(sql(
            "UPDATE rule SET looked_at = $2 WHERE shop_id = $1 AND (looked_at IS NULL \
                 OR looked_at < $2) AND (SELECT state FROM rule_version WHERE rule_id = rule.id \
                 ORDER BY version DESC LIMIT 1) = 'off'",
            [shop_id.into(), now.into()],
        ))
        .await?;
    Ok(fired)
}

#[derive(FromQueryResult)]
struct Row {
    armed: bool,
    fired_at: Option<DateTime<Utc>>,
    looked_at: Option<DateTime<Utc>>,
    held: Option<bool>,
    trouble: Option<String>,
    version: i32,
}

/// Settles one rule for this look; says whether it fired.
async fn settle(
    store: &Store,
    shop_id: Uuid,
    rule: &Live,
    condition: &Result<Condition, String>,
    values: &Values,
    now: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let txn = store.begin().await?;
    let row = Row::find_by_statement(sql(
        "SELECT armed, fired_at, looked_at, held, trouble, \
             (SELECT max(version) FROM rule_version WHERE rule_id = rule.id) AS version \
         FROM rule WHERE id = $1 FOR NO KEY UPDATE SKIP LOCKED",
        [rule.id.into()],
    ))
    .one(&txn)
    .await?;
    // Somebody is at it, has looked since these values were gathered, or has changed it.
    let Some(row) = row else { return Ok(false) };
    if row.looked_at.is_some_and(|at| at >= now) || row.version != rule.version {
        return Ok(false);
    }
    let told = match condition {
        Ok(condition) => condition.holds(values),
        Err(faults) => Err(format!("It can no longer be read: {faults}")),
    };
    let (holds, trouble) = match told {
        Ok(holds) => (holds, None),
        Err(trouble) => (false, Some(trouble)),
    };
    let mut edge = Edge { armed: row.armed, fired_at: row.fired_at };
    let fires = edge.look(now, holds, TimeDelta::minutes(rule.rearm_min));
    txn.execute_raw(sql(
        "UPDATE rule SET armed = $2, fired_at = $3, looked_at = $4, held = $5, trouble = $6 \
         WHERE id = $1",
        [
            rule.id.into(),
            edge.armed.into(),
            edge.fired_at.into(),
            now.into(),
            holds.into(),
            trouble.clone().into(),
        ],
    ))
    .await?;
    if fires {
        fire(store, &txn, shop_id, rule, condition, values, now).await?;
    }
    if fires || row.held.unwrap_or(false) != holds || row.trouble != trouble {
        live_feed::announce(&txn, now, shop_id, "rule", rule.id, json!({})).await?;
    }
    txn.commit().await?;
    Ok(fires)
}

/// Carries a firing out, or only notes it where the rule is tried.
async fn fire<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    shop_id: Uuid,
    rule: &Live,
    condition: &Result<Condition, String>,
    values: &Values,
    now: DateTime<Utc>,
) -> Result<(), StoreError> {
    let id = store.new_id();
    let live = rule.state == RuleState::On;
    let named = values.named();
    let used: Map<String, Value> = condition
        .iter()
        .flat_map(|condition| condition.uses())
        .filter_map(|name| Some((name.clone(), json!(named.get(name)?))))
        .collect();
    let firing = act::Firing { id, shop_id, rule_name: &rule.name, values, now };
    // The row stands before what refers to it; its outcomes are known only afterwards, and the
    // table is never changed. So the acts are done first, on references that are checked when the
    // transaction ends.
    txn.execute_unprepared("SET CONSTRAINTS ALL DEFERRED").await?;
    let outcomes = if live {
        act::all(store, txn, &firing, &rule.actions).await?
    } else {
        act::none(&rule.actions)
    };
    let outcomes = json!(outcomes);
    txn.execute_raw(sql(
        "INSERT INTO rule_firing (id, shop_id, rule_id, version, at, live, vals, outcomes) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
        [
            id.into(),
            shop_id.into(),
            rule.id.into(),
            rule.version.into(),
            now.into(),
            live.into(),
            Value::Object(used.clone()).into(),
            outcomes.clone().into(),
        ],
    ))
    .await?;
    if live {
        let entry = Entry {
            shop_id,
            actor: None,
            kind: "rule_fired",
            subject_kind: "rule",
            subject_id: rule.id,
            body: json!({
                "firing": id,
                "version": rule.version,
                "name": rule.name,
                "condition": rule.condition,
                "values": used,
                "all_values": named,
                "outcomes": outcomes,
            }),
        };
        record::append(txn, now, entry).await?;
    }
    Ok(())
}

async fn note_trouble(
    store: &Store,
    shop_id: Uuid,
    rule_id: Uuid,
    error: &StoreError,
) -> Result<(), StoreError> {
    let says = format!("It could not be carried out: {error}.");
    store
        .conn()
        .execute_raw(sql(
            "UPDATE rule SET trouble = $3, looked_at = $4 WHERE shop_id = $1 AND id = $2",
            [shop_id.into(), rule_id.into(), says.into(), store.now().into()],
        ))
        .await?;
    Ok(())
}
