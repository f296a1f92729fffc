//! Readings, signatures and decisions at the same time: some order of the gate's own rules must
//! explain what everybody was answered.
//!
//! Belongs here: histories from the real service, and the search for an order (Wing and Gong's,
//! as stateright has it). Does not belong here: the rules, which are asked of the engine.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};

use blackbox::client::{Answer, Client};
use engine::gate::{
    Actor, ApprovalRules, Move, Person, PersonId, Read, Request, Signature, State, apply,
};
use serde_json::{Value, json};
use stateright::semantics::{ConsistencyTester as _, LinearizabilityTester, SequentialSpec};
use uuid::Uuid;

use super::world::{COSTLY, World, at_pins, digest, seen, step, take_reading};

/// Rounds, each with a request of its own.
const ROUNDS: usize = 12;
const ANA: u128 = 1;
const BO: u128 = 2;
const CLEO: u128 = 3;
const DAN: u128 = 4;
const OLAF: u128 = 5;
/// The evidence at the beginning of a round.
const FIRST: &str = "first";

#[derive(Clone, Debug, PartialEq)]
enum Asked {
    Measure,
    Move(u128, Move),
    Look,
}

/// The state afterwards, or the code of the refusal.
type Told = Result<String, String>;

/// The gate in one thread.
#[derive(Clone, Debug, PartialEq)]
struct Alone {
    request: Request,
    readings: usize,
}

impl SequentialSpec for Alone {
    type Op = Asked;
    type Ret = Told;

    fn invoke(&mut self, asked: &Asked) -> Told {
        let (actor, next) = match asked {
            Asked::Look => return Ok(self.request.state.id().to_owned()),
            Asked::Measure => {
                if !self.request.state.ended() {
                    self.readings += 1;
                    let digest = format!("after {}", self.readings);
                    let judged = Move::Judge { digest, isolated: true };
                    self.request = apply(&self.request, &Actor::Shop, &judged).expect("it is open");
                }
                return Ok("measured".to_owned());
            }
            Asked::Move(who, next) => (Actor::Person(person(*who)), next),
        };
        match apply(&self.request, &actor, next) {
            Ok(after) => {
                self.request = match after.state {
                    State::Countersigned => apply(&after, &Actor::Shop, &Move::Settle)
                        .expect("what is countersigned is settled"),
                    _ => after,
                };
                Ok(self.request.state.id().to_owned())
            }
            Err(refusal) => Err(refusal.code.id().to_owned()),
        }
    }
}

fn person(id: u128) -> Person {
    let technician = matches!(id, ANA | BO | CLEO);
    Person { id: PersonId(id), technician, manager: !technician, qualified: technician }
}

/// Read blind by Bo, who agrees; countersigned too, where wanted.
fn begin(signed: bool) -> Alone {
    let read = Read { reader: PersonId(BO), digest: FIRST.to_owned(), agrees: true };
    let signature = Signature { signer: PersonId(BO), digest: FIRST.to_owned() };
    let request = Request {
        state: if signed { State::AwaitingApproval } else { State::Revealed },
        requester: PersonId(ANA),
        reading_takers: BTreeSet::from([PersonId(ANA)]),
        digest: Some(FIRST.to_owned()),
        isolated: true,
        overridden: None,
        reader: Some(PersonId(BO)),
        reads: vec![read],
        signatures: if signed { vec![signature] } else { Vec::new() },
        stood_aside: BTreeSet::new(),
        approval: None,
        cost_cents: COSTLY,
        rules: ApprovalRules {
            limit_cents: 50_000,
            warranty: true,
            age_years: None,
            disagreement: true,
            overridden: true,
        },
        under_warranty: false,
        age_years: None,
    };
    Alone { request, readings: 0 }
}

type History = Arc<Mutex<LinearizabilityTester<u128, Alone>>>;

/// Asks, and notes when it was asked and when answered.
async fn note(
    history: &History,
    thread: u128,
    asked: Asked,
    answering: impl Future<Output = Answer>,
) {
    history.lock().unwrap().on_invoke(thread, asked.clone()).unwrap();
    let answer = answering.await;
    let told = match (asked, answer.status) {
        (Asked::Measure, 200..300) => Ok("measured".to_owned()),
        (_, 200..300) => Ok(answer.json()["state"].as_str().unwrap().to_owned()),
        _ => Err(answer.code()),
    };
    history.lock().unwrap().on_return(thread, told).unwrap();
}

struct Round<'a> {
    history: &'a History,
    job: Uuid,
    request: Uuid,
    digest: &'a str,
}

