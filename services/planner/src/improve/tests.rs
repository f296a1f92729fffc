//! The quick price of an insertion is what driving the tour says; an answer never gets worse.

use proptest::prelude::*;
use roster::plan::Span;

use super::driven::Driven;
use super::{cost, improve};
use crate::model::{Model, Of, Stop, Tour};

const PLACES: usize = 8;
const DAY: i64 = 600;

/// Random stops, some with a window, some that wait, one in ten a pause without a place.
fn model() -> impl Strategy<Value = Model> {
    let stop = (0..PLACES, 5..90_i64, 0..DAY, 0..3_u8, 0..10_u8);
    let stops = prop::collection::vec(stop, 1..14);
    let points = prop::collection::vec((0.0..60.0_f64, 0.0..60.0_f64), PLACES);
    (stops, points).prop_map(|(stops, points)| {
        let stops =
            stops.into_iter().enumerate().map(|(index, (place, length, at, kind, rare))| {
                let pause = rare == 0;
                Stop {
                    of: if pause { Of::Pause(0) } else { Of::Job(index) },
                    place: (!pause).then_some(place),
                    windows: match kind {
                        0 => vec![Span::new(0, DAY)],
                        1 => vec![Span::new(at, at + 60)],
                        _ => vec![Span::new(at / 2, at / 2 + 20), Span::new(at, DAY)],
                    },
                    length,
                    load: i64::from(rare),
                    may: vec![true, !pause],
                    left_out: 1.0,
                    wait: if pause { 0.0 } else { f64::from(kind) },
                    ready: at / 3,
                    with: (kind == 1).then_some(1),
                }
            });
        let tour = |from| Tour {
            person: from,
            span: Span::new(0, DAY),
            from,
            to: 1,
            capacity: 40,
            uneven: from as f64,
        };
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1).ceil() as i64;
        Model {
            tours: vec![tour(0), tour(1)],
            stops: stops.collect(),
            places: PLACES,
            travel: points
                .iter()
                .flat_map(|from| points.iter().map(move |to| apart(*from, *to)))
                .collect(),
        }
    })
}

/// Puts stops in one by one, each where driving the whole tour again says it is cheapest.
fn filled(model: &Model, tour: usize) -> Driven {
    let mut driven = Driven::new(model, tour, vec![]).expect("an empty tour");
    for stop in 0..model.stops.len() {
        let prices: Vec<Option<f64>> = (0..=driven.stops.len())
            .map(|position| {
                let mut stops = driven.stops.clone();
                stops.insert(position, stop);
                Driven::new(model, tour, stops).map(|there| there.cost - driven.cost)
            })
            .collect();
        let least = prices.iter().flatten().copied().fold(f64::INFINITY, f64::min);
        let found = driven.cheapest(model, tour, stop, f64::INFINITY, || false);
        match found {
            None => assert_eq!(least, f64::INFINITY, "{stop} into {:?}: {prices:?}", driven.stops),
            Some(found) => {
                assert!((found.price - least).abs() < 1e-6, "{found:?} of {prices:?}");
                driven.stops.insert(found.position, stop);
                assert!(driven.again(model, tour));
            }
        }
    }
    driven
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn the_cheapest_insertion_is_the_cheapest_by_driving_each(model in model()) {
        for tour in 0..2 {
            filled(&model, tour);
        }
    }

    #[test]
    fn an_answer_never_gets_worse_and_has_each_stop_once(model in model(), seed in any::<u64>()) {
        let given = vec![filled(&model, 0).stops, vec![]];
        let progress = |round: u64| (round < 60).then_some(round as f64 / 60.0);
        let better = improve(&model, &given, seed, &progress);
        prop_assert!(cost(&model, &better) <= cost(&model, &given) + 1e-6);
        let mut seen = vec![false; model.stops.len()];
        for (tour, stops) in better.iter().enumerate() {
            prop_assert!(Driven::new(&model, tour, stops.clone()).is_some());
            for stop in stops {
                prop_assert!(!std::mem::replace(&mut seen[*stop], true));
            }
        }
        prop_assert_eq!(improve(&model, &given, seed, &progress), better);
    }
}
