//! Whole weeks, the second rota, and what a quarter holds for each.
//!
//! Belongs here: the routes and wire shapes of these. Does not belong here: their rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, delete, get, post, web};
use chrono::{DateTime, NaiveDate, Utc};
use roster::calendar::{Calendar, Span};
use roster::fairness::Load;
use roster::pattern::{Hours, Pattern, Slot, Turn};
use serde::{Deserialize, Serialize};
use store::person::Person;
use store::rota::burden::{PersonBurden, burdens};
use store::rota::pattern::{Applied, Apply, Meets, pattern_apply};
use store::rota::second;
use store::{Caller, Store};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use super::shapes::{EntryShape, KindShape, SpanShape, WarningShape, named};
use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// A stretch of the week, by the shop's wall.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = PatternSlot)]
pub struct SlotShape {
    /// The day it begins on: 0 is Monday, 6 Sunday.
    weekday: u8,
    /// Minutes after midnight, 0 to 1439.
    from_min: u16,
    /// Minutes after midnight, 0 to 1440; not after `from_min` means on the next day.
    to_min: u16,
}

/// The time of the week at which it passes from one person to the next.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = PatternHandover)]
pub struct HandoverShape {
    /// 0 is Monday, 6 Sunday.
    weekday: u8,
    /// Minutes after midnight, 0 to 1439.
    minute: u16,
}

/// How the people of a pattern share it.
#[derive(Clone, Copy, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = PatternTurn)]
pub enum TurnShape {
    /// Everybody every week.
    Together,
    /// One a week, in the order given.
    Weekly,
}

/// What happens where somebody already has an entry.
#[derive(Clone, Copy, Default, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = PatternMeets)]
pub enum MeetsShape {
    /// The whole pattern is refused, naming it.
    #[default]
    Refuse,
    /// What stands stays.
    Keep,
    /// What stands is taken out, unless it is leave.
    Replace,
}

/// A week's duties, repeated. Give either `slots` or `handover`.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = PatternApply)]
pub struct PatternAdd {
    /// What they are; not leave.
    kind: KindShape,
    /// A day of the first week.
    first_week: NaiveDate,
    /// How many weeks, 1 to 26.
    weeks: u32,
    /// Who, in order.
    people: Vec<Uuid>,
    /// How they share it.
    turn: TurnShape,
    /// These hours of the week.
    #[serde(default)]
    slots: Option<Vec<SlotShape>>,
    /// Whenever the shop is closed, for a week from this time on.
    #[serde(default)]
    handover: Option<HandoverShape>,
    /// Whether slots that begin on a holiday are left out.
    #[serde(default)]
    not_on_holidays: bool,
    /// What happens where somebody already has an entry.
    #[serde(default)]
    meets: MeetsShape,
    /// Whether it is only tried: nothing is changed, and what would break is in the warnings.
    #[serde(default)]
    dry_run: bool,
}

impl TryFrom<PatternAdd> for Apply {
    type Error = Problem;

    fn try_from(add: PatternAdd) -> Result<Self, Problem> {
        let hours = match (add.slots, add.handover) {
            (Some(slots), None) => Hours::Slots(
                slots
                    .into_iter()
                    .map(|slot| Slot {
                        weekday: slot.weekday,
                        from_min: slot.from_min,
                        to_min: slot.to_min,
                    })
                    .collect(),
            ),
            (None, Some(at)) => Hours::WhileClosed { weekday: at.weekday, minute: at.minute },
            _ => {
                return Err(store::StoreError::invalid(
                    "/slots",
                    "Give either slots, or a handover for whenever the shop is closed.",
                )
                .into());
            }
        };
        Ok(Apply {
            pattern: Pattern {
                kind: add.kind.into(),
                first_week: add.first_week,
                weeks: add.weeks,
                people: add.people,
                turn: match add.turn {
                    TurnShape::Together => Turn::Together,
                    TurnShape::Weekly => Turn::Weekly,
                },
                hours,
                not_on_holidays: add.not_on_holidays,
            },
            meets: match add.meets {
                MeetsShape::Refuse => Meets::Refuse,
                MeetsShape::Keep => Meets::Keep,
                MeetsShape::Replace => Meets::Replace,
            },
            dry_run: add.dry_run,
        })
    }
}

