//! The outlook from outside: what it answers, what moves it, what it refuses.
//!
//! Belongs here: promises about the answer. Does not belong here: the reckoning (roster's tests).

use reqwest::Method;
use serde_json::{Value, json};

use blackbox::client::{Answer, Client, fresh};

use super::world::World;

async fn put(who: &Client, path: &str, body: &Value) -> Answer {
    who.write(Method::PUT, path, fresh(), body).await
}

/// The answer without the moment at which it was reckoned.
async fn outlook(who: &Client, query: &str) -> Value {
    let mut answer = who.get(&format!("/api/capacity?{query}")).await.done();
    answer["reckoned_at"] = Value::Null;
    answer
}

fn load(outlook: &Value) -> f64 {
    outlook["hours"].as_array().unwrap().iter().map(|hour| hour["load"].as_f64().unwrap()).sum()
}

#[tokio::test]
async fn a_weekend_is_answered_hour_by_hour_and_repeats_with_its_seed() {
    let world = World::new("capacity").await;
    let ana = world.client("ana").await;

    let weekend = outlook(&ana, "span=saturday&seed=7").await;

    let hours = weekend["hours"].as_array().unwrap();
    assert!((1..=24).contains(&hours.len()), "{}", hours.len());
    for hour in hours {
        let of = |name: &str| hour[name].as_f64().unwrap();
        assert!(of("load_low") <= of("load_high") && of("supply") >= 0.0, "{hour}");
        assert!(["no", "may", "will"].contains(&hour["crosses"].as_str().unwrap()), "{hour}");
    }
    assert_eq!(weekend["classes"].as_array().unwrap().len(), 5);
    for class in weekend["classes"].as_array().unwrap() {
        let chance = |name: &str| class["chance"][name].as_f64().unwrap();
        assert!(chance("low") <= chance("chance") && chance("chance") <= chance("high"), "{class}");
    }
    assert!(weekend["notes"].to_string().contains("common practice, no source"), "{weekend}");
    assert_eq!(weekend, outlook(&ana, "span=saturday&seed=7").await);
    assert_ne!(weekend["hours"], outlook(&ana, "span=saturday&seed=8").await["hours"]);
}

#[tokio::test]
async fn cold_that_somebody_enters_raises_the_load_at_once() {
    let world = World::new("capacity_weather").await;
    let (ana, pia) = (world.client("ana").await, world.client("pia").await);
    let mild = outlook(&pia, "span=saturday").await;
    let day = mild["weather"][0]["day"].clone();
    assert_eq!(mild["weather"][0]["entered"], false);

    let cold = json!({ "day": day, "outdoor_f": -12 });
    put(&ana, "/api/capacity/weather", &cold).await.refused(403, "not-allowed");
    put(&pia, "/api/capacity/weather", &cold).await.done();

    let after = outlook(&pia, "span=saturday").await;
    assert_eq!(after["weather"][0], json!({ "day": day, "outdoor_f": -12, "entered": true }));
    assert!(load(&after) > load(&mild) * 1.2, "{} after {}", load(&after), load(&mild));
    put(&pia, "/api/capacity/weather", &json!({ "day": day, "outdoor_f": null })).await.done();
    assert_eq!(outlook(&pia, "span=saturday").await["hours"], mild["hours"]);
    let hot = put(&pia, "/api/capacity/weather", &json!({ "day": day, "outdoor_f": 400 })).await;
    assert_eq!(hot.refused(422, "invalid")["errors"][0]["pointer"], "/outdoor_f");
}

