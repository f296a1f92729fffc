//! Mail through a real mail server.
//!
//! Belongs here: that what is owed arrives, once, says nothing of the claim, and waits for a
//! server that is down. Does not belong here: each template's words, which notify's golden
//! copies have.

use std::net::TcpListener;
use std::path::PathBuf;
use std::process::Stdio;

use blackbox::seed::email_of;
use blackbox::service::{PATIENCE, Settings};
use serde_json::{Value, json};
use tokio::io::{AsyncBufReadExt as _, BufReader, Lines};
use tokio::process::{Child, ChildStdout, Command};

use super::world::{COSTLY, World, agreeing, approve, countersign, digest, step};

/// A running mail server; it ends with the test.
struct MailServer {
    lines: Lines<BufReader<ChildStdout>>,
    _child: Child,
}

impl MailServer {
    async fn start(port: u16) -> Self {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("http/smtp");
        let prepared = Command::new(folder.join("prepare"))
            .stderr(Stdio::inherit())
            .output()
            .await
            .expect("tests/http/smtp/prepare runs");
        assert!(prepared.status.success(), "the mail server for tests cannot be installed");
        let python = String::from_utf8(prepared.stdout).unwrap();
        let mut child = Command::new(python.trim())
            .arg(folder.join("server.py"))
            .arg(port.to_string())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .kill_on_drop(true)
            .spawn()
            .expect("the mail server starts");
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut server = MailServer { lines, _child: child };
        assert_eq!(server.line().await, "ready");
        server
    }

    async fn line(&mut self) -> String {
        let line = tokio::time::timeout(PATIENCE, self.lines.next_line());
        line.await.expect("mail comes").unwrap().expect("the mail server runs")
    }

    async fn mail(&mut self) -> Value {
        serde_json::from_str(&self.line().await).unwrap()
    }

