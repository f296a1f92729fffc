//! Every combination of answers, and what must not matter.

use proptest::prelude::*;

use super::*;

/// No heat or cooling, somebody vulnerable, water, food: and the class.
const TABLE: [([u8; 4], Urgency); 16] = [
    ([0, 0, 0, 0], Urgency::Comfort),
    ([0, 0, 0, 1], Urgency::FoodStorage),
    ([0, 0, 1, 0], Urgency::Water),
    ([0, 0, 1, 1], Urgency::Water),
    ([0, 1, 0, 0], Urgency::Comfort),
    ([0, 1, 0, 1], Urgency::FoodStorage),
    ([0, 1, 1, 0], Urgency::Water),
    ([0, 1, 1, 1], Urgency::Water),
    ([1, 0, 0, 0], Urgency::NoHeatCool),
    ([1, 0, 0, 1], Urgency::FoodStorage),
    ([1, 0, 1, 0], Urgency::Water),
    ([1, 0, 1, 1], Urgency::Water),
    ([1, 1, 0, 0], Urgency::NoHeatVulnerable),
    ([1, 1, 0, 1], Urgency::NoHeatVulnerable),
    ([1, 1, 1, 0], Urgency::NoHeatVulnerable),
    ([1, 1, 1, 1], Urgency::NoHeatVulnerable),
];

/// Every way to answer each of the four, and each danger: 4⁴ × 2³ combinations.
fn every_combination() -> Vec<([Option<Answer>; 4], [bool; 3])> {
    let ways = [None, Some(Answer::Yes), Some(Answer::No), Some(Answer::Unsure)];
    let mut all = Vec::new();
    for code in 0..256usize {
        let four = [0, 2, 4, 6].map(|shift| ways[(code >> shift) & 3]);
        for dangers in 0..8usize {
            all.push((four, [0, 1, 2].map(|bit| (dangers >> bit) & 1 == 1)));
        }
    }
    all
}

fn answers(four: [Option<Answer>; 4], dangers: [bool; 3]) -> Answers {
    let danger = |there: bool| there.then_some(Answer::Yes);
    Answers {
        gas_smell: danger(dangers[0]),
        smoke: danger(dangers[1]),
        co_alarm: danger(dangers[2]),
        no_heat_cool: four[0],
        vulnerable: four[1],
        water: four[2],
        food: four[3],
    }
}

#[test]
fn every_combination_of_answers_has_the_class_of_the_table() {
    let mut seen = 0;
    for (four, dangers) in every_combination() {
        let mut row = four.map(|answer| u8::from(!matches!(answer, None | Some(Answer::No))));
        if dangers.contains(&true) {
            row[0] = 1;
        }
        let (_, expected) = TABLE.iter().find(|(known, _)| *known == row).unwrap();
        let classed = class_of(&answers(four, dangers));
        assert_eq!(classed.urgency, *expected, "{four:?} {dangers:?}");
        assert_eq!(classed.dangers.len(), dangers.iter().filter(|there| **there).count());
        seen += 1;
    }
    assert_eq!(seen, 2_048);
}

#[test]
fn the_reason_says_what_was_taken_for_yes_and_that_it_stays_off() {
    let unsure = Answers {
        no_heat_cool: Some(Answer::Yes),
        vulnerable: Some(Answer::Unsure),
        ..Answers::default()
    };
    assert_eq!(
        class_of(&unsure).because,
        "No heat or cooling, and somebody in the house who cannot be without it. Not sure counts \
         as yes."
    );
    let gas = Answers { gas_smell: Some(Answer::Unsure), ..Answers::default() };
    let classed = class_of(&gas);
    assert_eq!(classed.dangers, [Danger::Gas]);
    assert!(classed.because.contains("stays off"), "{}", classed.because);
}

#[test]
fn gas_is_told_before_carbon_monoxide_and_that_before_fire() {
    let all = answers([None; 4], [true; 3]);
    assert_eq!(class_of(&all).dangers, [Danger::Gas, Danger::CarbonMonoxide, Danger::Fire]);
    for danger in class_of(&all).dangers {
        assert!(danger.says().contains("emergency number"), "{danger:?}");
    }
}

#[test]
fn answers_are_read_back_as_they_were_written_and_nothing_else_is_taken() {
    for question in Question::ALL {
        for answer in Answer::ALL {
            let text = format!(r#"{{"{}":"{}"}}"#, question.id(), answer.id());
            let read: Answers = serde_json::from_str(&text).unwrap();
            assert_eq!(read.to(question), Some(answer));
            assert_eq!(serde_json::to_string(&read).unwrap(), text);
        }
    }
    assert!(serde_json::from_str::<Answers>(r#"{"weather":"yes"}"#).is_err());
    assert!(Answers::default().is_empty());
}

#[test]
fn every_kind_of_work_is_found_by_its_identifier_and_takes_time() {
    for work in Work::ALL {
        assert_eq!(Work::from_id(work.id()), Some(work));
        assert!((5..=2_880).contains(&work.expected_min()));
    }
}

proptest! {
    /// One more yes never makes a call less pressing.
    #[test]
    fn saying_yes_never_makes_it_wait_longer(code in 0usize..256, dangers in 0usize..8, which in 0usize..7) {
        let ways = [None, Some(Answer::Yes), Some(Answer::No), Some(Answer::Unsure)];
        let four = [0, 2, 4, 6].map(|shift| ways[(code >> shift) & 3]);
        let before = answers(four, [0, 1, 2].map(|bit| (dangers >> bit) & 1 == 1));
        let mut after = before;
        let slot = match which {
            0 => &mut after.gas_smell,
            1 => &mut after.smoke,
            2 => &mut after.co_alarm,
            3 => &mut after.no_heat_cool,
            4 => &mut after.vulnerable,
            5 => &mut after.water,
            _ => &mut after.food,
        };
        *slot = Some(Answer::Yes);
        prop_assert!(class_of(&after).urgency <= class_of(&before).urgency);
    }
}
