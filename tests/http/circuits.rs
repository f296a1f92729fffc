//! A shop's own circuits: versions, units on them, and what evidence is read against.
//!
//! Belongs here: promises about versions. Does not belong here: what a circuit file must look
//! like, which the engine's tests hold.

use blackbox::client::{Client, fresh, id_in};
use serde_json::{Value, json};

use super::world::{CHEAP, World, ask, at_pins, pins, seen, take_reading};

/// Adds a circuit of the shop's own, like the shipped one but for its name. Returns name and text.
pub(crate) async fn own(manager: &Client) -> (String, String) {
    let shipped = manager.get("/api/circuits/compressor-1ph-plug/file").await.done();
    let name = format!("tern-{}", fresh().simple());
    let text = renamed(shipped["text"].as_str().unwrap(), &name);
    manager.post("/api/circuits", &json!({ "text": text, "after_version": 0 })).await.done();
    (name, text)
}

fn renamed(text: &str, name: &str) -> String {
    let renamed = text.replacen("name = \"compressor-1ph-plug\"", &format!("name = \"{name}\""), 1);
    assert_ne!(renamed, text, "the shipped file says its name");
    renamed
}

async fn given(world: &World, who: &Client, circuit: &str) -> Value {
    let path = format!("/api/units/{}", world.unit_id);
    who.patch(&path, &json!({ "circuit": circuit })).await.done()
}

#[tokio::test]
async fn a_unit_stays_on_its_version_until_somebody_moves_it_and_a_request_on_its_own() {
    let world = World::new("circuit_versions").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let (name, text) = own(&dan).await;
    let unit = given(&world, &ana, &name).await;
    assert_eq!((&unit["circuit"], &unit["circuit_version"]), (&json!(name), &json!(1)));
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let request = ask(&ana, job, CHEAP, "").await.done();
    let digest = request["digest"].clone();

    let second = text.replacen("title = \"", "title = \"Ours: ", 1);
    let add = json!({ "text": second, "after_version": 1, "note": "A title that says whose." });
    let listed = dan.post("/api/circuits", &add).await.done();
    assert_eq!((&listed["version"], &listed["units_behind"]), (&json!(2), &json!(1)));

    let path = format!("/api/jobs/{job}/evidence");
    let evidence = ana.get(&path).await.done();
    assert!(!evidence["circuit"]["title"].as_str().unwrap().starts_with("Ours"), "{evidence}");
    // The label alone moves nothing.
    let unit_path = format!("/api/units/{}", world.unit_id);
    let same = ana.patch(&unit_path, &json!({ "label": "Yard", "circuit": name })).await.done();
    assert_eq!(same["circuit_version"], 1);

    let moved = ana.patch(&unit_path, &json!({ "circuit_version": 2 })).await.done();
    assert_eq!(moved["circuit_version"], 2);
    let evidence = ana.get(&path).await.done();
    assert!(evidence["circuit"]["title"].as_str().unwrap().starts_with("Ours"), "{evidence}");
    let kept = seen(&ana, id_in(&request)).await;
    assert_eq!(kept["digest"], digest, "what was claimed is judged by the text it was claimed on");
    let versions = ana.get(&format!("/api/circuits/{name}/versions")).await.done();
    assert_eq!(versions[0]["units"], 1);
    assert_eq!(versions[1]["note"], "");
    let units = ana.get(&format!("/api/circuits/{name}/units")).await.done();
    assert_eq!(units[0]["circuit_version"], 2);
}

#[tokio::test]
async fn a_version_without_the_points_that_readings_name_is_refused_while_their_job_is_open() {
    let world = World::new("circuit_points").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let (name, text) = own(&dan).await;
    given(&world, &ana, &name).await;
    let job = world.job(&ana).await;
    pins(&ana, job).await;
    let fewer = text.replace("\"SHELL\"", "\"CASE\"");
    assert_ne!(fewer, text);
    take_reading(&ana, job, &at_pins("C", "SHELL", None)).await.done();
    let add = json!({ "text": fewer, "after_version": 1, "note": "The shell is called case." });
    dan.post("/api/circuits", &add).await.done();
    let unit_path = format!("/api/units/{}", world.unit_id);

    let problem = ana.patch(&unit_path, &json!({ "circuit_version": 2 })).await;
    let problem = problem.refused(409, "circuit-in-use");
    assert!(problem["detail"].as_str().unwrap().contains("SHELL"), "{problem}");
    ana.patch(&unit_path, &json!({ "circuit_version": 9 })).await.refused(422, "invalid");

    // Once it is over the unit may move, and its old evidence still reads as it did.
    let before = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();
    let version = ana.get(&format!("/api/jobs/{job}")).await.done()["version"].clone();
    let done = json!({ "version": version, "state": "done" });
    ana.patch(&format!("/api/jobs/{job}"), &done).await.done();
    ana.patch(&unit_path, &json!({ "circuit_version": 2 })).await.done();
    let after = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();
    assert_eq!(after["circuit"], before["circuit"]);
    assert_eq!(after["verdict"]["outcome"], before["verdict"]["outcome"]);
}

