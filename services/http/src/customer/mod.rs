//! Customers.
//!
//! Belongs here: the routes and wire shapes of this noun. Does not belong here: its rules.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, patch, post, web};
use serde::{Deserialize, Serialize};
use store::customer::find::{Finds, Found, FoundSite, customer_search as customer_search_in};
use store::customer::{Customer, CustomerChange, CustomerNew, CustomerWhole};
use store::{Caller, Store};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::Write;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::absent_or;
use crate::site::SiteShape;
use crate::unit::UnitShape;

/// A customer.
#[derive(Serialize, ToSchema)]
#[schema(as = Customer)]
pub struct CustomerShape {
    /// Id.
    pub id: Uuid,
    /// Name.
    pub name: String,
    /// Telephone.
    pub phone: Option<String>,
    /// Address for reports and offers.
    pub email: Option<String>,
    /// Anything worth knowing.
    pub notes: String,
    /// Counts changes.
    pub version: i32,
}

/// A customer with their sites, and each site's units.
#[derive(Serialize, ToSchema)]
#[schema(as = CustomerWhole)]
pub struct CustomerWholeShape {
    /// The customer.
    #[serde(flatten)]
    customer: CustomerShape,
    /// The sites.
    sites: Vec<SiteWholeShape>,
}

/// A site with its units.
#[derive(Serialize, ToSchema)]
#[schema(as = SiteWhole)]
pub struct SiteWholeShape {
    /// The site.
    #[serde(flatten)]
    site: SiteShape,
    /// The units.
    units: Vec<UnitShape>,
}

/// A new customer.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerAdd {
    /// Name.
    name: String,
    /// Telephone.
    #[serde(default)]
    phone: Option<String>,
    /// Address for reports and offers.
    #[serde(default)]
    email: Option<String>,
    /// Anything worth knowing.
    #[serde(default)]
    notes: String,
}

/// What to change of a customer; what is absent stays, null clears.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerPatch {
    /// The version that was looked at; where given, a newer one is not overwritten.
    #[serde(default)]
    version: Option<i32>,
    /// Name.
    #[serde(default)]
    name: Option<String>,
    /// Telephone.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<String>)]
    phone: Option<Option<String>>,
    /// Address for reports and offers.
    #[serde(default, deserialize_with = "absent_or")]
    #[schema(value_type = Option<String>)]
    email: Option<Option<String>>,
    /// Anything worth knowing.
    #[serde(default)]
    notes: Option<String>,
}

/// What to look for.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CustomerSought {
    /// 2 to 80 characters; every word must be found. Nobody is, where it is empty.
    #[serde(default)]
    q: String,
}

/// Customers who match.
#[derive(Serialize, ToSchema)]
pub struct CustomerFinds {
    /// At most 12, by name; those whose name begins with the first word come first.
    customers: Vec<FoundCustomer>,
    /// Whether there are more: another letter helps.
    more: bool,
}

/// A customer who was found, with what is needed to take their call.
#[derive(Serialize, ToSchema)]
pub struct FoundCustomer {
    /// Id.
    id: Uuid,
    /// Name.
    name: String,
    /// Telephone.
    phone: Option<String>,
    /// Their sites.
    sites: Vec<FoundSiteShape>,
}

/// A site of theirs.
#[derive(Serialize, ToSchema)]
#[schema(as = FoundSite)]
pub struct FoundSiteShape {
    /// Id.
    id: Uuid,
    /// Street and number.
    address: String,
    /// Town.
    town: String,
    /// Its units.
    units: Vec<FoundUnit>,
}

/// A unit of theirs.
#[derive(Serialize, ToSchema)]
pub struct FoundUnit {
    /// Id.
    id: Uuid,
    /// What people call it.
    label: String,
    /// Maker and model; may be empty.
    model: String,
}

impl From<Finds> for CustomerFinds {
    fn from(finds: Finds) -> Self {
        let unit = |(id, label, model)| FoundUnit { id, label, model };
        let site = |site: FoundSite| FoundSiteShape {
            id: site.id,
            address: site.address,
            town: site.town,
            units: site.units.into_iter().map(unit).collect(),
        };
        let customer = |one: Found| FoundCustomer {
            id: one.id,
            name: one.name,
            phone: one.phone,
            sites: one.sites.into_iter().map(site).collect(),
        };
        CustomerFinds {
            customers: finds.customers.into_iter().map(customer).collect(),
            more: finds.more,
        }
    }
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(customer_list)
        .service(customer_search)
        .service(customer_add)
        .service(customer_show)
        .service(customer_change);
}

