//! The shop's own ladders and everybody's quiet hours.
//!
//! Belongs here: the routes and wire shapes of what is set. Does not belong here: what may be
//! saved (the roster's).

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post, put, web};
use chrono::{DateTime, Utc};
use roster::ladder::{Hours, How, Kind, Ladders, Step, Steps, Variant, Who};
use serde::{Deserialize, Serialize};
use store::ladder::preview::{self, Question, Story};
use store::ladder::quiet::{self, QuietOf, QuietPut};
use store::ladder::setting;
use store::person::Qualification;
use store::{Caller, Store, StoreError};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::evidence::shapes::person;
use crate::idempotency::{Body, Write};
use crate::job::UrgencyShape;
use crate::person::QualificationShape;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// The routes of what is set.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(ladders_show)
        .service(ladders_save)
        .service(ladders_preview)
        .service(quiet_show)
        .service(quiet_put);
}

/// Whom a step reaches.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(tag = "group", rename_all = "snake_case", deny_unknown_fields)]
#[schema(as = StepWho)]
pub enum WhoShape {
    /// The best placed of those who can take it.
    Best,
    /// So many of the next.
    Next {
        /// 1 to 20.
        count: u8,
    },
    /// Everyone who can take it.
    Everyone,
    /// Whoever is on call.
    OnCall,
    /// Whoever is on the second rota.
    SecondRota,
    /// The schedulers.
    Schedulers,
    /// Service managers and owners.
    Managers,
    /// The owners.
    Owners,
    /// Whoever answers for money in the managers' stead.
    Delegate,
    /// One person.
    Person {
        /// Who.
        person_id: Uuid,
    },
}

/// How people are told.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = StepHow)]
pub enum HowShape {
    /// On the pages they have open.
    Live,
    /// On those, and by mail.
    Mail,
}

/// One step of a ladder, as the shop has it.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = LadderStep)]
pub struct StepShape {
    /// Minutes after the start, 0 to 10080.
    pub after_min: u32,
    /// Whom it reaches, one to six groups.
    pub who: Vec<WhoShape>,
    /// How.
    pub how: HowShape,
}

/// The steps of one kind.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = LadderSteps)]
pub struct StepsShape {
    /// On working days, one to eight steps, each later than the one before.
    pub week: Vec<StepShape>,
    /// On days the shop is closed; null for the same as in the week.
    #[serde(default)]
    pub weekend: Option<Vec<StepShape>>,
}

/// Quiet hours, in minutes after midnight.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = QuietHours)]
pub struct HoursShape {
    /// First quiet minute.
    pub from_min: u16,
    /// First minute that is not quiet any more; before `from_min` for hours over midnight.
    pub to_min: u16,
}

/// Everything that a shop says about its ladders.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ShopLadders)]
pub struct LaddersShape {
    /// For a second read.
    pub second_read: StepsShape,
    /// For an urgent job that nobody has.
    pub urgent_job: StepsShape,
    /// For an approval that waits.
    pub approval: StepsShape,
    /// Which jobs are urgent enough for a ladder when nobody has them.
    pub urgent: Vec<UrgencyShape>,
    /// Quiet hours of whoever set none of their own; null for none.
    pub quiet: Option<HoursShape>,
    /// Jobs of these classes are told in quiet hours too.
    pub never_quiet: Vec<UrgencyShape>,
}

/// The shop's ladders in force.
#[derive(Debug, Serialize, ToSchema)]
pub struct LadderSetting {
    /// Which version; 0 for what ships. Send it with the next change.
    pub version: i32,
    /// The ladders.
    pub ladders: LaddersShape,
    /// What ships, to go back to.
    pub shipped: LaddersShape,
    /// Why what ships is as it is.
    pub because: Vec<KindBecause>,
    /// The shop's versions, newest first.
    pub versions: Vec<LadderVersion>,
    /// The shop's zone.
    pub zone: String,
}

/// Why the shipped steps of a kind are as they are.
#[derive(Debug, Serialize, ToSchema)]
pub struct KindBecause {
    /// second_read, urgent_job or approval.
    pub kind: String,
    /// In words.
    pub says: String,
}

/// One version that the shop made.
#[derive(Debug, Serialize, ToSchema)]
pub struct LadderVersion {
    /// Which.
    pub version: i32,
    /// Who made it.
    pub made_by: PersonRef,
    /// Why.
    pub why: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// The body that saves ladders.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LaddersPut {
    /// The version that was looked at.
    pub version: i32,
    /// The ladders, all of them.
    pub ladders: LaddersShape,
    /// Why they change; may be empty.
    #[serde(default)]
    pub why: String,
}

