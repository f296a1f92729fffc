//! What the API is told at start.
//!
//! Belongs here: the values that differ between a demo, a shop and a test. Does not belong
//! here: reading the environment; that is the binary's.

use std::path::PathBuf;

use crate::demo::DemoSignIn;

/// What differs from place to place.
#[derive(Clone)]
pub struct Config {
    /// Signs access tokens. Tokens signed by another one are refused, and the page then
    /// refreshes by itself; so a new one at each start costs nobody a sign-in.
    pub token_secret: Vec<u8>,
    /// Whether cookies are for encrypted connections only. Off for the demo on plain HTTP.
    pub cookies_secure: bool,
    /// Whether a reverse proxy in front tells the caller's address in `X-Forwarded-For`.
    /// Without a proxy this must stay off: the header would let anyone choose an address.
    pub behind_proxy: bool,
    /// The built web client, where there is one.
    pub web_dir: Option<PathBuf>,
    /// Whom the page offers to sign in as; empty anywhere but in a demo.
    pub demo_sign_ins: Vec<DemoSignIn>,
    /// Sign-in tries allowed per minute and address.
    pub signin_per_min_max: u32,
}

/// Sign-in tries per minute and address unless told otherwise; further ones get 429.
pub const SIGNIN_PER_MIN_MAX: u32 = 30;

impl Config {
    /// Plain HTTP on one machine, without a web client.
    pub fn local(token_secret: Vec<u8>) -> Self {
        Config {
            token_secret,
            cookies_secure: false,
            behind_proxy: false,
            web_dir: None,
            demo_sign_ins: Vec::new(),
            signin_per_min_max: SIGNIN_PER_MIN_MAX,
        }
    }
}
