//! `countersign talk`: a job's thread in a terminal.
//!
//! Belongs here: signing in, following, saying each line typed, coming back after a break.
//! Does not belong here: the line itself (`live::client`), and any rule of the service's.

use std::collections::VecDeque;
use std::io::{BufRead as _, stdin};
use std::process::ExitCode;

use live::client::{LineError, LiveLine, back_off};
use live::protocol::{ClientFrame, Message, MessageBody, MessageKind, Resume, ServerFrame};
use rand::RngExt as _;
use rand::SeedableRng as _;
use rand::rngs::{StdRng, SysRng};
use serde_json::{Value, json};
use store::ambient::Ambient;
use tokio::sync::mpsc;
use uuid::Uuid;

use crate::error::AppError;
use crate::secret::Secret;
use crate::tell;

/// The status with which a token is refused that was good for a while.
const NOT_SIGNED_IN: u16 = 401;

/// Lines typed ahead of what the service takes; beyond that the terminal keeps them.
const TYPED_AHEAD_MAX: usize = 64;

/// What it is told.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The job whose thread it is.
    job_id: Uuid,
    /// Where the service is. Only http: elsewhere than on the same machine, through a tunnel.
    #[arg(long, env = "COUNTERSIGN_BASE_URL", default_value = "http://127.0.0.1:8080")]
    at: String,
    /// Whom to sign in as.
    #[arg(long, env = "COUNTERSIGN_EMAIL", value_name = "ADDRESS")]
    email: String,
    #[command(flatten)]
    secret: Secret,
    /// Each message as a line of JSON.
    #[arg(long)]
    json: bool,
    /// Only what comes after this number.
    #[arg(long, default_value_t = 0, value_name = "NUMBER")]
    after: u64,
    /// Ends once everything typed is stored and shown, instead of staying.
    #[arg(long)]
    once: bool,
}

struct Talk {
    arguments: Arguments,
    http: reqwest::Client,
    ambient: Ambient,
    lots: StdRng,
    password: String,
    token: Option<String>,
    /// The last number shown.
    seen: u64,
    /// Said and not yet acknowledged.
    waiting: VecDeque<(Uuid, String)>,
    /// Nothing more is typed.
    typed_all: bool,
}

/// Why a line was given up.
enum Over {
    /// All is said and shown.
    Done,
    /// It may work again.
    Lost(String),
    /// It will not.
    Failed(AppError),
}

impl From<LineError> for Over {
    fn from(error: LineError) -> Self {
        match error {
            LineError::Closed { code: 4400 | 4429, .. } | LineError::Frame(_) => {
                Over::Failed(AppError::Says(error.to_string()))
            }
            other => Over::Lost(other.to_string()),
        }
    }
}

/// Talks until told to stop.
pub(crate) async fn run(arguments: Arguments) -> Result<ExitCode, AppError> {
    let no_random = |error: rand::rngs::SysError| {
        AppError::Says(format!("the system gives no random numbers: {error}"))
    };
    let password = arguments.secret.known()?;
    let http = reqwest::Client::builder()
        .no_proxy()
        .build()
        .map_err(|error| AppError::Says(error.to_string()))?;
    let mut talk = Talk {
        ambient: Ambient::from_os().map_err(no_random)?,
        lots: StdRng::try_from_rng(&mut SysRng).map_err(no_random)?,
        seen: arguments.after,
        typed_all: false,
        waiting: VecDeque::new(),
        token: None,
        password,
        http,
        arguments,
    };
    let mut typed = typed_lines();
    let mut failed = 0;
    loop {
        let over = tokio::select! {
            over = talk.on_line(&mut typed, &mut failed) => over,
            _ = tokio::signal::ctrl_c() => Over::Done,
        };
        match over {
            Over::Done => break,
            Over::Failed(error) => return Err(error),
            Over::Lost(why) => {
                tracing::info!(why, "the line is lost; coming back");
                let wait = back_off(failed, talk.lots.random::<f64>());
                failed += 1;
                tokio::select! {
                    () = tokio::time::sleep(wait) => {}
                    _ = tokio::signal::ctrl_c() => break,
                }
            }
        }
    }
    let unsaid = talk.waiting.len();
    if unsaid > 0 {
        return Err(AppError::Says(format!("{unsaid} messages may not be stored")));
    }
    Ok(ExitCode::SUCCESS)
}

/// What is typed, line by line. A thread of its own, which nobody waits for at the end: a read
/// from a terminal cannot be given up.
fn typed_lines() -> mpsc::Receiver<String> {
    let (tell, typed) = mpsc::channel(TYPED_AHEAD_MAX);
    std::thread::spawn(move || {
        for text in stdin().lock().lines().map_while(Result::ok) {
            if tell.blocking_send(text).is_err() {
                return;
            }
        }
    });
    typed
}

impl Talk {
    async fn on_line(&mut self, typed: &mut mpsc::Receiver<String>, failed: &mut u32) -> Over {
        match self.try_line(typed, failed).await {
            Ok(()) => Over::Done,
            Err(over) => over,
        }
    }

