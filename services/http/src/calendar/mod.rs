//! The shop's calendar: opening hours, holidays, the rest rule.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: what follows from
//! a calendar, which is the roster's.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, put, web};
use chrono::{Datelike as _, NaiveDate};
use roster::calendar::{Calendar, Hours, OwnDay, Settings, holidays};
use roster::rest::{OnBreak, RestRule};
use serde::{Deserialize, Serialize};
use store::{Caller, Store};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

/// How many years of public holidays are listed, from this year on.
const YEARS_LISTED: i32 = 2;

/// A stretch of opening in a day, by the clock on the shop's wall.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpenHours)]
pub struct HoursShape {
    /// Minutes after midnight, 0 to 1439.
    from_min: u16,
    /// Minutes after midnight, above `from_min`, at most 1440.
    to_min: u16,
}

/// A day that the shop itself says something about.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OwnDay)]
pub struct OwnDayShape {
    /// The day.
    date: NaiveDate,
    /// What it is called.
    name: String,
    /// Whether the shop is open on it as on any such weekday; otherwise it is a holiday.
    open: bool,
}

/// What happens to a change of the rota that breaks the rest rule.
#[derive(Clone, Copy, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = OnBreak)]
pub enum OnBreakShape {
    /// It is done, and said.
    Warn,
    /// It is refused.
    Refuse,
}

/// The shop's rest rule. The defaults are common practice, no source; local law decides.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RestRule)]
pub struct RestShape {
    /// Minutes without work that make a rest, 240 to 1440.
    rest_min: i64,
    /// Longest run of work without a rest, minutes, 240 to 1440.
    duty_max_min: i64,
    /// Most nights on call in a row, 1 to 31.
    nights_on_call_max: u32,
    /// What happens to a change that breaks it.
    on_break: OnBreakShape,
}

/// What a shop says of its hours and days.
#[derive(Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = CalendarPut)]
pub struct CalendarPut {
    /// Opening by weekday, Monday first: seven lists, each in order.
    week: Vec<Vec<HoursShape>>,
    /// Whose public holidays; null for none.
    #[serde(default)]
    country: Option<String>,
    /// Days of the shop's own: closed ones added, public holidays struck out.
    #[serde(default)]
    own_days: Vec<OwnDayShape>,
    /// The rest rule.
    rest: RestShape,
}

/// A holiday as the shop keeps it.
#[derive(Serialize, ToSchema)]
#[schema(as = Holiday)]
pub struct HolidayShape {
    /// The day.
    date: NaiveDate,
    /// Its name.
    name: String,
}

/// The shop's calendar.
#[derive(Serialize, ToSchema)]
#[schema(as = ShopCalendar)]
pub struct CalendarShape {
    /// The zone of its wall.
    zone: String,
    /// What the shop says.
    settings: CalendarPut,
    /// The holidays that follow, this year's and next year's.
    holidays: Vec<HolidayShape>,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(calendar_show).service(calendar_change).service(calendar_countries);
}

/// The shop's calendar.
#[utoipa::path(tag = "calendar", responses(
    (status = 200, description = "The calendar", body = CalendarShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/calendar")]
async fn calendar_show(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let calendar = store::calendar::of_shop(state.store.conn(), caller.shop_id).await?;
    Ok(HttpResponse::Ok().json(CalendarShape::new(&calendar, &state.store)))
}

/// The countries whose public holidays are known.
#[utoipa::path(tag = "calendar", responses(
    (status = 200, description = "Their English names, in order", body = Vec<String>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/calendar/countries")]
async fn calendar_countries(_caller: SignedIn) -> HttpResponse {
    HttpResponse::Ok().json(holidays::countries())
}

/// Replaces what the shop says of its hours and days. It is on the record.
#[utoipa::path(tag = "calendar",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = CalendarPut,
    responses(
        (status = 200, description = "As it is now", body = CalendarShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[put("/api/calendar")]
async fn calendar_change(write: Write<CalendarPut>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, put: CalendarPut| {
        let calendar = store::calendar::calendar_change(store, caller, put.try_into()?).await?;
        Ok(CalendarShape::new(&calendar, store))
    };
    write.once(StatusCode::OK, work).await
}

impl CalendarShape {
    fn new(calendar: &Calendar, store: &Store) -> Self {
        let this_year = calendar.date(store.now()).year();
        let days = (this_year..this_year + YEARS_LISTED)
            .filter_map(|year| NaiveDate::from_ymd_opt(year, 1, 1))
            .flat_map(|first| first.iter_days().take_while(move |day| day.year() == first.year()));
        CalendarShape {
            zone: calendar.zone().name().to_owned(),
            settings: calendar.settings().into(),
            holidays: days
                .filter_map(|date| {
                    Some(HolidayShape { date, name: calendar.holiday(date)?.to_owned() })
                })
                .collect(),
        }
    }
}

impl From<&Settings> for CalendarPut {
    fn from(settings: &Settings) -> Self {
        let hours = |hours: &Hours| HoursShape { from_min: hours.from_min, to_min: hours.to_min };
        let own =
            |day: &OwnDay| OwnDayShape { date: day.date, name: day.name.clone(), open: day.open };
        CalendarPut {
            week: settings.week.iter().map(|day| day.iter().map(hours).collect()).collect(),
            country: settings.country.clone(),
            own_days: settings.own_days.iter().map(own).collect(),
            rest: RestShape {
                rest_min: settings.rest.rest_min,
                duty_max_min: settings.rest.duty_max_min,
                nights_on_call_max: settings.rest.nights_on_call_max,
                on_break: match settings.rest.on_break {
                    OnBreak::Warn => OnBreakShape::Warn,
                    OnBreak::Refuse => OnBreakShape::Refuse,
                },
            },
        }
    }
}

impl TryFrom<CalendarPut> for Settings {
    type Error = store::StoreError;

    fn try_from(put: CalendarPut) -> Result<Self, store::StoreError> {
        let hours = |hours: HoursShape| Hours { from_min: hours.from_min, to_min: hours.to_min };
        let week: Vec<Vec<Hours>> =
            put.week.into_iter().map(|day| day.into_iter().map(hours).collect()).collect();
        let week = week.try_into().map_err(|week: Vec<_>| {
            store::StoreError::invalid(
                "/week",
                format!("A week has seven lists, Monday first; there are {}.", week.len()),
            )
        })?;
        let own = |day: OwnDayShape| OwnDay {
            date: day.date,
            name: day.name.trim().to_owned(),
            open: day.open,
        };
        Ok(Settings {
            week,
            country: put.country.filter(|country| !country.trim().is_empty()),
            own_days: put.own_days.into_iter().map(own).collect(),
            rest: RestRule {
                rest_min: put.rest.rest_min,
                duty_max_min: put.rest.duty_max_min,
                nights_on_call_max: put.rest.nights_on_call_max,
                on_break: match put.rest.on_break {
                    OnBreakShape::Warn => OnBreak::Warn,
                    OnBreakShape::Refuse => OnBreak::Refuse,
                },
            },
        })
    }
}
