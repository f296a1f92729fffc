//! `/live`: a request with a ticket becomes a byte stream in memory.
//!
//! Belongs here: the opening handshake (RFC 6455, 4.2), the origin, the ticket, and carrying
//! bytes both ways. Does not belong here: frames. Whoever puts the application together hands
//! in a [`LiveMount`], so that this crate does not know the one that speaks the protocol.

use std::sync::Arc;

use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderMap};
use actix_web::{HttpRequest, HttpResponse, rt, web};
use bytes::{Bytes, BytesMut};
use futures_util::future::BoxFuture;
use futures_util::{Stream, StreamExt as _, stream};
use serde::Deserialize;
use store::{Caller, guest, live_ticket};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, DuplexStream, ReadHalf, WriteHalf};
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;

use crate::app::AppState;
use crate::problem::Problem;

/// Bytes that wait in memory between the socket and the protocol, each way; at that many the
/// faster side waits.
const BRIDGE_BYTES_MAX: usize = 64 * 1024;

/// Bytes carried out at once; an idle socket holds as many.
const CARRY_BYTES: usize = 1024;

/// Serves one stream whose opening handshake is done, for a caller who is known, until it
/// ends.
pub type LiveMount = Arc<dyn Fn(Caller, DuplexStream) -> BoxFuture<'static, ()> + Send + Sync>;

/// What comes with the address.
#[derive(Deserialize)]
struct Entry {
    ticket: String,
}

/// Puts the stream at `/live`.
pub fn mount(cfg: &mut web::ServiceConfig, live: LiveMount) {
    cfg.app_data(web::Data::new(live)).route("/live", web::get().to(live_open));
}

async fn live_open(
    req: HttpRequest,
    payload: web::Payload,
    entry: web::Query<Entry>,
    state: web::Data<AppState>,
    live: web::Data<LiveMount>,
) -> Result<HttpResponse, Problem> {
    let accept = accept_key(req.headers())?;
    origin_check(req.headers(), state.config.behind_proxy)?;
    let taken = live_ticket::take(&state.store, &entry.ticket).await?;
    let caller = guest::anyone_by_session(&state.store, taken.session_id).await?;

    let (near, far) = tokio::io::duplex(BRIDGE_BYTES_MAX);
    let (outgoing, incoming) = tokio::io::split(near);
    rt::spawn(carry_in(payload, incoming));
    tokio::spawn((live.as_ref())(caller, far));
    Ok(HttpResponse::build(StatusCode::SWITCHING_PROTOCOLS)
        .upgrade("websocket")
        .insert_header((header::SEC_WEBSOCKET_ACCEPT, accept))
        .streaming(carry_out(outgoing)))
}

/// Carries the client's bytes in, and its leaving too.
async fn carry_in(mut payload: web::Payload, mut incoming: WriteHalf<DuplexStream>) {
    while let Some(Ok(bytes)) = payload.next().await {
        if incoming.write_all(&bytes).await.is_err() {
            return;
        }
    }
    // The far end may have closed already; then there is nobody to tell.
    let _ = incoming.shutdown().await;
}

/// Carries the service's bytes out until it closes.
fn carry_out(
    outgoing: ReadHalf<DuplexStream>,
) -> impl Stream<Item = Result<Bytes, std::io::Error>> {
    stream::try_unfold(outgoing, async |mut outgoing| {
        let mut bytes = BytesMut::with_capacity(CARRY_BYTES);
        let count = outgoing.read_buf(&mut bytes).await?;
        Ok((count > 0).then(|| (bytes.freeze(), outgoing)))
    })
}

/// The answer to the client's key, if this is a websocket's opening handshake.
fn accept_key(headers: &HeaderMap) -> Result<String, Problem> {
    let lists = |name: header::HeaderName, word: &str| {
        headers
            .get_all(name)
            .filter_map(|value| value.to_str().ok())
            .any(|value| value.split(',').any(|listed| listed.trim().eq_ignore_ascii_case(word)))
    };
    let handshake = lists(header::UPGRADE, "websocket")
        && lists(header::CONNECTION, "upgrade")
        && lists(header::SEC_WEBSOCKET_VERSION, "13");
    match headers.get(header::SEC_WEBSOCKET_KEY) {
        Some(key) if handshake => Ok(derive_accept_key(key.as_bytes())),
        _ => Err(Problem::bad_parameter(
            "This address is a websocket, version 13. Ask for a ticket at /api/live/ticket and \
             open `/live?ticket=…` with it.",
        )),
    }
}

/// Lets in pages of this service and clients that are no browser. A browser always names the
/// page's origin, and a page of another origin has no business here.
fn origin_check(headers: &HeaderMap, behind_proxy: bool) -> Result<(), Problem> {
    let Some(origin) = headers.get(header::ORIGIN) else { return Ok(()) };
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    let host = match text("x-forwarded-host") {
        Some(forwarded) if behind_proxy => Some(forwarded),
        _ => text("host"),
    };
    let same = match (origin.to_str().ok().and_then(|origin| origin.split_once("://")), host) {
        (Some((scheme, authority)), Some(host)) => {
            let port = if scheme.eq_ignore_ascii_case("https") { ":443" } else { ":80" };
            let bare = |name: &str| name.strip_suffix(port).unwrap_or(name).to_ascii_lowercase();
            bare(authority) == bare(host)
        }
        _ => false,
    };
    if same {
        return Ok(());
    }
    Err(Problem::forbidden(
        "other-origin",
        "The live stream is for pages of this service. Open it from the address that served the \
         page; behind a reverse proxy, pass the host on.",
    ))
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderName, HeaderValue};

    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        let named = |(name, value): &(&'static str, &'static str)| {
            (HeaderName::from_static(name), HeaderValue::from_static(value))
        };
        pairs.iter().map(named).collect()
    }

    #[test]
    fn only_pages_of_this_service_are_let_in() {
        let check = |origin: &'static str, host: &'static str, lets_in: bool| {
            let headers = headers(&[("origin", origin), ("host", host)]);
            assert_eq!(origin_check(&headers, false).is_ok(), lets_in, "{origin} at {host}");
        };

        check("http://localhost:8080", "localhost:8080", true);
        check("https://shop.example", "shop.example:443", true);
        check("https://shop.example:443", "Shop.Example", true);
        check("http://shop.example", "shop.example:443", false);
        check("https://evil.example", "shop.example", false);
        check("https://shop.example.evil.example", "shop.example", false);
        check("null", "shop.example", false);
        assert!(origin_check(&headers(&[("host", "shop.example")]), false).is_ok());
    }

    #[test]
    fn the_forwarded_host_counts_behind_a_proxy_only() {
        let headers = headers(&[
            ("origin", "https://shop.example"),
            ("host", "127.0.0.1:8080"),
            ("x-forwarded-host", "shop.example"),
        ]);

        assert!(origin_check(&headers, true).is_ok());
        assert!(origin_check(&headers, false).is_err());
    }

    #[test]
    fn the_key_is_answered_as_the_standard_shows() {
        let mut headers = headers(&[
            ("upgrade", "websocket"),
            ("connection", "keep-alive, Upgrade"),
            ("sec-websocket-version", "13"),
            ("sec-websocket-key", "dGhlIHNhbXBsZSBub25jZQ=="),
        ]);

        assert_eq!(accept_key(&headers).unwrap(), "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=");
        headers.remove("upgrade");
        assert!(accept_key(&headers).is_err());
    }
}
