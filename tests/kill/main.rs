//! A small storm in every run: `cargo run --release -p countersign-tests --bin kill-storm` is
//! the large one.
//!
//! Belongs here: its size. Does not belong here: the storm (`blackbox::storm`).

const MESSAGES: usize = 1_000;
const TALKERS: usize = 20;

#[tokio::test(flavor = "multi_thread")]
async fn what_is_acknowledged_survives_kills_cuts_and_a_jumping_clock_once_and_in_order() {
    let outcome = blackbox::storm::storm(MESSAGES, TALKERS).await;

    assert_eq!(outcome.acknowledged, MESSAGES);
    assert!(outcome.came_back >= TALKERS, "nobody was harmed: {outcome:?}");
}
