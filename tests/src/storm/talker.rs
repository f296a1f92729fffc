//! One who talks through a storm, and keeps what they were told.
//!
//! Belongs here: saying again what was not acknowledged, coming back. Does not belong here:
//! what is done to the line.

use std::collections::{BTreeMap, HashMap, VecDeque};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

use live::client::{LineError, LiveLine, back_off};
use live::protocol::{ClientFrame, MessageBody, MessageKind, Resume, ServerFrame};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::client::fresh;
use crate::seed::{PASSWORD, email_of};

/// Messages that are said before the first is acknowledged.
const AHEAD_MAX: usize = 8;
/// Who talks; everybody of the shop may.
const NAMES: [&str; 8] = ["ana", "bo", "cleo", "fay", "dan", "eva", "pia", "olaf"];
/// How long one answer is waited for; a service that is killed gives none.
const ANSWER_WAIT: Duration = Duration::from_secs(15);
/// Failed tries after which the wait grows no more: a storm is short.
const FAILED_MAX: u32 = 3;

/// What one is to do.
#[derive(Clone)]
pub(super) struct Talk {
    pub(super) number: usize,
    pub(super) bases: Vec<String>,
    pub(super) jobs: Vec<Uuid>,
    /// How many messages to say.
    pub(super) says: usize,
    /// How many there will be in all.
    pub(super) hears: usize,
    pub(super) acked: Arc<AtomicUsize>,
}

/// One who talks.
pub(super) struct Talker {
    pub(super) talk: Talk,
    /// By key: the job and the number.
    pub(super) acked: HashMap<Uuid, (Uuid, u64)>,
    /// By job: number and key, in the order heard.
    pub(super) heard: BTreeMap<Uuid, Vec<(u64, Uuid)>>,
    pub(super) came_back: usize,
    http: reqwest::Client,
    token: Option<String>,
    waiting: VecDeque<(Uuid, Uuid)>,
    said: usize,
}

impl Talker {
    pub(super) fn new(talk: Talk) -> Self {
        let http = reqwest::Client::builder().timeout(ANSWER_WAIT).no_proxy().build();
        Talker {
            acked: HashMap::new(),
            heard: talk.jobs.iter().map(|job| (*job, Vec::new())).collect(),
            came_back: 0,
            http: http.expect("a client"),
            token: None,
            waiting: VecDeque::new(),
            said: 0,
            talk,
        }
    }

    /// Talks until everything is said and heard.
    pub(super) async fn run(mut self) -> Self {
        let mut failed = 0;
        let mut side = self.talk.number;
        while !self.is_done() {
            let base = self.talk.bases[side % self.talk.bases.len()].clone();
            match self.on_line(&base, &mut failed).await {
                Ok(()) => break,
                Err(error) => {
                    tell(&error);
                    // The other service may be there.
                    side += 1;
                    self.came_back += 1;
                    let lot = f64::from(fresh().as_bytes()[15]) / 255.0;
                    tokio::time::sleep(back_off(failed.min(FAILED_MAX), lot)).await;
                    failed += 1;
                }
            }
        }
        self
    }

    fn is_done(&self) -> bool {
        let heard: usize = self.heard.values().map(Vec::len).sum();
        self.acked.len() == self.talk.says && heard == self.talk.hears
    }

    async fn on_line(&mut self, base: &str, failed: &mut u32) -> Result<(), LineError> {
        let Some(ticket) = self.ticket(base).await else { return Err(LineError::Lost(None)) };
        let last = |heard: &Vec<(u64, Uuid)>| heard.last().map_or(0, |(seq, _)| *seq);
        let threads = self.heard.iter().map(|(job, heard)| (*job, last(heard))).collect();
        let resume = Resume { live_after: None, threads };
        let (mut line, _) = LiveLine::open(base, &ticket, resume).await?;
        *failed = 0;
        // What was not acknowledged may be stored or not: the same key makes it the same.
        for (job, key) in self.waiting.clone() {
            line.send(&say(job, key)).await?;
        }
        while !self.is_done() {
            while self.waiting.len() < AHEAD_MAX && self.said < self.talk.says {
                let (job, key) = (self.talk.jobs[self.said % self.talk.jobs.len()], fresh());
                self.said += 1;
                self.waiting.push_back((job, key));
                line.send(&say(job, key)).await?;
            }
            let frame = line.next().await?;
            self.take(frame, &mut line).await?;
        }
        line.close().await;
        Ok(())
    }

    async fn take(&mut self, frame: ServerFrame, line: &mut LiveLine) -> Result<(), LineError> {
        match frame {
            ServerFrame::Ack { key, job_id, seq } => {
                self.waiting.retain(|(_, waits)| *waits != key);
                match self.acked.insert(key, (job_id, seq)) {
                    None => drop(self.talk.acked.fetch_add(1, Ordering::Relaxed)),
                    Some(before) => assert_eq!(before, (job_id, seq), "acknowledged otherwise"),
                }
            }
            ServerFrame::Message { message } => {
                let heard = self.heard.get_mut(&message.job_id).expect("a thread that is followed");
                let key = message.key.expect("people's messages have keys");
                assert_eq!(message.seq, heard.len() as u64 + 1, "lost, doubled or out of order");
                heard.push((message.seq, key));
            }
            ServerFrame::Refused { key: Some(key), job_id: Some(job_id), problem } => {
                assert_eq!(problem.kind, "/problems/unavailable", "{problem:?}");
                tokio::time::sleep(back_off(1, 0.5)).await;
                line.send(&say(job_id, key)).await?;
            }
            ServerFrame::Refused { problem, .. } => {
                assert_eq!(problem.kind, "/problems/unavailable", "{problem:?}");
                return Err(LineError::Lost(None));
            }
            _ => {}
        }
        Ok(())
    }

    /// A ticket, signing in where there is no token that is good.
    async fn ticket(&mut self, base: &str) -> Option<String> {
        if self.token.is_none() {
            let name = NAMES[self.talk.number % NAMES.len()];
            let body = json!({ "email": email_of(name), "password": PASSWORD });
            let asked = self.http.post(format!("{base}/api/session")).json(&body).send();
            let opened: Value = asked.await.ok()?.json().await.ok()?;
            self.token = Some(opened["access_token"].as_str()?.to_owned());
        }
        let token = self.token.clone()?;
        let asked = self.http.post(format!("{base}/api/live/ticket")).bearer_auth(token);
        let answer = asked.send().await.ok()?;
        if answer.status().as_u16() == 401 {
            self.token = None;
        }
        let given: Value = answer.json().await.ok()?;
        Some(given["ticket"].as_str()?.to_owned())
    }
}

fn say(job_id: Uuid, key: Uuid) -> ClientFrame {
    let body = MessageBody { text: Some(format!("said as {key}")), ..MessageBody::default() };
    ClientFrame::Say { job_id, key, kind: MessageKind::Text, body }
}

/// A frame that cannot be read is a fault, and no weather.
fn tell(error: &LineError) {
    match error {
        LineError::Frame(fault) => panic!("{fault}"),
        LineError::Closed { code, says } if *code != 1012 && *code != 4408 => {
            panic!("closed with {code}: {says}")
        }
        _ => {}
    }
}