impl Round<'_> {
    async fn measures(&self, who: &Client, thread: u128) {
        let reading = at_pins("S", "SHELL", None);
        note(self.history, thread, Asked::Measure, take_reading(who, self.job, &reading)).await;
    }

    async fn signs(&self, who: &Client) {
        let next = Move::Countersign { digest: FIRST.to_owned() };
        let body = json!({ "digest": self.digest });
        let asking = step(who, self.request, "countersign", &body);
        note(self.history, BO, Asked::Move(BO, next), asking).await;
    }

    async fn approves(&self, who: &Client, as_who: u128) {
        let next = Move::Approve { digest: FIRST.to_owned(), amount_cents: COSTLY };
        let body = json!({ "digest": self.digest, "amount_cents": COSTLY });
        let asking = step(who, self.request, "approve", &body);
        note(self.history, as_who, Asked::Move(as_who, next), asking).await;
    }

    async fn declines(&self, who: &Client, as_who: u128) {
        let reason = "Replace the whole unit.".to_owned();
        let body = json!({ "digest": self.digest, "reason": reason });
        let next = Move::Decline { digest: FIRST.to_owned(), reason };
        let asking = step(who, self.request, "decline", &body);
        note(self.history, as_who, Asked::Move(as_who, next), asking).await;
    }

    async fn takes(&self, who: &Client) {
        let asking = step(who, self.request, "take", &Value::Null);
        note(self.history, CLEO, Asked::Move(CLEO, Move::Take), asking).await;
    }

    async fn looks(&self, who: &Client, thread: u128) {
        let path = format!("/api/requests/{}", self.request);
        let asking = who.get(&path);
        note(self.history, thread, Asked::Look, asking).await;
    }
}

#[tokio::test]
async fn some_order_of_the_rules_explains_what_everybody_was_answered() {
    let world = World::new("linear").await;
    let (ana, bo) = (world.client("ana").await, world.client("bo").await);
    let (cleo, dan) = (world.client("cleo").await, world.client("dan").await);
    let olaf = world.client("olaf").await;
    let mut ends = BTreeSet::new();

    for number in 0..ROUNDS {
        let signed = number % 2 == 0;
        let (job, request) = if signed {
            world.awaiting(&ana, &bo).await
        } else {
            world.revealed(&ana, &bo, COSTLY).await
        };
        let digest = digest(&dan, request).await;
        let history = Arc::new(Mutex::new(LinearizabilityTester::new(begin(signed))));
        let round = Round { history: &history, job, request, digest: &digest };
        let anas = async {
            // Not always at once, so that each gets its turn to be first.
            for _ in 0..number % 5 {
                round.looks(&ana, ANA).await;
            }
            if number % 4 != 3 {
                round.measures(&ana, ANA).await;
            }
            round.looks(&ana, ANA).await;
        };
        let bos = async {
            round.signs(&bo).await;
            round.looks(&bo, BO).await;
        };
        let cleos = async {
            round.takes(&cleo).await;
            round.takes(&cleo).await;
        };
        let dans = async {
            round.approves(&dan, DAN).await;
            round.approves(&dan, DAN).await;
        };
        let olafs = async {
            if number % 3 == 0 {
                round.declines(&olaf, OLAF).await;
            } else {
                round.approves(&olaf, OLAF).await;
            }
            round.looks(&olaf, OLAF).await;
        };
        tokio::join!(anas, bos, cleos, dans, olafs);

        let explained = history.lock().unwrap().is_consistent();
        assert!(explained, "no order explains round {number}: {history:#?}");
        ends.insert(seen(&ana, request).await["state"].as_str().unwrap().to_owned());
    }
    assert!(ends.len() > 1, "every round ended the same: {ends:?}");
}

#[test]
fn a_history_that_no_order_explains_is_rejected() {
    let approve = Move::Approve { digest: FIRST.to_owned(), amount_cents: COSTLY };
    let approve = Asked::Move(DAN, approve);
    let told = |text: &str| Ok(text.to_owned());
    let explained = |told_dan: Told, measured_first: bool| {
        let mut history = LinearizabilityTester::new(begin(true));
        history.on_invoke(ANA, Asked::Measure).unwrap();
        if measured_first {
            history.on_return(ANA, told("measured")).unwrap();
        }
        history.on_invoke(DAN, approve.clone()).unwrap();
        history.on_return(DAN, told_dan).unwrap();
        if !measured_first {
            history.on_return(ANA, told("measured")).unwrap();
        }
        history.is_consistent()
    };

    // At the same time either may have been first.
    assert!(explained(told("approved"), false));
    assert!(explained(Err("digest-changed".to_owned()), false));
    // Once the reading was answered, an approval of what was there before is a fault.
    assert!(explained(Err("digest-changed".to_owned()), true));
    assert!(!explained(told("approved"), true));
    assert!(!explained(Err("wrong-state".to_owned()), true));
}
