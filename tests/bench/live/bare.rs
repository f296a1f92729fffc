//! The same talk over a bare broadcast that stores nothing.
//!
//! Belongs here: the least that could carry it, for comparison. Does not belong here: the
//! service.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use futures_util::{SinkExt as _, StreamExt as _};
use tokio::net::TcpListener;
use tokio::sync::broadcast;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{accept_async, connect_async};

use super::place::{PEOPLE, THREADS};

const WORDS: &str = "The fan is free and the shaft turns.";
const WAITING_MAX: usize = 1024;

/// Messages per second of one writer per thread, each waiting for its own to come back.
pub(crate) async fn broadcast(lasts: Duration) -> f64 {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("ws://{}", listener.local_addr().unwrap());
    let serving = tokio::spawn(serve(listener));
    let said = Arc::new(AtomicU64::new(0));
    let mut members = Vec::new();
    for number in 0..THREADS * PEOPLE {
        // In this order: a thread's ten come one after the other.
        let (mut ws, _) = connect_async(&address).await.unwrap();
        let said = Arc::clone(&said);
        members.push(tokio::spawn(async move {
            let writes = number % PEOPLE == 0;
            let until = Instant::now() + lasts;
            if writes {
                ws.send(Message::text(WORDS)).await.unwrap();
            }
            while let Some(Ok(_)) = ws.next().await {
                if Instant::now() > until {
                    return;
                }
                if writes {
                    said.fetch_add(1, Ordering::Relaxed);
                    ws.send(Message::text(WORDS)).await.unwrap();
                }
            }
        }));
    }
    let (began, before) = (Instant::now(), said.load(Ordering::Relaxed));
    tokio::time::sleep(lasts / 2).await;
    let per_s = (said.load(Ordering::Relaxed) - before) as f64 / began.elapsed().as_secs_f64();
    members.iter().for_each(|member| member.abort());
    serving.abort();
    per_s
}

async fn serve(listener: TcpListener) {
    let rooms: Vec<broadcast::Sender<Message>> =
        (0..THREADS).map(|_| broadcast::Sender::new(WAITING_MAX)).collect();
    let mut number = 0;
    while let Ok((stream, _)) = listener.accept().await {
        let room = rooms[number / PEOPLE % THREADS].clone();
        number += 1;
        tokio::spawn(async move {
            let mut heard = room.subscribe();
            let Ok(ws) = accept_async(stream).await else { return };
            let (mut sink, mut source) = ws.split();
            loop {
                tokio::select! {
                    said = source.next() => match said {
                        Some(Ok(said)) => drop(room.send(said)),
                        _ => return,
                    },
                    told = heard.recv() => match told {
                        Ok(told) => if sink.send(told).await.is_err() { return },
                        Err(broadcast::error::RecvError::Lagged(_)) => {}
                        Err(_) => return,
                    },
                }
            }
        });
    }
}
