//! In earnest: a first shop, a lost password, a reverse proxy in front, a backup and its restore.
//!
//! Belongs here: what `deploy` promises, done as its README says. Does not belong here: what the
//! service answers once it is reached.

use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};
use std::time::Duration;

use blackbox::client::Client;
use blackbox::seed::PASSWORD;
use blackbox::service::{PATIENCE, Service, Settings, script_on};
use blackbox::socket::Socket;
use blackbox::tree;
use reqwest::Method;
use serde_json::json;
use tempfile::TempDir;
use tokio::net::TcpStream;
use tokio::process::{Child, Command};

use super::world::World;

/// More than nginx lets through by itself, and less than a photo may have.
const LARGE_BYTES: usize = 5 << 20;

/// Says what a command said, whichever way.
fn said(output: &Output) -> String {
    let of = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    of(&output.stdout) + &of(&output.stderr)
}

fn password_file(folder: &TempDir, password: &str) -> String {
    let file = folder.path().join("password");
    std::fs::write(&file, format!("{password}\n")).expect("a file");
    file.to_str().expect("a path in UTF-8").to_owned()
}

async fn new_shop(
    service: &Service,
    folder: &TempDir,
    [zone, currency, password]: [&str; 3],
) -> Output {
    let file = password_file(folder, password);
    let fixed = ["--name", "Osier Lane Heating", "--owner", "Tove Marsh"];
    let email = ["--email", "tove@osier.example", "--password-file", &file];
    let told = ["new-shop", "--zone", zone, "--currency", currency];
    service.run(&[&told[..], &fixed, &email].concat()).await
}

#[tokio::test]
async fn a_first_shop_is_its_owners_alone_and_comes_whole_or_not_at_all() {
    let service = Service::start("http_deployed_shop", Settings::default()).await;
    let folder = TempDir::new().unwrap();
    let shops_before = service.count("shop").await;

    let refused = new_shop(&service, &folder, ["Mars/Olympus", "usd", "a long enough one"]).await;
    let says = said(&refused);
    assert!(!refused.status.success(), "{says}");
    assert!(says.contains("zone: ") && says.contains("currency: "), "each is named: {says}");
    // The shop itself could be; its owner cannot, and it must not stay without one.
    let refused = new_shop(&service, &folder, ["Europe/Oslo", "NOK", "short"]).await;
    assert!(said(&refused).contains("password: "), "{}", said(&refused));
    assert_eq!(service.count("shop").await, shops_before, "nothing is half there");

    let made = new_shop(&service, &folder, ["Europe/Oslo", "NOK", "a long enough one"]).await;
    assert!(made.status.success(), "{}", said(&made));
    let again = new_shop(&service, &folder, ["Europe/Oslo", "NOK", "a long enough one"]).await;
    assert!(said(&again).contains("already signs in"), "{}", said(&again));
    assert_eq!(service.count("shop").await, shops_before + 1);

    let mut tove = Client::anonymous(&service);
    let body = json!({ "email": "tove@osier.example", "password": "a long enough one" });
    tove.sign_in(&body).await.done();
    let people = tove.get("/api/people").await.done();
    assert_eq!(people.as_array().unwrap().len(), 1, "nobody of another shop: {people}");
    let helper = json!({ "name": "Bram Holt", "email": "bram@osier.example",
        "password": "another long one", "roles": ["technician"], "qualifications": [] });
    tove.post("/api/people", &helper).await.done();
    let shop = tove.get("/api/shop").await.done();
    assert_eq!(shop["zone"], "Europe/Oslo", "{shop}");
}

#[tokio::test]
async fn a_new_password_ends_what_the_old_one_opened_and_is_on_the_record() {
    let service = Service::start("http_deployed_password", Settings::default()).await;
    let folder = TempDir::new().unwrap();
    let dan = Client::signed_in(&service, "dan").await;
    let email = blackbox::seed::email_of("dan");

    let nobody = ["new-password", "--email", "nobody@nowhere.example", "--password-file"];
    let file = password_file(&folder, "a new long one");
    let refused = service.run(&[&nobody[..], &[&file]].concat()).await;
    assert!(said(&refused).contains("no person with this e-mail address"), "{}", said(&refused));
    let shouted = email.to_uppercase();
    let asked = ["new-password", "--email", &shouted, "--password-file", &file];
    let changed = service.run(&asked).await;
    assert!(changed.status.success(), "{}", said(&changed));

    let cookie = dan.cookie.clone().expect("signed in with a cookie");
    assert_eq!(dan.refresh_with(&cookie).await.status, 401, "the old session is over");
    let mut anew = Client::anonymous(&service);
    let old = anew.sign_in(&json!({ "email": email, "password": PASSWORD })).await;
    assert_eq!(old.status, 401);
    anew.sign_in(&json!({ "email": email, "password": "a new long one" })).await.done();
    assert_eq!(service.count("record_entry WHERE kind = 'person_password_set'").await, 1);
    assert!(service.run(&["verify-record"]).await.status.success());
}

