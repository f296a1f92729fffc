//! PostgreSQL's processes: making the data, running the server, stopping it.
//!
//! Belongs here: commands, signals, waiting. Does not belong here: files' owners and paths.

use std::fs;
use std::io;
use std::os::unix::process::CommandExt as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, SyncSender};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use nix::sys::prctl::set_pdeathsig;
use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;

use super::binaries::Binaries;
use super::folder::Folder;
use super::{CONNECTIONS_MAX, unavailable};
use crate::error::StoreError;

/// How long a start may take; recovery after a kill takes longest. After that it is stopped.
const START_WAIT_MS: u64 = 60_000;

/// How often the start is looked at.
const START_POLL_MS: u64 = 10;

/// How long a clean stop may take before the server is told to drop everything, which costs a
/// recovery at the next start and no data.
const STOP_WAIT: Duration = Duration::from_secs(20);

/// Lines of the server's log that an error quotes.
const LOG_LINES: usize = 12;

/// Makes the data of a new server.
pub(super) fn initialise(
    binaries: &Binaries,
    folder: &Folder,
    user: &str,
    durable: bool,
) -> Result<(), StoreError> {
    let unfinished = folder.data_unfinished();
    // What a killed run left half-done is of no use.
    if unfinished.exists() {
        fs::remove_dir_all(&unfinished)
            .map_err(|error| unavailable(format!("cannot remove {unfinished:?}: {error}")))?;
    }
    let mut initdb = command(&binaries.program("initdb"), folder);
    if !durable {
        initdb.arg("--no-sync");
    }
    let output = initdb
        .arg("-D")
        .arg(&unfinished)
        .args(["-U", user, "--auth=scram-sha-256", "--encoding=UTF8", "--locale=C.UTF-8"])
        .arg("--no-instructions")
        .arg("--pwfile")
        .arg(folder.password_file())
        .output()
        .map_err(|error| unavailable(format!("initdb cannot be run: {error}")))?;
    if !output.status.success() {
        return Err(unavailable(format!(
            "initdb failed: {}",
            String::from_utf8_lossy(&output.stderr).trim()
        )));
    }
    fs::rename(&unfinished, folder.data())
        .map_err(|error| unavailable(format!("cannot name the new data: {error}")))
}

/// A running server and the thread that it lives and dies with.
#[derive(Debug)]
pub(super) struct Running {
    pid: u32,
    ended: Mutex<Receiver<()>>,
}

impl Running {
    /// Starts the server and waits until it accepts connections.
    pub(super) fn spawn(
        binaries: &Binaries,
        folder: &Folder,
        port: u16,
        durable: bool,
    ) -> Result<Self, StoreError> {
        let log = fs::OpenOptions::new()
            .create(true)
            .append(true)
            .open(folder.log())
            .map_err(|error| unavailable(format!("its log cannot be opened: {error}")))?;
        let mut command = command(&binaries.program("postgres"), folder);
        command
            .arg("-D")
            .arg(folder.data())
            .args(["-c", "listen_addresses=127.0.0.1"])
            .args(["-c", &format!("port={port}")])
            .args(["-c", &format!("unix_socket_directories={}", socket_folder(folder))])
            .args(["-c", &format!("max_connections={CONNECTIONS_MAX}")])
            .args(["-c", "shared_buffers=64MB"])
            .args(["-c", "timezone=UTC", "-c", "log_timezone=UTC"])
            // A statement in the log could carry a customer's name.
            .args(["-c", "log_statement=none", "-c", "log_min_error_statement=panic"])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log)
            // Ctrl-C in a terminal goes to the whole group; the database must outlive the
            // requests that are still being answered.
            .process_group(0);
        if !durable {
            command.args(["-c", "fsync=off", "-c", "full_page_writes=off"]);
            command.args(["-c", "synchronous_commit=off"]);
        }
        die_with_parent(&mut command);

        let (started_tell, started) = mpsc::sync_channel(1);
        let (ended_tell, ended) = mpsc::sync_channel(1);
        // The signal at the parent's death is sent when the *thread* that spawned it ends, so
        // this one stays for as long as the server runs.
        thread::Builder::new()
            .name("private-postgres".to_owned())
            .spawn(move || watch(command, &started_tell, &ended_tell))
            .map_err(|error| unavailable(format!("no thread can be had: {error}")))?;
        let pid = started
            .recv()
            .map_err(|error| unavailable(format!("postgres cannot be run: {error}")))?
            .map_err(|error| unavailable(format!("postgres cannot be run: {error}")))?;