/// The shop's customers, by name.
#[utoipa::path(tag = "customer", responses(
    (status = 200, description = "The customers", body = Vec<CustomerShape>),
    (status = 401, description = "Not signed in", body = ProblemBody),
))]
#[get("/api/customers")]
async fn customer_list(
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let customers = store::customer::customer_list(&state.store, &caller).await?;
    let shapes: Vec<_> = customers.into_iter().map(CustomerShape::from).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

/// Finds customers by a piece of a name, a telephone number or an address, as somebody types.
#[utoipa::path(tag = "customer",
    params(CustomerSought),
    responses(
        (status = 200, description = "Those who match", body = CustomerFinds),
        (status = 401, description = "Not signed in", body = ProblemBody),
        (status = 422, description = "Too short or too long a text", body = ProblemBody),
    ))]
#[get("/api/customers/search")]
async fn customer_search(
    ask: web::Query<CustomerSought>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let finds = customer_search_in(&state.store, &caller, &ask.q).await?;
    Ok(HttpResponse::Ok().json(CustomerFinds::from(finds)))
}

/// A customer with sites and units.
#[utoipa::path(tag = "customer",
    params(("id" = Uuid, Path, description = "The customer")),
    responses(
        (status = 200, description = "The customer", body = CustomerWholeShape),
        (status = 404, description = "No such customer", body = ProblemBody),
    ))]
#[get("/api/customers/{id}")]
async fn customer_show(
    id: web::Path<Uuid>,
    caller: SignedIn,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let whole = store::customer::customer_find(&state.store, &caller, *id).await?;
    Ok(HttpResponse::Ok().json(CustomerWholeShape::from(whole)))
}

/// Adds a customer.
#[utoipa::path(tag = "customer",
    params(("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write")),
    request_body = CustomerAdd,
    responses(
        (status = 201, description = "Added", body = CustomerShape),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[post("/api/customers")]
async fn customer_add(write: Write<CustomerAdd>) -> Result<HttpResponse, Problem> {
    let work = async |store: &Store, caller: &Caller, new: CustomerAdd| {
        let new =
            CustomerNew { name: new.name, phone: new.phone, email: new.email, notes: new.notes };
        let customer = store::customer::customer_add(store, caller, new).await?;
        Ok(CustomerShape::from(customer))
    };
    write.once(StatusCode::CREATED, work).await
}

/// Changes a customer.
#[utoipa::path(tag = "customer",
    params(
        ("id" = Uuid, Path, description = "The customer"),
        ("Idempotency-Key" = Uuid, Header, description = "A fresh UUID for each new write"),
    ),
    request_body = CustomerPatch,
    responses(
        (status = 200, description = "As it is now", body = CustomerShape),
        (status = 404, description = "No such customer", body = ProblemBody),
        (status = 409, description = "Someone changed it meanwhile", body = ProblemBody),
        (status = 422, description = "Some values cannot be accepted", body = ProblemBody),
    ))]
#[patch("/api/customers/{id}")]
async fn customer_change(
    id: web::Path<Uuid>,
    write: Write<CustomerPatch>,
) -> Result<HttpResponse, Problem> {
    let id = id.into_inner();
    let work = async move |store: &Store, caller: &Caller, patch: CustomerPatch| {
        let change = CustomerChange {
            version: patch.version,
            name: patch.name,
            phone: patch.phone,
            email: patch.email,
            notes: patch.notes,
        };
        let customer = store::customer::customer_change(store, caller, id, change).await?;
        Ok(CustomerShape::from(customer))
    };
    write.once(StatusCode::OK, work).await
}

impl From<Customer> for CustomerShape {
    fn from(customer: Customer) -> Self {
        CustomerShape {
            id: customer.id,
            name: customer.name,
            phone: customer.phone,
            email: customer.email,
            notes: customer.notes,
            version: customer.version,
        }
    }
}

impl From<CustomerWhole> for CustomerWholeShape {
    fn from(whole: CustomerWhole) -> Self {
        let site = |(site, units): (store::site::Site, Vec<store::unit::Unit>)| SiteWholeShape {
            site: site.into(),
            units: units.into_iter().map(UnitShape::from).collect(),
        };
        CustomerWholeShape {
            customer: whole.customer.into(),
            sites: whole.sites.into_iter().map(site).collect(),
        }
    }
}
