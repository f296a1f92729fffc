//! Every route, tried by everybody.
//!
//! Belongs here: filling and trying the rows of [`super::authorization_table`]. Does not
//! belong here: what is done for those who may.

use std::collections::BTreeSet;

use blackbox::client::{Answer, Client, fresh, id_in};
use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use super::authorization_table::{COLUMNS, Ids, On, ROWS, Row};
use super::world::{COSTLY, World, ask, at_pins, digest, step};

/// Routes that nobody has to sign in for; every other one answers 401 to nobody.
const PUBLIC: [&str; 4] =
    ["GET /api/demo/sign-ins", "GET /api/health", "POST /api/session", "POST /api/session/end"];

#[tokio::test]
async fn every_route_has_a_row_and_every_row_a_route() {
    let world = World::new("routes").await;

    let document = Client::anonymous(&world.service).get("/api/openapi.json").await.done();

    let routes: BTreeSet<String> = document["paths"]
        .as_object()
        .unwrap()
        .iter()
        .flat_map(|(path, methods)| {
            let methods = methods.as_object().unwrap().keys();
            methods.map(move |method| format!("{} {path}", method.to_uppercase()))
        })
        .collect();
    let rows: BTreeSet<String> = ROWS.iter().map(|row| row.route.to_owned()).collect();
    let without_row: Vec<_> = routes.difference(&rows).collect();
    let without_route: Vec<_> = rows.difference(&routes).collect();
    assert!(without_row.is_empty(), "say who may in authorization_table.rs: {without_row:?}");
    assert!(without_route.is_empty(), "there is no such route any more: {without_route:?}");
    assert_eq!(rows.len(), ROWS.len(), "a route has two rows");
    for row in ROWS {
        let nobody = row.says.split(' ').next().unwrap();
        let public = PUBLIC.contains(&row.route);
        assert_eq!(nobody, if public { "may" } else { "401" }, "{}", row.route);
    }
}

