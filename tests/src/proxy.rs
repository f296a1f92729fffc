//! A line that can be cut, to a place that can move.
//!
//! Belongs here: carrying bytes between one fixed port and whatever is behind it now. Does not
//! belong here: what the bytes mean.

use std::sync::{Arc, Mutex};

use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;

/// Bytes carried at once; small, so that a cut is seldom between two frames.
const CHUNK_BYTES: usize = 4096;

/// A fixed port on the loopback.
pub struct Proxy {
    /// Host and port.
    pub address: String,
    target: Arc<Mutex<String>>,
    cuts: watch::Sender<u64>,
}

impl Proxy {
    /// Carries to this host and port.
    ///
    /// # Panics
    /// When no port can be had.
    pub async fn start(target: &str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = listener.local_addr().expect("an address").to_string();
        let target = Arc::new(Mutex::new(target.to_owned()));
        let (cuts, _) = watch::channel(0);
        let (behind, cut) = (Arc::clone(&target), cuts.clone());
        tokio::spawn(async move {
            while let Ok((near, _)) = listener.accept().await {
                let target = behind.lock().expect("not poisoned").clone();
                let cut = cut.subscribe();
                tokio::spawn(async move {
                    // Nobody there is a line that ends at once.
                    if let Ok(far) = TcpStream::connect(target).await {
                        carry_both(near, far, cut).await;
                    }
                });
            }
        });
        Proxy { address, target, cuts }
    }

    /// New lines go there from now on.
    ///
    /// # Panics
    /// When a test failed meanwhile.
    pub fn moved(&self, target: &str) {
        *self.target.lock().expect("not poisoned") = target.to_owned();
    }

    /// Cuts every open line in the middle of the next thing that comes on it.
    pub fn cut(&self) {
        self.cuts.send_modify(|cuts| *cuts += 1);
    }
}

async fn carry_both(near: TcpStream, far: TcpStream, mut cut: watch::Receiver<u64>) {
    cut.mark_unchanged();
    let (near_in, near_out) = near.into_split();
    let (far_in, far_out) = far.into_split();
    // The first to end ends the other.
    tokio::select! {
        () = carry(near_in, far_out, cut.clone()) => {}
        () = carry(far_in, near_out, cut) => {}
    }
}

async fn carry(mut from: OwnedReadHalf, mut to: OwnedWriteHalf, cut: watch::Receiver<u64>) {
    let mut bytes = vec![0; CHUNK_BYTES];
    while let Ok(count) = from.read(&mut bytes).await {
        if count == 0 {
            return;
        }
        let is_cut = cut.has_changed().unwrap_or(true);
        let passes = if is_cut { count / 2 } else { count };
        if to.write_all(&bytes[..passes]).await.is_err() || is_cut {
            return;
        }
    }
}
