//! The websocket on the one port: who gets in, and that bytes go both ways to a clean end.
//! What is spoken here is an echo: the protocol is another crate's.
#![allow(clippy::unwrap_used, reason = "a test may")]

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use actix_web::dev::ServerHandle;
use actix_web::{HttpServer, rt, web};
use futures_util::{SinkExt as _, StreamExt as _};
use http_api::app::{AppState, app};
use http_api::config::Config;
use http_api::live::{LiveMount, mount};
use sea_orm::ConnectionTrait as _;
use store::ambient::Ambient;
use store::{live_ticket, session, testbed};
use tokio_tungstenite::tungstenite::client::IntoClientRequest as _;
use tokio_tungstenite::tungstenite::protocol::Role;
use tokio_tungstenite::tungstenite::{Error as WsError, Message, http};
use tokio_tungstenite::{MaybeTlsStream, WebSocketStream, connect_async};
use uuid::Uuid;

type Socket = WebSocketStream<MaybeTlsStream<tokio::net::TcpStream>>;

const ANA: Uuid = Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0011);
const ANAS_SESSION: Uuid = Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0021);

/// A server on a port of its own, echoing until told "close".
struct Place {
    address: String,
    state: web::Data<AppState>,
    open: Arc<AtomicUsize>,
    handle: ServerHandle,
}

async fn place(name: &str) -> Place {
    let store = testbed::store(name, Ambient::from_os().unwrap()).await.unwrap();
    store.conn().execute_unprepared(include_str!("../../store/tests/seed.sql")).await.unwrap();
    let state = web::Data::new(AppState::new(store, Config::local(b"secret".to_vec())));
    let open = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&open);
    let echo: LiveMount = Arc::new(move |caller, stream| {
        let open = Arc::clone(&counted);
        Box::pin(async move {
            assert_eq!(caller.person_id, ANA);
            open.fetch_add(1, Ordering::SeqCst);
            let mut socket = WebSocketStream::from_raw_socket(stream, Role::Server, None).await;
            while let Some(Ok(message)) = socket.next().await {
                if message.to_text().is_ok_and(|text| text == "close") {
                    socket.close(None).await.unwrap();
                } else if message.is_text() {
                    socket.send(message).await.unwrap();
                }
            }
            open.fetch_sub(1, Ordering::SeqCst);
        })
    });
    let serving = state.clone();
    let server = HttpServer::new(move || {
        let echo = Arc::clone(&echo);
        app(serving.clone(), move |cfg| mount(cfg, echo))
    })
    .workers(1)
    .disable_signals()
    .bind(("127.0.0.1", 0))
    .unwrap();
    let address = server.addrs()[0].to_string();
    let server = server.run();
    let handle = server.handle();
    rt::spawn(server);
    Place { address, state, open, handle }
}

impl Place {
    async fn ticket(&self) -> String {
        let caller = session::caller_find(&self.state.store, ANAS_SESSION).await.unwrap();
        live_ticket::give(&self.state.store, &caller).await.unwrap()
    }

    async fn open(&self, query: &str, origin: Option<&str>) -> Result<Socket, u16> {
        let address = format!("ws://{}/live{query}", self.address);
        let mut request = address.into_client_request().unwrap();
        if let Some(origin) = origin {
            request.headers_mut().insert(http::header::ORIGIN, origin.parse().unwrap());
        }
        match connect_async(request).await {
            Ok((socket, _)) => Ok(socket),
            Err(WsError::Http(response)) => Err(response.status().as_u16()),
            Err(other) => panic!("{other}"),
        }
    }

    async fn all_closed(&self) {
        let closed = async {
            while self.open.load(Ordering::SeqCst) > 0 {
                rt::time::sleep(Duration::from_millis(5)).await;
            }
        };
        tokio::time::timeout(Duration::from_secs(10), closed).await.expect("a stream stays open");
    }
}

#[actix_web::test]
async fn frames_go_both_ways_and_either_side_can_close() {
    let place = place("http_live_echo").await;
    let origin = format!("http://{}", place.address);

    let query = format!("?ticket={}", place.ticket().await);
    let mut socket = place.open(&query, Some(&origin)).await.unwrap();
    for size in [0, 1, 125, 126, 65_535, 65_536, 3_000_000] {
        let text = Message::text("x".repeat(size));
        socket.send(text.clone()).await.unwrap();
        assert_eq!(socket.next().await.unwrap().unwrap(), text);
    }
    socket.close(None).await.unwrap();
    while let Some(Ok(_)) = socket.next().await {}
    place.all_closed().await;

    let query = format!("?ticket={}", place.ticket().await);
    let mut socket = place.open(&query, None).await.unwrap();
    socket.send(Message::text("close")).await.unwrap();
    assert!(matches!(socket.next().await, Some(Ok(Message::Close(_)))));
    assert!(socket.next().await.is_none());
    place.all_closed().await;

    // A client whose network goes away is noticed too.
    let query = format!("?ticket={}", place.ticket().await);
    let mut socket = place.open(&query, None).await.unwrap();
    socket.send(Message::text("here")).await.unwrap();
    socket.next().await.unwrap().unwrap();
    drop(socket);
    place.all_closed().await;
    place.handle.stop(true).await;
}

#[actix_web::test]
async fn only_a_fresh_ticket_of_a_standing_session_on_this_origin_gets_in() {
    let place = place("http_live_entry").await;
    let ticket = place.ticket().await;
    let refused = async |query: &str, origin: Option<&str>| {
        place.open(query, origin).await.map(drop).unwrap_err()
    };

    assert_eq!(refused("", None).await, 400);
    assert_eq!(refused("?ticket=guessed", None).await, 401);
    let query = format!("?ticket={ticket}");
    assert_eq!(refused(&query, Some("https://elsewhere.example")).await, 403);
    // What was refused for its origin has not used the ticket up.
    let mut socket = place.open(&query, None).await.unwrap();
    socket.close(None).await.unwrap();
    assert_eq!(refused(&query, None).await, 401);

    let query = format!("?ticket={}", place.ticket().await);
    let caller = session::caller_find(&place.state.store, ANAS_SESSION).await.unwrap();
    session::revoke(&place.state.store, &caller, ANAS_SESSION).await.unwrap();
    assert_eq!(refused(&query, None).await, 401);
    place.handle.stop(true).await;
}
