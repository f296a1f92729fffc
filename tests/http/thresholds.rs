//! What the shop judges by: loosening it needs a reason, and every change is listed.
//!
//! Belongs here: promises about thresholds. Does not belong here: what they mean for a verdict.

use serde_json::{Value, json};

use super::world::World;

#[tokio::test]
async fn loosening_a_threshold_needs_a_reason_and_every_change_is_listed_for_all() {
    let world = World::new("thresholds").await;
    let (ana, dan) = (world.client("ana").await, world.client("dan").await);
    let mut policy = dan.get("/api/shop").await.done()["policy"].clone();
    policy["isolated_min"] = json!(0.9);

    let refused =
        dan.patch("/api/shop", &json!({ "policy": policy })).await.refused(422, "invalid");
    assert_eq!(refused["errors"][0]["pointer"], "/reason");
    let said = "Our meters are calibrated twice a year.";
    let loose = json!({ "policy": policy, "reason": said });
    dan.patch("/api/shop", &loose).await.done();
    policy["isolated_min"] = json!(0.97);
    dan.patch("/api/shop", &json!({ "policy": policy })).await.done();

    let changes = ana.get("/api/shop/threshold-changes").await.done();
    assert_eq!(changes.as_array().unwrap().len(), 2, "what was refused is none");
    assert_eq!(changes[0]["loosened"], json!([]));
    assert_eq!(changes[0]["reason"], Value::Null);
    assert_eq!(changes[1]["reason"], said);
    assert_eq!(changes[1]["by"]["id"], json!(dan.id));
    assert_eq!(changes[1]["before"]["policy"]["isolated_min"], 0.95);
    assert_eq!(changes[1]["after"]["policy"]["isolated_min"], 0.9);
}