#[tokio::test]
async fn waits_are_the_shops_and_what_cannot_be_is_refused_with_its_place() {
    let world = World::new("capacity_waits").await;
    let (pia, dan) = (world.client("pia").await, world.client("dan").await);
    let before = dan.get("/api/capacity/settings").await.done();
    assert_eq!(before["own"], false);

    let mut waits = json!({ "no_heat_vulnerable": 60, "water": 60, "food_storage": 120,
        "no_heat_cool": 120, "comfort": 1440 });
    let body = json!({ "tolerable_min": waits, "travel_min": 20 });
    put(&pia, "/api/capacity/settings", &body).await.refused(403, "not-allowed");
    let after = put(&dan, "/api/capacity/settings", &body).await.done();

    assert_eq!((&after["tolerable_min"], &after["own"]), (&waits, &json!(true)));
    let shown = outlook(&pia, "span=saturday").await;
    assert_eq!(shown["classes"][3]["tolerable_min"], 120.0);
    assert_eq!(world.service.count("record_entry WHERE kind = 'capacity_changed'").await, 1);

    waits["water"] = json!(2);
    waits["puddle"] = json!(30);
    waits.as_object_mut().unwrap().remove("comfort");
    let wrong = json!({ "tolerable_min": waits, "travel_min": 0 });
    let refused = put(&dan, "/api/capacity/settings", &wrong).await.refused(422, "invalid");
    let mut pointers: Vec<&str> = refused["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| e["pointer"].as_str().unwrap())
        .collect();
    pointers.sort_unstable();
    assert_eq!(
        pointers,
        ["/tolerable_min/comfort", "/tolerable_min/puddle", "/tolerable_min/water", "/travel_min"]
    );
}

#[tokio::test]
async fn a_span_that_is_none_is_refused() {
    let world = World::new("capacity_span").await;
    let ana = world.client("ana").await;
    ana.get("/api/capacity?span=fortnight").await.refused(400, "bad-parameter");
    ana.get("/api/capacity?seed=-1").await.refused(400, "bad-parameter");
    // Without holidays there is no long weekend, and the answer says where they come from.
    let none = ana.get("/api/capacity?span=long_weekend").await;
    let says = none.refused(409, "no-long-weekend")["detail"].to_string();
    assert!(says.contains("calendar"), "{says}");
}

#[tokio::test]
async fn a_place_that_is_too_far_is_named_with_its_way() {
    let world = World::new("capacity_places").await;
    let (pia, dan) = (world.client("pia").await, world.client("dan").await);
    let nowhere = outlook(&pia, "span=weekend&seed=3").await;
    assert_eq!(nowhere["places"], json!([]), "no way is known");
    let site = json!({ "address": "1 High Lane", "town": "Upper Marrow" });
    let path = format!("/api/customers/{}/sites", world.customer_id);
    let far = pia.post(&path, &site).await.done();
    let ways = |far_min: u32| {
        let (near, far) = (world.site_id, far["id"].as_str().unwrap());
        json!({ "known_csv": format!("from,to,minutes\nshop,{near},9\nshop,{far},{far_min}\n") })
    };
    pia.patch("/api/ways", &ways(100)).await.done();
    // Enough people at work that nothing else is short.
    let waits = json!({ "no_heat_vulnerable": 90, "water": 90, "food_storage": 90,
        "no_heat_cool": 90, "comfort": 2880 });
    let setting = json!({ "tolerable_min": waits, "travel_min": 20 });
    put(&dan, "/api/capacity/settings", &setting).await.done();

    let seen = outlook(&pia, "span=weekend&seed=3").await;

    let places = seen["places"].as_array().unwrap();
    let way = |name: &str| {
        let place = places.iter().find(|place| place["name"] == name);
        place.unwrap_or_else(|| panic!("{name} is not in {places:?}"))["way_min"].clone()
    };
    assert_eq!((way("Fernwick"), way("Upper Marrow")), (json!(9.0), json!(100.0)));
    let short = seen["short"].as_array().unwrap();
    let named: Vec<&Value> = short.iter().filter(|one| one["what"] == "place").collect();
    assert_eq!(named.len(), 1, "{short:?}");
    assert_eq!(named[0]["place"], "Upper Marrow");
    let says = named[0]["says"].as_str().unwrap();
    assert!(says.starts_with("Upper Marrow is short: 100 min there; about "), "{says}");
    assert!(seen["notes"].to_string().contains("Calls are expected from 2 towns"), "{seen}");
    assert_eq!(seen, outlook(&pia, "span=weekend&seed=3").await);

    // A road is built.
    pia.patch("/api/ways", &ways(15)).await.done();
    let after = outlook(&pia, "span=weekend&seed=3").await;
    let short = after["short"].as_array().unwrap();
    assert!(short.iter().all(|one| one["what"] != "place"), "{short:?}");
}