/// A real nginx with the way to the service that `deploy/proxy-pass.conf` describes.
struct Nginx {
    base: String,
    _folder: TempDir,
    _child: Child,
}

fn nginx() -> PathBuf {
    let on_path = ["/usr/sbin/nginx", "/usr/bin/nginx", "/usr/local/sbin/nginx"];
    let found = on_path.into_iter().map(PathBuf::from).find(|path| path.exists());
    found.expect("nginx is installed; deploy/test does that")
}

/// Everything that nginx writes goes into one folder.
fn around(folder: &Path, inside: &str) -> String {
    let at = folder.display();
    let temp = ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"]
        .map(|kind| format!("{kind}_temp_path {at}/{kind};\n"))
        .concat();
    format!(
        "daemon off;\nmaster_process off;\npid {at}/pid;\nerror_log {at}/error.log;\nevents {{}}\n\
         http {{\naccess_log off;\n{temp}{inside}}}\n"
    )
}

impl Nginx {
    async fn before(service: &Service) -> Self {
        let folder = TempDir::new().expect("a folder");
        // nginx cannot take a free port itself; between the two somebody else could have it, and
        // then it does not start.
        let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let pass = tree::workspace().join("deploy/proxy-pass.conf");
        let inside = format!(
            "upstream countersign {{ server {}; }}\nserver {{ listen 127.0.0.1:{port};\n\
             include {}; }}\n",
            service.host(),
            pass.display()
        );
        let config = folder.path().join("nginx.conf");
        std::fs::write(&config, around(folder.path(), &inside)).expect("a file");
        let child = Command::new(nginx())
            .arg("-c")
            .arg(&config)
            .stderr(Stdio::inherit())
            .kill_on_drop(true)
            .spawn()
            .expect("nginx starts");
        let address = format!("127.0.0.1:{port}");
        let up = async {
            while TcpStream::connect(&address).await.is_err() {
                tokio::time::sleep(Duration::from_millis(20)).await;
            }
        };
        tokio::time::timeout(PATIENCE, up).await.expect("nginx listens");
        Nginx { base: format!("http://{address}"), _folder: folder, _child: child }
    }
}

#[tokio::test]
async fn through_the_reverse_proxy_everything_arrives_and_nobody_lends_an_address() {
    let settings = Settings { behind_proxy: true, ..Settings::default() };
    let mut world = World::with("deployed_proxy", settings).await;
    let nginx = Nginx::before(&world.service).await;
    world.service.base.clone_from(&nginx.base);

    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let mut socket = Socket::open(&bo).await;
    let job = world.job(&ana).await;
    // Whatever of it comes first: it came over the upgraded connection.
    assert!(socket.next().await["type"].is_string());
    let ticket = bo.post("/api/live/ticket", &json!({})).await.done();
    let ticket = ticket["ticket"].as_str().expect("a ticket").to_owned();
    let elsewhere = Socket::enter(&bo, &ticket, Some("http://elsewhere.example")).await;
    assert_eq!(elsewhere.err(), Some(403), "an origin that is not this one is refused");

    let large = ana
        .request(Method::POST, &format!("/api/jobs/{job}/photos"))
        .header("Content-Type", "image/jpeg")
        .header("Idempotency-Key", blackbox::client::fresh().to_string())
        .body(vec![b'x'; LARGE_BYTES]);
    let refused = ana.send(large).await;
    let kind = refused.headers["content-type"].to_str().unwrap();
    assert_eq!(kind, "application/problem+json", "the service answers, not the proxy: {refused:?}");
    assert_ne!(refused.status, 413, "{refused:?}");

    let body = json!({ "email": "somebody@nowhere.example", "password": "not a password" });
    let lent = ana
        .request(Method::POST, "/api/session")
        .header("X-Forwarded-For", "192.0.2.77")
        .header("X-Forwarded-Host", "elsewhere.example")
        .json(&body);
    assert_eq!(ana.send(lent).await.status, 401);
    let tried = "SELECT address FROM signin_attempt WHERE email_lower = 'somebody@nowhere.example'";
    let tried = world.service.rows(tried).await;
    assert_eq!(tried[0]["address"], "127.0.0.1", "the address that the proxy saw: {tried:?}");
}