        let running = Running { pid, ended: Mutex::new(ended) };
        running.wait_until_ready(folder, port)?;
        Ok(running)
    }

    /// The server's process.
    pub(super) fn pid(&self) -> u32 {
        self.pid
    }

    fn wait_until_ready(&self, folder: &Folder, port: u16) -> Result<(), StoreError> {
        let lock_file = folder.data().join("postmaster.pid");
        for _ in 0..START_WAIT_MS / START_POLL_MS {
            if self.has_ended_within(Duration::from_millis(START_POLL_MS)) {
                return Err(unavailable(format!(
                    "postgres ended at once. The end of {}:\n{}",
                    folder.log().display(),
                    tail(&folder.log())
                )));
            }
            if is_ready(&lock_file, self.pid, port) {
                return Ok(());
            }
        }
        Err(unavailable(format!(
            "postgres did not become ready within {} s. The end of {}:\n{}",
            START_WAIT_MS / 1000,
            folder.log().display(),
            tail(&folder.log())
        )))
    }

    /// Waits for the server's end, for so long at most.
    fn has_ended_within(&self, wait: Duration) -> bool {
        let ended = self.ended.lock().unwrap_or_else(PoisonError::into_inner);
        !matches!(ended.recv_timeout(wait), Err(RecvTimeoutError::Timeout))
    }

    fn signal(&self, signal: Signal) {
        // It may have ended by itself; then there is nobody to tell.
        if let Ok(pid) = i32::try_from(self.pid) {
            let _ = kill(Pid::from_raw(pid), signal);
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        for signal in [Signal::SIGINT, Signal::SIGQUIT, Signal::SIGKILL] {
            self.signal(signal);
            if self.has_ended_within(STOP_WAIT) {
                return;
            }
            tracing::warn!(?signal, "the private PostgreSQL did not stop in time");
        }
    }
}

/// Spawns the server and stays with it to its end.
fn watch(mut command: Command, started: &SyncSender<io::Result<u32>>, ended: &SyncSender<()>) {
    match command.spawn() {
        Ok(mut child) => {
            // Whoever asked may have gone; the server is then waited for all the same.
            let _ = started.send(Ok(child.id()));
            if let Err(error) = child.wait() {
                tracing::warn!(%error, "the private PostgreSQL cannot be waited for");
            }
            let _ = ended.send(());
        }
        Err(error) => {
            let _ = started.send(Err(error));
        }
    }
}

/// A command that runs as the server's account.
fn command(program: &Path, folder: &Folder) -> Command {
    let mut command = Command::new(program);
    // Settings of another server (PGDATA, PGPORT) must not leak into this one.
    command.env_clear().env("PATH", "/usr/bin:/bin").env("LC_ALL", "C.UTF-8");
    command.current_dir(folder.path());
    if let Some(account) = folder.account() {
        command.uid(account.uid).gid(account.gid);
    }
    command
}

/// Has the kernel stop the server (SIGINT: disconnect everybody, write, end) when we die.
#[allow(unsafe_code)]
fn die_with_parent(command: &mut Command) {
    let set = || set_pdeathsig(Signal::SIGINT).map_err(io::Error::from);
    // SAFETY: between fork and exec only calls that are safe in a signal handler are allowed;
    // this is the single system call prctl. It comes after the change of account, which would
    // clear the setting.
    unsafe {
        command.pre_exec(set);
    }
}

/// Whether the lock file says that this very process accepts connections on this port.
fn is_ready(lock_file: &Path, pid: u32, port: u16) -> bool {
    let Ok(lock) = fs::read_to_string(lock_file) else { return false };
    let lines: Vec<_> = lock.lines().map(str::trim).collect();
    lines.first().is_some_and(|line| *line == pid.to_string())
        && lines.get(3).is_some_and(|line| *line == port.to_string())
        && lines.get(7).is_some_and(|line| *line == "ready")
}

/// The socket goes beside the data, unless the path is longer than a socket's may be.
fn socket_folder(folder: &Folder) -> String {
    /// Bytes of a socket's path, less PostgreSQL's file name in it.
    const PATH_BYTES_MAX: usize = 107 - "/.s.PGSQL.65535.lock".len();
    let path = folder.path().to_string_lossy();
    // Nobody needs the socket: connections are made over loopback.
    if path.len() > PATH_BYTES_MAX || path.contains([',', '"']) {
        String::new()
    } else {
        path.into_owned()
    }
}

fn tail(log: &Path) -> String {
    let text = fs::read_to_string(log).unwrap_or_default();
    let lines: Vec<_> = text.lines().collect();
    lines[lines.len().saturating_sub(LOG_LINES)..].join("\n")
}
