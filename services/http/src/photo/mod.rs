//! Photos on a job.
//!
//! Belongs here: the routes and wire shapes of photos. Does not belong here: what is made of a
//! picture (the store's), and the message that shows it, which is said in the thread.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, get, post, web};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use store::photo::{self, MEDIA_TYPE, PHOTO_BYTES_MAX, Photo, Size};
use store::{Caller, Store};
use utoipa::{IntoParams, ToSchema};
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

use crate::app::AppState;
use crate::auth::SignedIn;
use crate::idempotency::LargeWrite;
use crate::problem::{ErrorAt, Problem, ProblemBody};

/// Bytes of a body with a photo in base64; a larger one gets 413.
pub const PHOTO_BODY_BYTES_MAX: usize = PHOTO_BYTES_MAX / 3 * 4 + 4 * 1024;

/// A photo to be kept.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPhoto {
    /// A JPEG, PNG or WebP file in base64.
    #[schema(content_encoding = "base64")]
    pub content: String,
}

/// A photo as kept: upright, smaller, and without anything but its pixels.
#[derive(Debug, Serialize, ToSchema)]
pub struct KeptPhoto {
    /// Its id, for a message of kind `photo` and for fetching it.
    pub id: Uuid,
    /// Pixels across.
    pub width_px: i32,
    /// Pixels down.
    pub height_px: i32,
}

/// Which size.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Wanted {
    /// The small one, for a list.
    #[serde(default)]
    pub preview: bool,
}

/// The routes of this noun.
pub fn routes(cfg: &mut ServiceConfig<'_>) {
    cfg.service(photo_keep).service(photo_show);
}

/// Keeps a photo of a job. It is shown once a message of kind `photo` names it.
#[utoipa::path(
    tag = "thread",
    params(("job_id" = Uuid, Path), ("Idempotency-Key" = Uuid, Header)),
    request_body = NewPhoto,
    responses(
        (status = 201, description = "Kept", body = KeptPhoto),
        (status = 403, description = "The caller owes a blind read on the job", body = ProblemBody),
        (status = 404, description = "No such job in the shop", body = ProblemBody),
        (status = 409, description = "The job has as many as it can have", body = ProblemBody),
        (status = 413, description = "The file is too large", body = ProblemBody),
        (status = 422, description = "No picture that is taken, and why", body = ProblemBody),
    )
)]
#[post("/api/jobs/{job_id}/photos")]
async fn photo_keep(
    job_id: web::Path<Uuid>,
    write: LargeWrite<NewPhoto, PHOTO_BODY_BYTES_MAX>,
) -> Result<HttpResponse, Problem> {
    let job_id = job_id.into_inner();
    let keep = async move |store: &Store, caller: &Caller, new: NewPhoto| {
        let bytes = STANDARD.decode(new.content.as_bytes()).map_err(|_| {
            let says = "This is not base64; send the file's bytes in it.".to_owned();
            Problem::invalid(vec![ErrorAt::new("/content", says)])
        })?;
        Ok(KeptPhoto::from(photo::photo_keep(store, caller, job_id, bytes).await?))
    };
    write.0.once(StatusCode::CREATED, keep).await
}

/// A photo's bytes, for whoever may see the thread of its job.
#[utoipa::path(
    tag = "thread",
    params(("photo_id" = Uuid, Path), Wanted),
    responses(
        (status = 200, description = "The picture", body = Vec<u8>, content_type = "image/jpeg"),
        (status = 403, description = "The caller owes a blind read on the job", body = ProblemBody),
        (status = 404, description = "No such photo in the shop", body = ProblemBody),
    )
)]
#[get("/api/photos/{photo_id}")]
async fn photo_show(
    caller: SignedIn,
    photo_id: web::Path<Uuid>,
    wanted: web::Query<Wanted>,
    state: web::Data<AppState>,
) -> Result<HttpResponse, Problem> {
    let size = if wanted.preview { Size::Preview } else { Size::Whole };
    let bytes = photo::photo_bytes(&state.store, &caller, photo_id.into_inner(), size).await?;
    Ok(HttpResponse::Ok()
        .content_type(MEDIA_TYPE)
        // Whether it may be seen changes: no cache of a browser may answer that.
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::CONTENT_DISPOSITION, "inline; filename=\"photo.jpg\""))
        .body(bytes.to_vec()))
}

impl From<Photo> for KeptPhoto {
    fn from(photo: Photo) -> Self {
        KeptPhoto { id: photo.id, width_px: photo.width_px, height_px: photo.height_px }
    }
}