/// The body that asks what would happen.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LaddersAsk {
    /// second_read, urgent_job or approval.
    pub kind: String,
    /// When it would start.
    pub at: DateTime<Utc>,
    /// How urgent the job would be.
    pub urgency: UrgencyShape,
    /// What the job or the part would ask of people.
    #[serde(default)]
    pub required: Vec<QualificationShape>,
    /// By which ladders; the shop's own in force where absent.
    #[serde(default)]
    pub ladders: Option<LaddersShape>,
}

/// What would happen if nobody ever answered.
#[derive(Debug, Serialize, ToSchema)]
pub struct LadderStory {
    /// Whether it would climb by the steps for days on which the shop is closed.
    pub weekend: bool,
    /// Whether quiet hours would be minded.
    pub minds_quiet: bool,
    /// Whether a ladder would start at all: a job of this class may wait.
    pub starts: bool,
    /// What happens, in order.
    pub steps: Vec<LadderStoryStep>,
}

/// One thing that would happen.
#[derive(Debug, Serialize, ToSchema)]
pub struct LadderStoryStep {
    /// Which step, from 0.
    pub rung: usize,
    /// When.
    pub at: DateTime<Utc>,
    /// The step in words.
    pub words: String,
    /// Who would be asked.
    pub asked: Vec<PersonRef>,
    /// Who would be told.
    pub told: Vec<PersonRef>,
    /// Who would be left alone.
    pub quiet: Vec<LeftAlone>,
    /// Until when the step would wait; null where it reaches somebody, or nobody is left.
    pub held_until: Option<DateTime<Utc>>,
}

/// Somebody who has quiet hours.
#[derive(Debug, Serialize, ToSchema)]
pub struct LeftAlone {
    /// Who.
    pub person: PersonRef,
    /// Until when.
    pub until: DateTime<Utc>,
}

/// Whose quiet hours hold for somebody.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PersonQuiet)]
pub struct QuietShape {
    /// Whether they are their own; the shop's otherwise.
    pub own: bool,
    /// From and to; null for none at all.
    pub hours: Option<HoursShape>,
    /// IANA zone of their clock.
    pub zone: String,
}

/// The body that changes somebody's quiet hours.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonQuietPut {
    /// Their own; false for the shop's.
    pub own: bool,
    /// From and to; null for none at all.
    #[serde(default)]
    pub hours: Option<HoursShape>,
    /// IANA zone of their clock; needed for their own.
    #[serde(default)]
    pub zone: Option<String>,
}

/// The shop's ladders in force, what ships, and who changed them when.
#[utoipa::path(tag = "ladder", responses(
    (status = 200, description = "The ladders", body = LadderSetting),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/ladders")]
async fn ladders_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::Ok().json(setting_of(&state.store, &caller).await?))
}

/// Saves the shop's ladders as the next version. What climbs already goes on as it started.
#[utoipa::path(
    tag = "ladder",
    params(("Idempotency-Key" = Uuid, Header)),
    request_body = LaddersPut,
    responses(
        (status = 200, description = "As they are now", body = LadderSetting),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 409, description = "Somebody saved others meanwhile", body = ProblemBody),
        (status = 422, description = "Delays that do not rise, a step that reaches nobody, …", body = ProblemBody),
    )
)]
#[put("/api/ladders")]
async fn ladders_save(write: Write<LaddersPut>) -> Result<HttpResponse, Problem> {
    let save = async |store: &Store, caller: &Caller, body: LaddersPut| {
        setting::save(store, caller, body.version, body.ladders.into(), &body.why).await?;
        setting_of(store, caller).await
    };
    write.once(StatusCode::OK, save).await
}

async fn setting_of(store: &Store, caller: &Caller) -> Result<LadderSetting, Problem> {
    let now = setting::of_shop(store.conn(), caller.shop_id).await?;
    let versions = setting::versions(store, caller).await?;
    Ok(LadderSetting {
        version: now.version,
        zone: now.zone.name().to_owned(),
        ladders: now.ladders.into(),
        shipped: Ladders::shipped().into(),
        because: Kind::ALL
            .into_iter()
            .map(|kind| KindBecause {
                kind: kind.id().to_owned(),
                says: kind.shipped_because().to_owned(),
            })
            .collect(),
        versions: versions
            .into_iter()
            .map(|one| LadderVersion {
                version: one.version,
                made_by: person(one.made_by),
                why: one.why,
                at: one.at,
            })
            .collect(),
    })
}

