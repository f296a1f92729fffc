//! Meters as records: what a reading takes from one, and what it says of the reading.
//!
//! Belongs here: promises about meters. Does not belong here: how a meter's error weighs in a
//! verdict, which the engine's tests hold.

use blackbox::client::id_in;
use serde_json::{Value, json};
use uuid::Uuid;

use super::world::{World, at_pins};

/// A meter as somebody says it is.
pub(crate) fn said(label: &str, keeper: Option<Uuid>) -> Value {
    json!({
        "label": label, "serial": "V-104", "keeper": keeper, "lead_ohm": 0.3,
        "calibrated_on": "2024-02-29", "calibration_months": 12,
        "ranges": [{ "quantity": "resistance", "accuracy_pct": 0.8, "resolution": 0.1,
            "highest": 40_000_000.0 }],
    })
}

#[tokio::test]
async fn a_reading_takes_what_its_meter_can_tell_from_the_record_and_keeps_it() {
    let world = World::new("meter").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let meter = ana.post("/api/meters", &said("Van 3", Some(ana.id))).await.done();
    assert_eq!(meter["due_on"], "2025-02-28");
    let job = world.job(&ana).await;
    let mut reading = at_pins("C", "R", Some(0.5));
    reading["meter_id"] = meter["id"].clone();
    reading["meter"] = json!({ "zeroed": true, "resolution": 0.001 });
    let path = format!("/api/jobs/{job}/readings");

    let evidence = ana.post(&path, &json!({ "reading": reading })).await.done();

    let kept = &evidence["readings"][0];
    assert_eq!(kept["reading"]["meter"]["resolution"], 0.1, "the record's, not the sender's");
    assert_eq!(kept["reading"]["meter"]["zeroed"], true);
    assert_eq!(
        (&kept["meter"]["serial"], &kept["meter"]["overdue"]),
        (&json!("V-104"), &json!(true))
    );
    // 0.8 % + 0.1 Ω / 0.5 Ω.
    let judged = &evidence["verdict"]["readings"][0];
    assert!(judged["meter_says"].as_str().unwrap().contains("±21 %"), "{judged}");

    let finer = json!({ "version": 1, "meter": {
        "label": "Van 3", "keeper": ana.id, "calibrated_on": "2026-11-01", "calibration_months": 12,
        "ranges": [{ "quantity": "resistance", "accuracy_pct": 0.5, "resolution": 0.01,
            "highest": 1000.0 }] } });
    let path = format!("/api/meters/{}", id_in(&meter));
    dan.put(&path, &finer).await.done();
    let again = ana.get(&format!("/api/jobs/{job}/evidence")).await.done();
    assert_eq!(again["readings"][0]["meter"]["overdue"], true, "it was on that day");
    assert_eq!(again["readings"][0]["reading"]["meter"]["resolution"], 0.1);
    ana.put(&path, &finer).await.refused(409, "changed-meanwhile");
}

#[tokio::test]
async fn a_meter_that_cannot_have_shown_it_is_refused_with_what_would_be_right() {
    let world = World::new("meter_wrong").await;
    let (ana, bo, dan) =
        (world.client("ana").await, world.client("bo").await, world.client("dan").await);
    let zed = world.client("zed").await;
    let job = world.job(&ana).await;
    let path = format!("/api/jobs/{job}/readings");
    let mine = ana.post("/api/meters", &said("Van 3", Some(ana.id))).await.done();
    let theirs = zed.post("/api/meters", &said("Van 3", None)).await.done();
    let mut volts = super::world::through_the_harness();
    volts["quantity"] = json!("insulation");
    let ohms = at_pins("C", "S", Some(1.3));

    for (mut reading, meter, says) in [
        (volts, &mine["id"], "insulation resistance"),
        (ohms.clone(), &theirs["id"], "no such meter"),
        (ohms.clone(), &json!(Uuid::from_u128(7)), "no such meter"),
    ] {
        reading["meter_id"] = meter.clone();
        let problem = ana.post(&path, &json!({ "reading": reading })).await.refused(422, "invalid");
        let said = problem["errors"][0]["says"].as_str().unwrap_or_default();
        assert!(said.contains(says), "{problem}");
        assert_eq!(problem["errors"][0]["pointer"], "/reading/meter_id");
    }
    ana.post("/api/meters", &said("van 3", Some(ana.id))).await.refused(409, "meter-label");
    bo.put(
        &format!("/api/meters/{}", id_in(&mine)),
        &json!({
        "version": 1, "meter": said("Bo's now", Some(bo.id)) }),
    )
    .await
    .refused(403, "not-allowed");
    let mut odd = said("Odd", None);
    odd["ranges"][0]["highest"] = json!(0.01);
    odd["lead_ohm"] = json!(11);
    odd["calibrated_on"] = json!("2999-01-01");
    let problem = dan.post("/api/meters", &odd).await.refused(422, "invalid");
    assert_eq!(problem["errors"].as_array().unwrap().len(), 3, "{problem}");

    let retire = json!({ "version": 1, "meter": said("Van 3", Some(ana.id)), "retired": true });
    ana.put(&format!("/api/meters/{}", id_in(&mine)), &retire).await.done();
    let mut reading = ohms;
    reading["meter_id"] = mine["id"].clone();
    ana.post(&path, &json!({ "reading": reading })).await.refused(422, "invalid");
    // Its name is free again.
    ana.post("/api/meters", &said("Van 3", Some(ana.id))).await.done();
}
