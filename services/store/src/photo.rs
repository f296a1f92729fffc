//! Photos on a job: kept once by what they are, shown to whoever may see the thread.
//!
//! Belongs here: keeping and handing out. Does not belong here: what makes a picture fit to be
//! kept ([`picture`]), and the message that shows it ([`crate::thread`]).
//!
//! The bytes are in a table of their own, keyed by SHA-256, and not in the message's row: a
//! thread is read often and whole, a picture now and then. They are in the database and not in
//! a folder, so that two server processes on one PostgreSQL have the same ones and a backup of
//! the one thing holds everything.

use std::sync::Arc;

use sea_orm::{ConnectionTrait, FromQueryResult};
use sha2::{Digest as _, Sha256};
use tokio::sync::Semaphore;
use uuid::Uuid;

use crate::db::{Store, sql};
use crate::error::StoreError;
use crate::person::Caller;
use crate::text::hex;
use crate::thread;

pub mod picture;

pub use picture::{PHOTO_BYTES_MAX, PREVIEW_SIDE_PX, SIDE_PX_MAX};

/// Pictures decoded at one time in this process; further ones wait. Each may take
/// [`picture::DECODED_BYTES_MAX`] of memory.
const DECODED_AT_ONCE_MAX: usize = 2;

/// Photos that a job may have; a further one is refused.
pub const PHOTOS_MAX: i64 = 300;

/// Media type of everything that is handed out.
pub const MEDIA_TYPE: &str = "image/jpeg";

static DECODING: Semaphore = Semaphore::const_new(DECODED_AT_ONCE_MAX);

/// A photo as kept.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Photo {
    /// Its id.
    pub id: Uuid,
    /// Pixels across, after turning it upright.
    pub width_px: i32,
    /// Pixels down.
    pub height_px: i32,
}

/// Which of the two sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// At most [`SIDE_PX_MAX`] on its longer side.
    Whole,
    /// At most [`PREVIEW_SIDE_PX`] on its longer side.
    Preview,
}

/// Keeps a photo of a job, made anew from its pixels alone.
///
/// # Errors
/// `Invalid` at "/content" when it is no picture that is taken, `NotFound`, `Forbidden` while
/// the caller owes a blind read on the job, `Conflict` when the job has [`PHOTOS_MAX`].
pub async fn photo_keep(
    store: &Store,
    caller: &Caller,
    job_id: Uuid,
    bytes: Vec<u8>,
) -> Result<Photo, StoreError> {
    // Before any work is done on it.
    thread::must_see(store.conn(), caller, job_id).await?;
    let permit = DECODING.acquire().await;
    let span = tracing::Span::current();
    let made = tokio::task::spawn_blocking(move || span.in_scope(|| picture::make(&bytes)))
        .await
        .map_err(|source| StoreError::Unavailable {
            what: "the picture maker",
            source: Some(Box::new(source)),
        })?
        .map_err(|refusal| StoreError::invalid("/content", refusal.to_string()))?;
    drop(permit);

    let txn = store.begin().await?;
    thread::must_see(&txn, caller, job_id).await?;
    let whole = content_keep(store, &txn, made.whole).await?;
    let preview = content_keep(store, &txn, made.preview).await?;
    let photo = Photo { id: store.new_id(), width_px: made.width_px, height_px: made.height_px };
    let kept = txn
        .execute_raw(sql(
            "INSERT INTO photo (id, shop_id, job_id, by, whole, preview, width_px, height_px, at) \
             SELECT $1, $2, $3, $4, $5, $6, $7, $8, $9 \
             WHERE (SELECT count(*) FROM photo WHERE job_id = $3) < $10",
            [
                photo.id.into(),
                caller.shop_id.into(),
                job_id.into(),
                caller.person_id.into(),
                whole.into(),
                preview.into(),
                photo.width_px.into(),
                photo.height_px.into(),
                store.now().into(),
                PHOTOS_MAX.into(),
            ],
        ))
        .await?;
    if kept.rows_affected() == 0 {
        return Err(StoreError::conflict(
            "too-many-photos",
            format!("This job has {PHOTOS_MAX} photos, which is as many as it can have."),
        ));
    }
    txn.commit().await?;
    Ok(photo)
}

async fn content_keep<C: ConnectionTrait>(
    store: &Store,
    txn: &C,
    bytes: Vec<u8>,
) -> Result<String, StoreError> {
    let sha256 = hex(&Sha256::digest(&bytes));
    txn.execute_raw(sql(
        "INSERT INTO photo_content (sha256, media_type, bytes, made_at) \
         VALUES ($1, $2, $3, $4) ON CONFLICT (sha256) DO NOTHING",
        [sha256.clone().into(), MEDIA_TYPE.into(), bytes.into(), store.now().into()],
    ))
    .await?;
    Ok(sha256)
}

/// A photo's bytes, for whoever may see the thread of its job now.
///
/// # Errors
/// `NotFound`, or `Forbidden` while the caller owes a blind read on the job.
pub async fn photo_bytes(
    store: &Store,
    caller: &Caller,
    photo_id: Uuid,
    size: Size,
) -> Result<Arc<[u8]>, StoreError> {
    #[derive(FromQueryResult)]
    struct Row {
        job_id: Uuid,
        bytes: Vec<u8>,
    }
    let row = Row::find_by_statement(sql(
        "SELECT photo.job_id, photo_content.bytes FROM photo JOIN photo_content \
             ON photo_content.sha256 = CASE WHEN $3 THEN photo.preview ELSE photo.whole END \
         WHERE photo.shop_id = $1 AND photo.id = $2",
        [caller.shop_id.into(), photo_id.into(), (size == Size::Preview).into()],
    ))
    .one(store.conn())
    .await?
    .ok_or(StoreError::NotFound { what: "photo" })?;
    // Read first and asked after: a blind read that began in between keeps it back.
    thread::must_see(store.conn(), caller, row.job_id).await?;
    Ok(row.bytes.into())
}

/// The caller's photo on that job, for a message that shows it.
pub(crate) async fn photo_of<C: ConnectionTrait>(
    conn: &C,
    caller: &Caller,
    job_id: Uuid,
    photo_id: Option<Uuid>,
) -> Result<Photo, StoreError> {
    Photo::find_by_statement(sql(
        "SELECT id, width_px, height_px FROM photo \
         WHERE shop_id = $1 AND job_id = $2 AND by = $3 AND id = $4",
        [caller.shop_id.into(), job_id.into(), caller.person_id.into(), photo_id.into()],
    ))
    .one(conn)
    .await?
    .ok_or_else(|| {
        StoreError::invalid(
            "/body/photo_id",
            "There is no such photo of yours on this job; send it to the job's photos first.",
        )
    })
}