/// An entry that was left out, and what stands there.
#[derive(Serialize, ToSchema)]
#[schema(as = PatternLeftOut)]
pub struct LeftOutShape {
    /// Whose.
    person: PersonRef,
    /// When.
    span: SpanShape,
    /// What stands there.
    stands: EntryShape,
}

/// What a pattern did, or would do.
#[derive(Serialize, ToSchema)]
#[schema(as = PatternApplied)]
pub struct AppliedShape {
    /// Put in.
    added: Vec<EntryShape>,
    /// Left out.
    left_out: Vec<LeftOutShape>,
    /// Taken out for it.
    removed: Vec<EntryShape>,
    /// What it breaks.
    warnings: Vec<WarningShape>,
}

impl AppliedShape {
    fn new(applied: Applied, people: &[Person]) -> Self {
        let shown = |entries: Vec<_>| {
            entries.into_iter().map(|entry| EntryShape::new(entry, people)).collect()
        };
        AppliedShape {
            added: shown(applied.added),
            left_out: applied
                .left_out
                .into_iter()
                .map(|(person_id, entry, stands)| LeftOutShape {
                    person: named(person_id, people),
                    span: entry.span.into(),
                    stands: EntryShape::new(stands, people),
                })
                .collect(),
            removed: shown(applied.removed),
            warnings: applied.warnings.into_iter().map(WarningShape::from).collect(),
        }
    }
}

/// Until when the second rota is opened, and why.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = SecondOpen)]
pub struct SecondOpenShape {
    /// Until when, at most 14 days from now.
    until: DateTime<Utc>,
    /// Why; whoever is on it is told.
    why: String,
}

/// Who was told that the second rota is open.
#[derive(Serialize, ToSchema)]
#[schema(as = SecondOpened)]
pub struct SecondOpenedShape {
    /// Until when.
    until: DateTime<Utc>,
    /// Who is on it, and was told.
    told: Vec<PersonRef>,
}

/// Which quarter.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FairnessQuery {
    /// A moment in it; now where absent.
    at: Option<DateTime<Utc>>,
}

/// Four counts of a quarter.
#[derive(Serialize, ToSchema)]
#[schema(as = DutyLoad)]
pub struct LoadShape {
    /// Hours on duty on Saturdays and Sundays.
    weekend_h: f64,
    /// Nights on duty.
    nights: f64,
    /// Hours on duty on holidays that are no Saturday or Sunday.
    holiday_h: f64,
    /// Calls they went out for while on call.
    call_outs: f64,
}

impl From<Load> for LoadShape {
    fn from(load: Load) -> Self {
        LoadShape {
            weekend_h: load.weekend_h,
            nights: load.nights,
            holiday_h: load.holiday_h,
            call_outs: load.call_outs,
        }
    }
}

/// How far somebody is from breaking the rest rule.
#[derive(Serialize, ToSchema)]
#[schema(as = RestMargin)]
pub struct MarginShape {
    /// Minutes left; negative where it is broken.
    left_min: i64,
    /// Where it is tightest, in words.
    says: String,
}

/// What a quarter holds for somebody.
#[derive(Serialize, ToSchema)]
#[schema(as = PersonBurden)]
pub struct BurdenShape {
    /// Who.
    person: PersonRef,
    /// Days of the quarter on which they are not on leave.
    days_available: u32,
    /// What they have.
    has: LoadShape,
    /// What they would have if all was shared by days available.
    share: LoadShape,
    /// Rest in the coming week; null where they do not work in it.
    rest: Option<MarginShape>,
    /// What of the rest rule is broken in the coming week, each with what would be right.
    broken: Vec<String>,
}

impl From<PersonBurden> for BurdenShape {
    fn from(one: PersonBurden) -> Self {
        let broken = one.findings.into_iter();
        BurdenShape {
            broken: broken
                .map(|finding| format!("{} {}. {}", one.name, finding.says, finding.right))
                .collect(),
            person: PersonRef { id: one.person_id, name: one.name },
            days_available: one.burden.days_available,
            has: one.burden.has.into(),
            share: one.burden.share.into(),
            rest: one
                .margin
                .map(|margin| MarginShape { left_min: margin.left_min, says: margin.says }),
        }
    }
}