#[tokio::test]
async fn the_whole_proxy_file_is_one_that_nginx_takes() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    let made = Command::new("openssl")
        .args(["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2"])
        .args(["-subj", "/CN=shop.example", "-keyout"])
        .arg(at.join("privkey.pem"))
        .arg("-out")
        .arg(at.join("fullchain.pem"))
        .output()
        .await
        .expect("openssl runs");
    assert!(made.status.success(), "{}", said(&made));
    let deploy = tree::workspace().join("deploy");
    let whole = std::fs::read_to_string(deploy.join("proxy.conf"))
        .unwrap()
        .replace("/etc/nginx/certificate", at.to_str().unwrap())
        .replace("/etc/nginx/proxy-pass.conf", deploy.join("proxy-pass.conf").to_str().unwrap())
        // Nobody of that name here.
        .replace("server countersign:8080", "server 127.0.0.1:9");
    let config = at.join("nginx.conf");
    std::fs::write(&config, around(at, &whole)).unwrap();

    let looked = Command::new(nginx()).arg("-t").arg("-c").arg(&config).output().await.unwrap();

    assert!(looked.status.success(), "{}", said(&looked));
    assert!(!said(&looked).contains("[warn]"), "{}", said(&looked));
}

#[tokio::test]
async fn a_backup_is_restored_beside_what_runs_and_one_that_was_tampered_with_is_not_kept() {
    let world = World::new("deployed_backup").await;
    let ana = world.client("ana").await;
    let job = world.job(&ana).await;
    let url = world.service.database_url().to_owned();
    let folder = TempDir::new().unwrap();
    let at = folder.path().to_str().unwrap();

    let written = script_on(&url, "backup", &[at]).await;
    assert!(written.status.success(), "{}", said(&written));
    let dump = std::fs::read_dir(at).unwrap().next().expect("one file").unwrap().path();
    let dump = dump.to_str().unwrap();
    // Afterwards, so that it is the dump that is looked at below.
    world.job(&ana).await;

    let wrong = script_on(&url, "restore", &[dump, "Restored; DROP"]).await;
    assert_eq!(wrong.status.code(), Some(2), "{}", said(&wrong));
    let no_dump = folder.path().join("none.dump");
    std::fs::write(&no_dump, "this is no dump").unwrap();
    let wrong = script_on(&url, "restore", &[no_dump.to_str().unwrap(), "restored_none"]).await;
    assert!(!wrong.status.success(), "{}", said(&wrong));
    let restored = script_on(&url, "restore", &[dump, "http_restored"]).await;
    assert!(restored.status.success(), "{}", said(&restored));
    let again = script_on(&url, "restore", &[dump, "http_restored"]).await;
    assert!(said(&again).contains("already"), "{}", said(&again));
    let databases = "pg_database WHERE datname IN ('http_restored', 'restored_none')";
    assert_eq!(world.service.count(databases).await, 1);
    assert_eq!(
        world.service.count("pg_database WHERE datname LIKE 'countersign_verify_%'").await,
        0,
        "the scratch copy is gone"
    );

    let copy = url.replace("/http_deployed_backup", "/http_restored");
    let server = blackbox::service::Server::start(&copy, &Settings::default()).await;
    let mut reader = Client::signed_in(&world.service, "ana").await;
    reader.base.clone_from(&server.base);
    let signed = json!({ "email": blackbox::seed::email_of("ana"), "password": PASSWORD });
    reader.sign_in(&signed).await.done();
    let board = reader.get(&format!("/api/jobs/{job}")).await.done();
    assert_eq!(board["number"], 1, "{board}");

    world
        .service
        .execute(
            "ALTER TABLE record_entry DISABLE TRIGGER ALL; \
             UPDATE record_entry SET body = body || '{\"number\": 9}' WHERE kind = 'job_taken'; \
             ALTER TABLE record_entry ENABLE TRIGGER ALL;",
        )
        .await;
    let tampered = script_on(&url, "backup", &[at]).await;
    assert_eq!(tampered.status.code(), Some(2), "{}", said(&tampered));
    assert!(said(&tampered).contains("entry "), "{}", said(&tampered));
}
