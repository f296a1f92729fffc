//! People, and who I am.
//!
//! Belongs here: the routes of this noun. Does not belong here: its shapes ([`shapes`]) and
//! its rules.

mod shapes;

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, post, web};
use store::{Caller, Store};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};

pub use shapes::{MeShape, PersonAdd, PersonPatch, PersonShape, QualificationShape, RoleShape};

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(me_show).service(person_list).service(person_add).service(person_change);
}

/// Who I am, in which shop.
#[utoipa::path(tag = "person", responses(
    (status = 200, description = "The caller", body = MeShape),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/me")]
async fn me_show(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let me = me_of(&state.store, caller.shop_id, caller.person_id).await?;
    Ok(HttpResponse::Ok().json(me))
}

/// A person with their shop.
///
/// # Errors
/// When the database fails.
pub(crate) async fn me_of(
    store: &Store,
    shop_id: Uuid,
    person_id: Uuid,
) -> Result<MeShape, Problem> {
    let person = store::person::person_find(store.conn(), shop_id, person_id).await?;
    let shop = store::shop::shop_find(store.conn(), shop_id).await?;
    Ok(MeShape { person: person.into(), shop: shop.into() })
}

/// Everyone in the shop, by name.
#[utoipa::path(tag = "person", responses(
    (status = 200, description = "The people", body = Vec<PersonShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/people")]
async fn person_list(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let people = store::person::person_list(state.store.conn(), caller.shop_id).await?;
    let shapes: Vec<_> = people.into_iter().map(PersonShape::from).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Adds a person to the shop.
#[utoipa::path(tag = "person",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = PersonAdd,
    responses(
        (status = 201, description = "Added", body = PersonShape),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
        (status = 409, description = "The e-mail address is taken", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/people")]
async fn person_add(write: Write<PersonAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, new: PersonAdd| {
        let person = store::person::person_add(store, caller, new.into()).await?;
        Ok(PersonShape::from(person))
    };
    write.once(StatusCode::CREATED, work).await
}

/// Changes a person: anyone for those who manage, others their own name, telephone, password.
#[utoipa::path(tag = "person",
    params(
        ("id" = Uuid, Path, description = "The person"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = PersonPatch,
    responses(
        (status = 200, description = "As they are now", body = PersonShape),
        (status = 403, description = "Not theirs to change", body = ProblemBody),
        (status = 404, description = "No such person", body = ProblemBody),
        (status = 409, description = "The last owner", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/people/{id}")]
async fn person_change(
    id: web::Path<Uuid>,
    write: Write<PersonPatch>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, patch: PersonPatch| {
        let person = store::person::person_change(store, caller, id, patch.into()).await?;
        Ok(PersonShape::from(person))
    };
    write.once(StatusCode::OK, work).await
}