#[tokio::test]
async fn a_file_that_does_not_hold_is_refused_with_its_lines_and_nothing_is_kept() {
    let world = World::new("circuit_bad").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let (name, text) = own(&dan).await;
    let dangling = text.replacen("between = [\"T1\", \"HC\"]", "between = [\"T1\", \"HX\"]", 1);
    assert_ne!(dangling, text);

    for (who, path) in [(&ana, "/api/circuits/look"), (&dan, "/api/circuits")] {
        let body = match path {
            "/api/circuits" => json!({ "text": dangling, "after_version": 1, "note": "Again." }),
            _ => json!({ "text": dangling }),
        };
        let answer = who.post(path, &body).await;
        let problem = answer.refused(422, "invalid");
        let says = problem["errors"][0]["says"].as_str().unwrap();
        assert!(says.starts_with("Line ") && says.contains("HX"), "{says}");
        let error = &problem["errors"][0];
        assert_eq!(error["pointer"], "/text");
        let line = 1 + dangling.lines().position(|line| line.contains("\"HX\"")).unwrap();
        assert_eq!(error["line"], line, "{error}");
        let path = error["path"].as_str().unwrap();
        assert!(path.starts_with("/parts/") && path.ends_with("/between"), "{path}");
    }
    let no_toml = ana.post("/api/circuits/look", &json!({ "text": "name = [" })).await;
    assert!(
        no_toml.refused(422, "invalid")["errors"][0]["says"].as_str().unwrap().contains("Line 1")
    );
    let shipped = dan.get("/api/circuits/blower-ecm/file").await.done();
    let add = json!({ "text": shipped["text"], "after_version": 0 });
    let taken = dan.post("/api/circuits", &add).await.refused(422, "invalid");
    assert!(taken["errors"][0]["says"].as_str().unwrap().contains("blower-ecm-ours"), "{taken}");
    let stale = json!({ "text": text, "after_version": 0 });
    dan.post("/api/circuits", &stale).await.refused(409, "changed-meanwhile");
    let wordless = json!({ "text": text, "after_version": 1 });
    dan.post("/api/circuits", &wordless).await.refused(422, "invalid");
    let versions = ana.get(&format!("/api/circuits/{name}/versions")).await.done();
    assert_eq!(versions.as_array().unwrap().len(), 1);
}

#[tokio::test]
async fn a_look_over_draws_it_and_names_what_no_reading_tells_apart() {
    let world = World::new("circuit_look").await;
    let ana = world.client("ana").await;
    let file = ana.get("/api/circuits/control-24v/file").await.done();

    let body = json!({ "text": file["text"], "survey": true });
    let looked = ana.post("/api/circuits/look", &body).await.done();

    assert_eq!(looked["circuit"]["name"], "control-24v");
    let conditions = looked["conditions"].as_array().unwrap();
    assert!(conditions.iter().any(|one| !one["groups"].as_array().unwrap().is_empty()));
}

#[tokio::test]
async fn what_is_withdrawn_stays_where_it_is_and_a_new_version_brings_it_back() {
    let world = World::new("circuit_withdrawn").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let (name, text) = own(&dan).await;
    given(&world, &ana, &name).await;
    let job = world.job(&ana).await;
    let reason = json!({ "reason": "The plug is drawn the wrong way round." });

    dan.post(&format!("/api/circuits/{name}/withdraw"), &json!({ "reason": "no" }))
        .await
        .refused(422, "invalid");
    let gone = dan.post(&format!("/api/circuits/{name}/withdraw"), &reason).await.done();

    assert_eq!(gone["withdrawn"], reason["reason"]);
    take_reading(&ana, job, &at_pins("C", "S", Some(1.3))).await.done();
    let unit = json!({ "label": "Another", "circuit": name });
    let path = format!("/api/sites/{}/units", world.site_id);
    let refused = ana.post(&path, &unit).await;
    let refused = refused.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/circuit");
    let add = json!({ "text": text, "after_version": 1, "note": "The plug is right now." });
    dan.post("/api/circuits", &add).await.done();
    let added = ana.post(&path, &unit).await.done();
    assert_eq!(added["circuit_version"], 2);
}