#[tokio::test]
async fn everybody_gets_what_the_table_says() {
    let cast = Cast::new().await;
    let mut wrong = Vec::new();
    let mut shared: Option<Ids> = None;
    let day = std::cell::Cell::new(10);
    let window = std::cell::Cell::new(0);

    for row in ROWS {
        let says: Vec<&str> = row.says.split(' ').collect();
        assert_eq!(says.len(), COLUMNS.len(), "{}", row.route);
        let mut own = None;
        let ids = if row.leaves_it_as_it_was() { &mut shared } else { &mut own };
        if ids.is_none() {
            *ids = Some(cast.ids(row.on).await);
        }
        let ids = ids.as_mut().unwrap();
        // Who may goes last: it changes what is there.
        let mut order: Vec<usize> = (0..COLUMNS.len()).collect();
        order.sort_by_key(|column| says[*column] == "may");
        let mut done = 0;
        for column in order {
            if row.on == On::Session {
                ids.session = cast.session_of_cleo().await;
            }
            if row.on == On::Rota {
                (ids.rota_entry, ids.swap, ids.leave) = cast.rota(&day).await;
            }
            if matches!(row.on, On::Plan | On::PlanTaken) {
                ids.plan = cast.plan(row.on == On::PlanTaken, &window).await;
            }
            ids.key = fresh();
            ids.email = format!("{}@tern.example", ids.key);
            let answer = send(&cast.clients[column], row, ids).await;
            done += usize::from(answer.status < 300);
            // A conflict is about the state, which is only looked at for those who may.
            let is_so = match says[column] {
                "may" => answer.status < 300 || answer.status == 409,
                status => answer.status.to_string() == status,
            };
            if !is_so {
                wrong.push(format!(
                    "{} by {}: {} expected, {} {}",
                    row.route, COLUMNS[column], says[column], answer.status, answer.text
                ));
            }
        }
        if row.says.contains("may") && done == 0 {
            wrong.push(format!("{}: nobody could do it, so nothing was tried", row.route));
        }
    }

    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What another shop's owner gets of lists, and by naming our things inside a body.
#[tokio::test]
async fn nothing_of_a_shop_is_in_what_another_shop_gets() {
    let cast = Cast::new().await;
    let ids = cast.ids(On::Awaiting).await;
    let zed = &cast.clients[6];
    let ours = [ids.customer, ids.site, ids.unit, ids.person, ids.job, ids.request];

    for path in [
        "/api/me",
        "/api/shop",
        "/api/sessions",
        "/api/people",
        "/api/board",
        "/api/rota",
        "/api/rota/duty",
        "/api/plans",
        "/api/ways",
        "/api/ways/table",
        "/api/rota/swaps",
        "/api/rota/leave",
        "/api/rota/fairness",
        "/api/calendar",
        "/api/customers",
        "/api/requests",
        "/api/mail",
        "/api/capacity",
        "/api/rules",
        "/api/found",
    ] {
        let answer = zed.get(path).await;
        assert_eq!(answer.status, 200, "{path}: {}", answer.text);
    }
    zed.get(&format!("/api/board/jobs?ids={}", ids.job)).await.done();
    zed.get("/api/board?q=quill").await.done();
    zed.get("/api/customers/search?q=orsolya").await.done();
    for (asked, heard) in zed.heard() {
        assert!(!heard.contains("Tern Street") && !heard.contains("Orsolya"), "{asked}: {heard}");
        for id in ours {
            assert!(!heard.contains(&id.to_string()), "{asked}: {heard}");
        }
    }

    // Their job cannot be given to one of us, nor ours to one of them.
    let site = json!({ "address": "2 High Moor", "town": "Lowmoor" });
    let customer = zed.post("/api/customers", &json!({ "name": "Abel Stroud" })).await.done();
    let path = format!("/api/customers/{}/sites", id_in(&customer));
    let site = zed.post(&path, &site).await.done();
    let unit = json!({ "label": "Boiler room unit", "circuit": "compressor-3ph" });
    let unit = zed.post(&format!("/api/sites/{}/units", id_in(&site)), &unit).await.done();
    let new = json!({ "unit_id": id_in(&unit), "complaint": "Cold", "urgency": "comfort",
        "assigned_to": ids.person });
    zed.post("/api/jobs", &new).await.refused(404, "not-found");
    let theirs = json!({ "version": ids.job_version, "person_id": zed.id });
    let path = format!("/api/jobs/{}/assignment", ids.job);
    cast.clients[3].post(&path, &theirs).await.refused(404, "not-found");
}

/// A guest's session is good for the guest's own routes and for nothing else, whichever way it
/// is shown.
#[tokio::test]
async fn a_guest_is_let_in_nowhere_else() {
    let cast = Cast::new().await;
    let ids = cast.ids(On::Ready).await;
    let link = super::guest::link(&cast.clients[1], ids.request).await;
    let guest = super::guest::enter(&cast.world, &link, "rosa@lind.example").await;
    guest.get("/api/guest/case").await.done();
    let cookie = guest.guest.clone().unwrap();
    let mut bearer = Client::anonymous(&cast.world.service);
    bearer.token = Some(cookie.clone());

    for row in ROWS.iter().filter(|row| !row.route.contains("/api/guest/")) {
        if PUBLIC.contains(&row.route) || row.route == "POST /api/session/refresh" {
            continue;
        }
        for who in [&guest, &bearer] {
            let answer = send(who, row, &ids).await;
            assert_eq!(answer.status, 401, "{}: {}", row.route, answer.text);
        }
    }
    guest.refresh_with(&cookie).await.refused(401, "not-signed-in");
    // The one thread is a guest's after the read; another job's never is, nor its socket.
    let (other, _) = cast.world.ready(&cast.clients[1], COSTLY).await;
    let mut socket = blackbox::socket::Socket::open(&guest).await;
    socket.send(&json!({ "type": "follow", "job_id": other, "after": 0 })).await;
    let refused = socket.until_type("refused").await;
    assert_eq!(refused["problem"]["type"], "/problems/not-found", "{refused}");
    let told = serde_json::to_string(&socket.frames).unwrap();
    assert!(!told.contains("\"changed\""), "nothing of other jobs is announced: {told}");
}

#[tokio::test]
async fn a_token_is_not_believed_when_it_is_not_ours_and_roles_are_those_of_now() {
    let world = World::new("tokens").await;
    let (olaf, mut dan) = (world.client("olaf").await, world.client("dan").await);

    dan.get("/api/mail").await.done();
    let roles = json!({ "roles": ["scheduler"] });
    olaf.patch(&format!("/api/people/{}", dan.id), &roles).await.done();
    dan.get("/api/mail").await.refused(403, "not-allowed");

    let token = dan.token.take().unwrap();
    for forged in ["", "x.y.z", &format!("{token}x"), &token[..token.len() - 2]] {
        dan.token = Some(forged.to_owned());
        dan.get("/api/me").await.refused(401, "not-signed-in");
    }
    // Unsigned, in the same person's name.
    let payload = token.split('.').nth(1).unwrap();
    dan.token = Some(format!("eyJhbGciOiJub25lIiwidHlwIjoiSldUIn0.{payload}."));
    let answer = dan.get("/api/me").await;
    answer.refused(401, "not-signed-in");
    assert_eq!(answer.headers.get("www-authenticate").unwrap(), "Bearer");
}

struct Cast {
    world: World,
    /// In the order of [`COLUMNS`].
    clients: Vec<Client>,
    cleo: Client,
}

impl Cast {
    async fn new() -> Self {
        let world = World::new(&format!("cast_{}", fresh().simple())).await;
        let mut clients = vec![Client::anonymous(&world.service)];
        for name in &COLUMNS[1..] {
            clients.push(world.client(name).await);
        }
        let cleo = world.client("cleo").await;
        Cast { world, clients, cleo }
    }

    async fn session_of_cleo(&self) -> Uuid {
        let cleo = self.world.client("cleo").await;
        let sessions = cleo.get("/api/sessions").await.done();
        id_in(sessions.as_array().unwrap().iter().find(|one| one["current"] == true).unwrap())
    }

    /// A duty of Cleo's, offered to Ana, and leave that she asks for; on other days each time.
    async fn rota(&self, day: &std::cell::Cell<i64>) -> (Uuid, Uuid, Uuid) {
        let from = 24 * day.replace(day.get() + 1) + 10;
        let pia = &self.clients[3];
        let entry = super::rota::put(pia, self.cleo.id, "on_call", from, from + 8).await;
        let swap = json!({ "entry_id": entry, "to": self.clients[1].id });
        let swap = id_in(&self.cleo.post("/api/rota/swaps", &swap).await.done());
        // Far enough not to meet the duties.
        let (start, end) = (super::rota::at(from + 24 * 300), super::rota::at(from + 24 * 301));
        let leave = json!({ "start": start, "end": end });
        let leave = id_in(&self.cleo.post("/api/rota/leave", &leave).await.done());
        (entry, swap, leave)
    }

    /// A proposal with something to take, or already taken. Each time for other days, with
    /// somebody on shift: all the jobs of this test fill the next ones, so that a plan for them may
    /// change nothing. Asked for
    /// again where the shop's own rules changed the board while it was searched for.
    async fn plan(&self, taken: bool, window: &std::cell::Cell<i64>) -> Uuid {
        /// Of two days each, so that the last begins within the days that may be planned.
        const WINDOWS: i64 = 29;
        let (pia, bo) = (&self.clients[3], &self.clients[2]);
        for _ in 0..3 {
            let nth = window.replace(window.get() + 1);
            assert!(nth < WINDOWS, "more plans than days for them");
            let from = 24 * (1 + 2 * nth);
            super::rota::put(pia, bo.id, "shift", from + 8, from + 17).await;
            let (from, until) = (super::rota::at(from), super::rota::at(from + 47));
            let ask = json!({ "from": from, "until": until, "seconds": 3 });
            self.world.job(&self.cleo).await;
            let plan = id_in(&pia.post("/api/plans", &ask).await.done());
            if !taken {
                return plan;
            }
            let answer = pia.post(&format!("/api/plans/{plan}/take"), &json!({})).await;
            if answer.code() != "board-changed" {
                answer.done();
                return plan;
            }
        }
        panic!("the board changed under three plans in a row");
    }

    async fn ids(&self, on: On) -> Ids {
        let (world, ana, bo) = (&self.world, &self.clients[1], &self.clients[2]);
        let (job, request) = match on {
            On::Ready | On::Session | On::Rota | On::Plan | On::PlanTaken => {
                world.ready(ana, COSTLY).await
            }
            On::Asked => {
                let (job, request) = world.ready(ana, COSTLY).await;
                // The ladder may have asked him already.
                step(ana, request, "ask", &json!({ "person_id": bo.id })).await;
                (job, request)
            }
            On::Draft => {
                let job = world.job(ana).await;
                let new = json!({ "claim": { "component": "compressor" },
                    "estimated_cost_cents": COSTLY, "submit": false });
                let path = format!("/api/jobs/{job}/requests");
                (job, id_in(&ana.post(&path, &new).await.done()))
            }
            On::Held => {
                let job = world.job(ana).await;
                (job, id_in(&ask(ana, job, COSTLY, "").await.done()))
            }
            On::Reading => {
                let (job, request) = world.ready(ana, COSTLY).await;
                step(bo, request, "take", &Value::Null).await.done();
                (job, request)
            }
            On::Revealed => world.revealed(ana, bo, COSTLY).await,
            On::Awaiting => world.awaiting(ana, bo).await,
        };
        // The reading to strike is on a job of its own, so that striking it moves nothing else; who
        // has it is there already, so that no rule and no plan gives it to anybody else meanwhile.
        let other = world.job(ana).await;
        let version = ana.get(&format!("/api/jobs/{other}")).await.done()["version"].clone();
        let there = json!({ "version": version, "state": "on_site" });
        ana.patch(&format!("/api/jobs/{other}"), &there).await.done();
        let path = format!("/api/jobs/{other}/readings");
        let body = json!({ "reading": at_pins("C", "S", Some(1.3)) });
        let evidence = ana.post(&path, &body).await.done();
        let seen = ana.get(&format!("/api/jobs/{job}")).await.done();
        let unasked = match on {
            On::Asked => {
                let path = format!("/api/requests/{request}/candidates");
                let found = ana.get(&path).await.done();
                let ranked = found["ranked"].as_array().unwrap();
                let one = ranked.iter().find(|one| one["ask"].is_null()).expect("one is left");
                id_in(&one["person"])
            }
            _ => Uuid::nil(),
        };
        let guest_link = match on {
            On::Ready => id_in(&super::guest::link(ana, request).await),
            _ => Uuid::nil(),
        };
        let (circuit, circuit_text) = super::circuits::own(&self.clients[4]).await;
        let meter = super::meters::said(&fresh().to_string(), None);
        let meter = id_in(&self.clients[4].post("/api/meters", &meter).await.done());
        Ids {
            circuit,
            circuit_text,
            meter,
            customer: world.customer_id,
            site: world.site_id,
            unit: world.unit_id,
            person: self.cleo.id,
            session: Uuid::nil(),
            job,
            job_version: seen["version"].as_i64().unwrap(),
            reading: id_in(&evidence["readings"][0]),
            request,
            photo: super::talk::photo(ana, job).await,
            ask: super::talk::ask_for(ana, job, "").await,
            guest_link,
            rota_entry: Uuid::nil(),
            plan: Uuid::nil(),
            swap: Uuid::nil(),
            leave: Uuid::nil(),
            unasked,
            rule: id_in(&ana.get("/api/rules").await.done()["rules"][0]),
            day: ana.get("/api/capacity").await.done()["weather"][0]["day"]
                .as_str()
                .unwrap()
                .to_owned(),
            digest: digest(ana, request).await,
            key: Uuid::nil(),
            email: String::new(),
        }
    }
}

async fn send(who: &Client, row: &Row, ids: &Ids) -> Answer {
    let (method, path) = row.route.split_once(' ').unwrap();
    let method: Method = method.parse().unwrap();
    let body = (row.body)(ids);
    who.write(method, &filled(path, ids), ids.key, &body).await
}

/// A route's address with the ids in it. What `{id}` is, the word before it says.
fn filled(path: &str, ids: &Ids) -> String {
    let mut before = "";
    let mut filled = Vec::new();
    for segment in path.split('/') {
        filled.push(if !segment.starts_with('{') {
            segment.to_owned()
        } else {
            match before {
                "circuits" => ids.circuit.clone(),
                "meters" => ids.meter.to_string(),
                "customers" => ids.customer.to_string(),
                "sites" => ids.site.to_string(),
                "units" => ids.unit.to_string(),
                "people" => ids.person.to_string(),
                "sessions" => ids.session.to_string(),
                "jobs" => ids.job.to_string(),
                "readings" => ids.reading.to_string(),
                "photos" => ids.photo.to_string(),
                "asks" => ids.ask.to_string(),
                "requests" => ids.request.to_string(),
                "guest-links" => ids.guest_link.to_string(),
                "rules" => ids.rule.to_string(),
                "entries" => ids.rota_entry.to_string(),
                "plans" => ids.plan.to_string(),
                "swaps" => ids.swap.to_string(),
                "leave" => ids.leave.to_string(),
                // A secret that leads nowhere: the route is for whoever holds one, signed in or not.
                "feeds" => "none.ics".to_owned(),
                other => panic!("say what {{id}} is after /{other}/"),
            }
        });
        before = segment;
    }
    filled.join("/")
}