    async fn try_line(
        &mut self,
        typed: &mut mpsc::Receiver<String>,
        failed: &mut u32,
    ) -> Result<(), Over> {
        let ticket = self.ticket().await?;
        let job_id = self.arguments.job_id;
        let resume = Resume { threads: [(job_id, self.seen)].into(), ..Resume::default() };
        let (mut line, _) = LiveLine::open(&self.arguments.at, &ticket, resume).await?;
        *failed = 0;
        // The same keys: whatever of them is stored already is not stored again.
        for (key, text) in self.waiting.clone() {
            line.send(&say(job_id, key, text)).await?;
        }
        let mut last_seq = 0;
        loop {
            let all_said = self.typed_all && self.waiting.is_empty();
            if self.arguments.once && all_said && self.seen >= last_seq {
                line.close().await;
                return Ok(());
            }
            tokio::select! {
                frame = line.next() => match frame? {
                    ServerFrame::Following { last_seq: last, withheld, .. } => {
                        last_seq = last;
                        if withheld {
                            tell::line("The talk is shown once your own judgement is in.");
                        }
                    }
                    ServerFrame::Message { message } if message.seq > self.seen => {
                        self.seen = message.seq;
                        self.show(&message);
                    }
                    ServerFrame::Ack { key, seq, .. } => {
                        last_seq = last_seq.max(seq);
                        self.waiting.retain(|(waits, _)| *waits != key);
                    }
                    ServerFrame::Refused { key, problem, .. } => {
                        if problem.kind == "/problems/unavailable" {
                            return Err(Over::Lost(problem.detail));
                        }
                        let Some(key) = key else {
                            return Err(Over::Failed(AppError::Says(problem.detail)));
                        };
                        self.waiting.retain(|(waits, _)| *waits != key);
                        tell::line(&format!("Not said: {}", problem.detail));
                    }
                    _ => {}
                },
                words = typed.recv(), if !self.typed_all => match words {
                    Some(text) if text.trim().is_empty() => {}
                    Some(text) => {
                        let key = self.ambient.new_id();
                        self.waiting.push_back((key, text.clone()));
                        line.send(&say(job_id, key, text)).await?;
                    }
                    None => self.typed_all = true,
                },
            }
        }
    }

    fn show(&self, message: &Message) {
        if self.arguments.json {
            if let Ok(text) = serde_json::to_string(message) {
                tell::line(&text);
            }
            return;
        }
        let who = message.author.as_ref().map_or("Countersign", |author| author.name.as_str());
        let body = &message.body;
        let mut words: Vec<&str> = Vec::new();
        words.extend(body.reading_label.as_deref());
        words.extend(body.event.as_deref());
        words.extend(body.text.as_deref());
        let at = message.at.format("%Y-%m-%d %H:%M:%SZ");
        // A message must not be able to steer the terminal that it is shown on.
        let plain: String = words.join(": ").chars().map(harmless).collect();
        tell::line(&format!("{:>4} {at} {who}: {plain}", message.seq));
    }

    async fn ticket(&mut self) -> Result<String, Over> {
        let token = match &self.token {
            Some(token) => token.clone(),
            None => self.sign_in().await?,
        };
        let asked = self.http.post(format!("{}/api/live/ticket", self.arguments.at));
        let answer = asked.bearer_auth(&token).send().await.map_err(lost)?;
        if answer.status().as_u16() == NOT_SIGNED_IN {
            self.token = None;
            return Err(Over::Lost("the session has ended".to_owned()));
        }
        self.token = Some(token);
        text_in(&answer.json().await.map_err(lost)?, "ticket")
    }

    async fn sign_in(&self) -> Result<String, Over> {
        let body = json!({ "email": self.arguments.email, "password": self.password });
        let asked = self.http.post(format!("{}/api/session", self.arguments.at)).json(&body);
        let answer = asked.send().await.map_err(lost)?;
        let status = answer.status();
        let said: Value = answer.json().await.map_err(lost)?;
        if status.is_client_error() {
            let detail = said["detail"].as_str().unwrap_or("signing in was refused").to_owned();
            return Err(Over::Failed(AppError::Says(detail)));
        }
        text_in(&said, "access_token")
    }
}

fn say(job_id: Uuid, key: Uuid, text: String) -> ClientFrame {
    let body = MessageBody { text: Some(text), ..MessageBody::default() };
    ClientFrame::Say { job_id, key, kind: MessageKind::Text, body }
}

fn harmless(char: char) -> char {
    if char.is_control() { ' ' } else { char }
}

fn text_in(said: &Value, name: &str) -> Result<String, Over> {
    said[name].as_str().map(str::to_owned).ok_or_else(|| Over::Lost(format!("no {name} was given")))
}

fn lost(error: reqwest::Error) -> Over {
    Over::Lost(error.to_string())
}