/// Tells what would happen at a moment if nobody ever answered; keeps nothing.
#[utoipa::path(tag = "ladder", request_body = LaddersAsk, responses(
    (status = 200, description = "What would happen", body = LadderStory),
    (status = 403, description = "Only for those who give out work or manage", body = ProblemBody),
    (status = 422, description = "Ladders that could not be saved", body = ProblemBody),
))]
#[post("/api/ladders/preview")]
async fn ladders_preview(
    caller: SignedIn,
    state: web::Data<AppState>,
    body: Body<LaddersAsk>,
) -> Result<HttpResponse, Problem> {
    let ask = body.0;
    let kind = Kind::from_id(&ask.kind).ok_or_else(|| {
        let says = "This is one of second_read, urgent_job and approval.";
        StoreError::invalid("/kind", says)
    })?;
    let question = Question {
        kind,
        at: ask.at,
        urgency: class_of(ask.urgency),
        required: ask.required.into_iter().map(Qualification::from).collect(),
        ladders: ask.ladders.map(Ladders::from),
    };
    let story = preview::preview(&state.store, &caller, question).await?;
    Ok(HttpResponse::Ok().json(LadderStory::from(story)))
}

/// Somebody's quiet hours: their own, or the shop's.
#[utoipa::path(
    tag = "ladder",
    params(("id" = Uuid, Path)),
    responses(
        (status = 200, description = "What holds for them", body = QuietShape),
        (status = 404, description = "No such person in the shop", body = ProblemBody),
    )
)]
#[get("/api/people/{id}/quiet-hours")]
async fn quiet_show(
    caller: SignedIn,
    id: web::Path<Uuid>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let found = quiet::quiet_of(&state.store, &caller, id.into_inner()).await?;
    Ok(HttpResponse::Ok().json(QuietShape::from(found)))
}

/// Changes somebody's quiet hours: one's own, or anybody's for those who manage.
#[utoipa::path(
    tag = "ladder",
    params(("id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = PersonQuietPut,
    responses(
        (status = 200, description = "What holds for them now", body = QuietShape),
        (status = 403, description = "Somebody else's", body = ProblemBody),
        (status = 404, description = "No such person in the shop", body = ProblemBody),
        (status = 422, description = "Not hours, or no zone", body = ProblemBody),
    )
)]
#[put("/api/people/{id}/quiet-hours")]
async fn quiet_put(
    id: web::Path<Uuid>,
    write: Write<PersonQuietPut>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let put = async move |store: &Store, caller: &Caller, body: PersonQuietPut| {
        let set = match (body.own, body.zone) {
            (false, _) => QuietPut::AsTheShop,
            (true, Some(zone)) => QuietPut::Own { hours: body.hours.map(Hours::from), zone },
            (true, None) => {
                let says = "Say by which zone's clock; one looks like America/Denver.";
                return Err(StoreError::invalid("/zone", says).into());
            }
        };
        Ok(QuietShape::from(quiet::quiet_put(store, caller, id, set).await?))
    };
    write.once(StatusCode::OK, put).await
}

impl From<Story> for LadderStory {
    fn from(story: Story) -> Self {
        LadderStory {
            weekend: story.variant == Variant::Weekend,
            minds_quiet: story.minds_quiet,
            starts: story.starts,
            steps: story
                .steps
                .into_iter()
                .map(|step| LadderStoryStep {
                    rung: step.rung,
                    at: step.at,
                    words: step.words,
                    asked: step.asked.into_iter().map(person).collect(),
                    told: step.told.into_iter().map(person).collect(),
                    quiet: step
                        .quiet
                        .into_iter()
                        .map(|(one, until)| LeftAlone { person: person(one), until })
                        .collect(),
                    held_until: step.held_until,
                })
                .collect(),
        }
    }
}

impl From<QuietOf> for QuietShape {
    fn from(quiet: QuietOf) -> Self {
        QuietShape { own: quiet.own, hours: quiet.hours.map(From::from), zone: quiet.zone }
    }
}

impl From<Hours> for HoursShape {
    fn from(hours: Hours) -> Self {
        HoursShape { from_min: hours.from_min, to_min: hours.to_min }
    }
}

