//! Passwords: hashing, checking, and what one must look like.
//!
//! Belongs here: argon2id, off the async threads. Does not belong here: who signs in
//! ([`crate::session`]).

use std::sync::OnceLock;

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher as _, PasswordVerifier as _};
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;

use crate::ambient::Ambient;
use crate::error::StoreError;
use crate::text::Faults;

/// Shortest password accepted. Length is what makes guessing hopeless; no rule about kinds of
/// characters is made.
pub const CHARS_MIN: usize = 10;

/// Longest password accepted; hashing a longer one would only cost time.
pub const CHARS_MAX: usize = 200;

/// Passwords hashed at once; each takes 19 MiB and tens of milliseconds, so that a flood of
/// sign-ins waits rather than starving everything else.
const HASHED_AT_ONCE_MAX: usize = 2;

/// Random bytes that make equal passwords hash differently.
const SALT_BYTES: usize = 16;

static HASHING: Semaphore = Semaphore::const_new(HASHED_AT_ONCE_MAX);

/// Notes what is wrong with a new password.
pub(crate) fn check(faults: &mut Faults, pointer: &str, password: &str) {
    let chars = password.chars().count();
    if chars < CHARS_MIN {
        faults.add(
            pointer,
            format!("A password needs at least {CHARS_MIN} characters; a short sentence is good."),
        );
    } else if chars > CHARS_MAX {
        faults.add(pointer, format!("A password may have at most {CHARS_MAX} characters."));
    }
}

/// Hashes a new password.
///
/// # Errors
/// When hashing fails, which is ours to mend.
pub async fn hash(ambient: &Ambient, password: &str) -> Result<String, StoreError> {
    let mut salt = [0; SALT_BYTES];
    ambient.generator.fill(&mut salt);
    let password = password.to_owned();
    let _turn = HASHING.acquire().await;
    let hashed = spawn_blocking(move || {
        Argon2::default()
            .hash_password_with_salt(password.as_bytes(), &salt)
            .map(|hash: PasswordHash| hash.to_string())
    });
    hashed
        .await
        .map_err(|source| StoreError::corrupt("password", source))?
        .map_err(|source| StoreError::corrupt("password", source))
}

/// Whether a password is the one hashed. Without a hash, because nobody has that address, it
/// takes as long and is false, so that the time does not tell who works here.
///
/// # Errors
/// When the hash cannot be read.
pub(crate) async fn verify(password: &str, hash: Option<String>) -> Result<bool, StoreError> {
    let password = password.to_owned();
    let _turn = HASHING.acquire().await;
    let verified = spawn_blocking(move || {
        let somebody = hash.is_some();
        let hash = hash.unwrap_or_else(|| of_nobody().to_owned());
        let hash = PasswordHash::new(&hash)?;
        let right = Argon2::default().verify_password(password.as_bytes(), &hash).is_ok();
        Ok::<_, argon2::password_hash::phc::Error>(right && somebody)
    });
    verified
        .await
        .map_err(|source| StoreError::corrupt("password", source))?
        .map_err(|source| StoreError::corrupt("password", source))
}

/// A hash that costs as much as anybody's and that no password is let in by.
fn of_nobody() -> &'static str {
    static HASH: OnceLock<String> = OnceLock::new();
    HASH.get_or_init(|| {
        Argon2::default()
            .hash_password_with_salt(b"", &[0; SALT_BYTES])
            .map(|hash: PasswordHash| hash.to_string())
            .unwrap_or_default()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn only_the_right_password_is_right() {
        let ambient = Ambient::from_os().unwrap();

        let hashed = hash(&ambient, "a quiet compressor").await.unwrap();

        assert!(hashed.starts_with("$argon2id$"));
        assert!(verify("a quiet compressor", Some(hashed.clone())).await.unwrap());
        assert!(!verify("a loud compressor", Some(hashed)).await.unwrap());
        assert!(!verify("", None).await.unwrap());
    }
}