/// What a quarter holds for each.
#[derive(Serialize, ToSchema)]
#[schema(as = Fairness)]
pub struct FairnessShape {
    /// The quarter's first day.
    first_day: NaiveDate,
    /// The quarter, "4th quarter of 2026".
    says: String,
    /// The shop's rest rule in words.
    rule: String,
    /// Each technician, by name.
    people: Vec<BurdenShape>,
}

impl FairnessShape {
    fn new(calendar: &Calendar, first_day: NaiveDate, people: Vec<PersonBurden>) -> Self {
        use chrono::Datelike as _;
        let rule = calendar.rest();
        let quarter = ["1st", "2nd", "3rd", "4th"][first_day.month0() as usize / 3];
        FairnessShape {
            first_day,
            says: format!("{quarter} quarter of {}", first_day.year()),
            rule: format!(
                "A rest is {}, the longest run of work without one {}, and at most {} nights on \
                 call follow each other.",
                roster::rest::hours(rule.rest_min),
                roster::rest::hours(rule.duty_max_min),
                rule.nights_on_call_max
            ),
            people: people.into_iter().map(BurdenShape::from).collect(),
        }
    }
}

/// The routes of these.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(apply_pattern).service(second_open).service(second_close).service(fairness_show);
}

/// Puts a week's duties in over many weeks, or only tries it.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = PatternAdd,
    responses(
        (status = 200, description = "What was done, or would be", body = AppliedShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 404, description = "No such person", body = ProblemBody),
        (status = 409, description = "It meets what stands, or breaks rest", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/rota/pattern")]
async fn apply_pattern(write: Write<PatternAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, add: PatternAdd| {
        let applied = pattern_apply(store, caller, add.try_into()?).await?;
        let people = store::person::person_list(store.conn(), caller.shop_id).await?;
        Ok(AppliedShape::new(applied, &people))
    };
    write.once(StatusCode::OK, work).await
}

/// Opens the second rota from now on; whoever is on it is on call and told so.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = SecondOpenShape,
    responses(
        (status = 201, description = "Open", body = SecondOpenedShape),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
        (status = 409, description = "It is open already", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/rota/second")]
async fn second_open(write: Write<SecondOpenShape>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, body: SecondOpenShape| {
        caller.must_schedule("open the second rota")?;
        let txn = store.begin().await?;
        let span = Span::new(store.now(), body.until);
        let by = Some(caller.person_id);
        let told = second::open(&txn, store, caller.shop_id, span, &body.why, by).await?;
        txn.commit().await.map_err(store::StoreError::from)?;
        let people = store::person::person_list(store.conn(), caller.shop_id).await?;
        let told = told.into_iter().map(|id| named(id, &people)).collect();
        Ok(SecondOpenedShape { until: body.until, told })
    };
    write.once(StatusCode::CREATED, work).await
}

/// Closes the second rota; nothing happens where it is not open.
#[utoipa::path(tag = "rota",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    responses(
        (status = 204, description = "Closed"),
        (status = 403, description = "Only for those who give out work", body = ProblemBody),
    ))]
#[delete("/api/rota/second")]
async fn second_close(write: Write<()>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, (): ()| {
        caller.must_schedule("close the second rota")?;
        let txn = store.begin().await?;
        second::close(&txn, store, caller.shop_id, caller.person_id).await?;
        txn.commit().await.map_err(store::StoreError::from)?;
        Ok(())
    };
    write.once(StatusCode::NO_CONTENT, work).await
}

/// What a quarter holds for each of the shop's technicians, against the even share, and how near
/// each is to breaking rest in the coming week.
#[utoipa::path(tag = "rota", params(FairnessQuery), responses(
    (status = 200, description = "Each technician, by name", body = FairnessShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/rota/fairness")]
async fn fairness_show(
    caller: SignedIn,
    query: web::Query<FairnessQuery>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let (store, shop_id) = (&state.store, caller.shop_id);
    let calendar = store::calendar::of_shop(store.conn(), shop_id).await?;
    let (first_day, quarter) = calendar.quarter(query.at.unwrap_or_else(|| store.now()));
    let people = burdens(store.conn(), store.now(), shop_id, quarter).await?;
    Ok(HttpResponse::Ok().json(FairnessShape::new(&calendar, first_day, people)))
}