impl From<HoursShape> for Hours {
    fn from(hours: HoursShape) -> Self {
        Hours { from_min: hours.from_min, to_min: hours.to_min }
    }
}

fn class_of(urgency: UrgencyShape) -> roster::queue::Urgency {
    let name = store::job::Urgency::from(urgency).name();
    roster::queue::Urgency::from_id(name).unwrap_or(roster::queue::Urgency::Comfort)
}

fn urgency_of(class: roster::queue::Urgency) -> UrgencyShape {
    use roster::queue::Urgency as Class;
    match class {
        Class::NoHeatVulnerable => UrgencyShape::NoHeatVulnerable,
        Class::Water => UrgencyShape::Water,
        Class::FoodStorage => UrgencyShape::FoodStorage,
        Class::NoHeatCool => UrgencyShape::NoHeatCool,
        Class::Comfort => UrgencyShape::Comfort,
    }
}

impl From<Ladders<Uuid>> for LaddersShape {
    fn from(ladders: Ladders<Uuid>) -> Self {
        LaddersShape {
            second_read: ladders.second_read.into(),
            urgent_job: ladders.urgent_job.into(),
            approval: ladders.approval.into(),
            urgent: ladders.urgent.into_iter().map(urgency_of).collect(),
            quiet: ladders.quiet.map(From::from),
            never_quiet: ladders.never_quiet.into_iter().map(urgency_of).collect(),
        }
    }
}

impl From<LaddersShape> for Ladders<Uuid> {
    fn from(ladders: LaddersShape) -> Self {
        Ladders {
            second_read: ladders.second_read.into(),
            urgent_job: ladders.urgent_job.into(),
            approval: ladders.approval.into(),
            urgent: ladders.urgent.into_iter().map(class_of).collect(),
            quiet: ladders.quiet.map(From::from),
            never_quiet: ladders.never_quiet.into_iter().map(class_of).collect(),
        }
    }
}

impl From<Steps<Uuid>> for StepsShape {
    fn from(steps: Steps<Uuid>) -> Self {
        let all = |steps: Vec<Step<Uuid>>| steps.into_iter().map(From::from).collect();
        StepsShape { week: all(steps.week), weekend: steps.weekend.map(all) }
    }
}

impl From<StepsShape> for Steps<Uuid> {
    fn from(steps: StepsShape) -> Self {
        let all = |steps: Vec<StepShape>| steps.into_iter().map(From::from).collect();
        Steps { week: all(steps.week), weekend: steps.weekend.map(all) }
    }
}

impl From<Step<Uuid>> for StepShape {
    fn from(step: Step<Uuid>) -> Self {
        StepShape {
            after_min: step.after_min,
            who: step.who.into_iter().map(From::from).collect(),
            how: match step.how {
                How::Live => HowShape::Live,
                How::Mail => HowShape::Mail,
            },
        }
    }
}

impl From<StepShape> for Step<Uuid> {
    fn from(step: StepShape) -> Self {
        Step {
            after_min: step.after_min,
            who: step.who.into_iter().map(From::from).collect(),
            how: match step.how {
                HowShape::Live => How::Live,
                HowShape::Mail => How::Mail,
            },
        }
    }
}

impl From<Who<Uuid>> for WhoShape {
    fn from(who: Who<Uuid>) -> Self {
        match who {
            Who::Best => WhoShape::Best,
            Who::Next { count } => WhoShape::Next { count },
            Who::Everyone => WhoShape::Everyone,
            Who::OnCall => WhoShape::OnCall,
            Who::SecondRota => WhoShape::SecondRota,
            Who::Schedulers => WhoShape::Schedulers,
            Who::Managers => WhoShape::Managers,
            Who::Owners => WhoShape::Owners,
            Who::Delegate => WhoShape::Delegate,
            Who::Person { person_id } => WhoShape::Person { person_id },
        }
    }
}

impl From<WhoShape> for Who<Uuid> {
    fn from(who: WhoShape) -> Self {
        match who {
            WhoShape::Best => Who::Best,
            WhoShape::Next { count } => Who::Next { count },
            WhoShape::Everyone => Who::Everyone,
            WhoShape::OnCall => Who::OnCall,
            WhoShape::SecondRota => Who::SecondRota,
            WhoShape::Schedulers => Who::Schedulers,
            WhoShape::Managers => Who::Managers,
            WhoShape::Owners => Who::Owners,
            WhoShape::Delegate => Who::Delegate,
            WhoShape::Person { person_id } => Who::Person { person_id },
        }
    }
}