    /// So many mails, by receiver.
    async fn mails(&mut self, count: usize) -> Vec<Value> {
        let mut mails = Vec::new();
        for _ in 0..count {
            mails.push(self.mail().await);
        }
        mails.sort_by_key(|mail| mail["to"].to_string());
        mails
    }
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

fn receivers(mails: &[Value]) -> Vec<String> {
    mails.iter().map(|mail| mail["to"][0].as_str().unwrap().to_owned()).collect()
}

#[tokio::test]
async fn mail_waits_for_the_server_and_arrives_once_without_the_claim() {
    let port = free_port();
    let smtp_url = Some(format!("smtp://127.0.0.1:{port}"));
    let world = World::with("mail", Settings { smtp_url, ..Settings::default() }).await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let dan = world.client("dan").await;

    // The server is down: nothing is lost, and nobody waits for it.
    let (job, request) = world.ready(&ana, COSTLY).await;
    let failed = "SELECT attempts, last_error, done_at FROM outbox WHERE attempts > 0";
    let rows = world.service.rows_once(failed, 1).await;
    assert!(rows.iter().all(|row| row["done_at"].is_null() && row["last_error"].is_string()));
    assert_eq!(world.service.count("mail").await, 0);

    // It comes up: whoever is best placed is asked, once.
    let mut server = MailServer::start(port).await;
    let asked = server.mails(1).await;
    assert_eq!(receivers(&asked), ["bo"].map(email_of));
    let digest = digest(&ana, request).await;
    for mail in &asked {
        let raw = mail["raw"].as_str().unwrap().to_lowercase();
        for telltale in ["compressor", "winding", "run_", "isolated", "187654", "1876.54"] {
            assert!(!raw.contains(telltale), "{telltale}: {raw}");
        }
        assert!(!raw.contains(&digest), "{raw}");
        assert!(raw.contains(&format!("{}/jobs/{job}", world.service.base)), "{raw}");
        assert_eq!(mail["headers"]["subject"], "Second read wanted on job 1");
    }

    step(&bo, request, "take", &Value::Null).await.done();
    step(&bo, request, "blind-read", &agreeing()).await.done();
    countersign(&bo, request).await.done();
    let asked = server.mails(3).await;
    assert_eq!(receivers(&asked), ["dan", "eva", "olaf"].map(email_of));
    assert_eq!(asked[0]["headers"]["subject"], "Approval wanted on job 1");
    // Eva works as a technician too: the claim is kept from her, and her mail says so.
    let aside = asked.iter().map(|mail| mail["raw"].to_string().contains("stand aside"));
    assert_eq!(aside.collect::<Vec<_>>(), [false, true, false]);
    approve(&dan, request).await.done();
    let told = server.mail().await;
    assert_eq!(told["to"], json!([email_of("ana")]));

    // Each row went out once, and each is on the page of sent mail.
    let done = "SELECT id FROM outbox WHERE done_at IS NOT NULL";
    assert_eq!(world.service.rows_once(done, 5).await.len(), 5);
    assert_eq!(world.service.count("outbox").await, 5);
    let listed = dan.get("/api/mail").await.done();
    let listed = listed.as_array().unwrap();
    assert_eq!(listed.len(), 5);
    assert!(listed.iter().all(|mail| mail["sent"] == true));
    let ids: std::collections::BTreeSet<String> =
        asked.iter().map(|mail| mail["headers"]["message-id"].to_string()).collect();
    assert_eq!(ids.len(), 3, "each has an id of its own");
    // What comes next is the next mail, not one of those again.
    let (_, _next) = world.ready(&ana, COSTLY).await;
    let asked = server.mails(1).await;
    assert!(asked.iter().all(|mail| mail["headers"]["subject"] == "Second read wanted on job 2"));
}

/// The shop reads the mail that it sent; whoever could read a guest's code there could read and
/// sign in the guest's name.
#[tokio::test]
async fn a_guests_link_and_code_reach_the_guest_alone() {
    let port = free_port();
    let mut server = MailServer::start(port).await;
    let smtp_url = Some(format!("smtp://127.0.0.1:{port}"));
    let world = World::with("mail_guest", Settings { smtp_url, ..Settings::default() }).await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let (_, request) = world.ready(&ana, COSTLY).await;
    server.mail().await;

    let new = json!({ "hours": 24, "mail_to": "rosa@lind.example" });
    let made = ana.post(&format!("/api/requests/{request}/guest-links"), &new).await.done();
    let token = made["token"].as_str().unwrap();
    let invitation = server.mail().await;
    assert_eq!(invitation["to"], json!(["rosa@lind.example"]));
    // The longest line of a mail is broken with "=" at its end.
    let raw = invitation["raw"].as_str().unwrap().replace("=\r\n", "").replace("=\n", "");
    assert!(raw.contains(&format!("/guest#{token}")), "{raw}");
    let body = json!({ "token": token, "name": "Rosa Lind", "licence": "L-1",
        "email": "rosa@lind.example" });
    let rosa = blackbox::client::Client::anonymous(&world.service);
    rosa.post("/api/guest/code", &body).await.done();
    let letter = server.mail().await;
    let subject = letter["headers"]["subject"].as_str().unwrap();
    let code: String = subject.chars().take(6).collect();
    assert!(code.chars().all(|char| char.is_ascii_digit()), "{subject}");

    world.service.rows_once("SELECT id FROM mail", 3).await;
    let listed = dan.get("/api/mail").await.done().to_string();
    let rows = world.service.rows("SELECT * FROM outbox WHERE payload ? 'to_email'").await;
    for kept in rows.iter().map(ToString::to_string).chain([listed]) {
        assert!(!kept.contains(&code) && !kept.contains(token), "{kept}");
    }
    for customer in ["Orsolya", "Quill", "Kiln Row", "555 0142"] {
        assert!(!format!("{invitation}{letter}").contains(customer), "{customer}");
    }
    let opened = json!({ "token": token, "code": code });
    assert_eq!(rosa.post("/api/guest/session", &opened).await.status, 204);
}

#[tokio::test]
async fn without_a_mail_server_mail_is_kept_for_the_page() {
    let world = World::new("mail_kept").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);

    world.ready(&ana, COSTLY).await;

    world.service.rows_once("SELECT id FROM mail", 1).await;
    let listed = dan.get("/api/mail").await.done();
    let listed = listed.as_array().unwrap();
    assert_eq!(listed.len(), 1);
    assert!(listed.iter().all(|mail| mail["sent"] == false), "it did not leave the machine");
}
