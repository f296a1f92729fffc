//! Who reads for whom.
//!
//! Belongs here: the route and wire shape of the counts by pair. Does not belong here: how
//! they are drawn, and what anybody makes of them.

use actix_web::{HttpResponse, get, web};
use serde::Serialize;
use store::pairs::Pair;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::evidence::shapes::person;
use crate::problem::{Problem, ProblemBody};
use crate::shapes::PersonRef;

/// One requester with one reader, over the requests that have ended.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ReaderPair)]
pub struct PairShape {
    /// Who asked.
    pub requester: PersonRef,
    /// Who read.
    pub reader: PersonRef,
    /// Whether the reader was a guest.
    pub guest: bool,
    /// Blind reads.
    pub reads: i64,
    /// Those that named the component claimed.
    pub agreed: i64,
    /// Signatures.
    pub signed: i64,
    /// Seconds from seeing the claim to signing it, one per signature, shortest first.
    pub seconds: Vec<i64>,
}

/// The route of the counts.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(pair_list);
}

/// Who reads for whom, how often they agree and how soon they sign; for those who manage.
#[utoipa::path(
    tag = "request",
    responses(
        (status = 200, description = "By pair, those with most reads first", body = Vec<PairShape>),
        (status = 403, description = "Only for those who manage", body = ProblemBody),
    )
)]
#[get("/api/reads/pairs")]
async fn pair_list(caller: SignedIn, state: web::Data<AppState>) -> Result<HttpResponse, Problem> {
    let pairs = store::pairs::list(&state.store, &caller).await?;
    let shapes: Vec<_> = pairs.into_iter().map(PairShape::from).collect();
    Ok(HttpResponse::Ok().json(shapes))
}

impl From<Pair> for PairShape {
    fn from(pair: Pair) -> Self {
        PairShape {
            requester: person(pair.requester),
            reader: person(pair.reader),
            guest: pair.guest,
            reads: pair.reads,
            agreed: pair.agreed,
            signed: pair.signed,
            seconds: pair.seconds,
        }
    }
}
