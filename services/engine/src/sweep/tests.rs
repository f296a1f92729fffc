//! Many networks at once against one network alone.

use proptest::prelude::*;

use super::ports::Values;
use super::*;
use crate::network::Network;

/// A shape of `joints` joints with a ladder through them, a few rungs, and insulation to joint 0;
/// values in ohm, `None` where it is open. Floating where no insulation is given.
#[derive(Clone, Debug)]
struct Shape {
    joints: usize,
    edges: Vec<(usize, usize)>,
}

fn shapes() -> impl Strategy<Value = Shape> {
    (3usize..14, prop::collection::vec((0usize..14, 0usize..14), 0..14), any::<bool>()).prop_map(
        |(joints, rungs, insulated)| {
            let mut edges: Vec<(usize, usize)> = (2..joints).map(|to| (to - 1, to)).collect();
            edges.extend(rungs.into_iter().map(|(a, b)| (a % joints, b % joints)));
            if insulated {
                edges.extend((1..joints).map(|joint| (joint, 0)));
            }
            edges.retain(|(a, b)| a != b);
            Shape { joints, edges }
        },
    )
}

/// Copper, insulation of hundreds of megohms, or open: what faults make of a part.
fn ohms() -> impl Strategy<Value = Option<f64>> {
    prop_oneof![
        4 => (0.001f64..50.0).prop_map(Some),
        2 => (1e8f64..2e9).prop_map(Some),
        2 => Just(None),
    ]
}

proptest! {
    #[test]
    fn every_lane_and_every_pair_is_what_one_network_alone_gives(
        shape in shapes(),
        values in prop::collection::vec(prop::collection::vec(ohms(), 40), LANES),
        every in 1usize..9,
        changed in prop::collection::vec(0usize..40, 3),
    ) {
        let pairs: Vec<(usize, usize)> = (0..shape.joints)
            .flat_map(|a| (a + 1..shape.joints).map(move |b| (a, b)))
            .step_by(every)
            .collect();
        let ports = Ports::new(shape.joints, &shape.edges, &pairs);
        let mut given = ports.room();
        let mut alone: Vec<Network> = (0..LANES).map(|_| Network::new(shape.joints)).collect();
        for (edge, &(a, b)) in shape.edges.iter().enumerate() {
            let slot = ports.slot(a, b).expect("an edge of the shape");
            for lane in 0..LANES {
                if let Some(ohm) = values[lane][edge] {
                    given.siemens[slot][lane] += 1.0 / ohm;
                    alone[lane].join(a, b, ohm);
                }
            }
        }

        let answers = resistances(&ports, &mut given, pairs.len());

        for (answer, &(a, b)) in answers.iter().zip(&pairs) {
            for lane in 0..LANES {
                match alone[lane].resistance_ohm(a, b) {
                    None => prop_assert_eq!(answer[lane], f64::INFINITY, "{}–{} hang together", a, b),
                    Some(ohm) => {
                        let off = (answer[lane] / ohm - 1.0).abs();
                        prop_assert!(off < 1e-12, "{a}–{b}: {} and {ohm}", answer[lane]);
                    }
                }
            }
        }

        // One network in all lanes.
        let mut sound = ports.room();
        sound.siemens = given.siemens.iter().map(|lanes| [lanes[0]]).collect();
        ports.follow(ports.all(), ports.all(), &mut sound);
        let mut alike = ports.room();
        ports.in_all_lanes(&sound, &mut alike);
        let every_pair: Vec<usize> = (0..pairs.len()).collect();
        let of_sound: Vec<Lane> = answers.iter().map(|answer| [answer[0]; LANES]).collect();
        prop_assert_eq!(read(&ports, &alike, &every_pair), of_sound.clone());

        // Some values changed: only the joints that feel it are followed, and what they made
        // before is put back.
        for &edge in &changed {
            let Some(&(a, b)) = shape.edges.get(edge) else { continue };
            let mut other = given.clone();
            let slot = ports.slot(a, b).expect("an edge of the shape");
            other.siemens[slot].reverse();
            let mut followed = other.clone();
            let wanted: Vec<usize> = (0..pairs.len()).step_by(every).collect();
            ports.follow(ports.feels(slot), ports.starts(&wanted), &mut followed);
            let all = resistances(&ports, &mut other, pairs.len());
            let some: Vec<Lane> = wanted.iter().map(|&pair| all[pair]).collect();
            prop_assert_eq!(read(&ports, &followed, &wanted), some);

            let kept = std::mem::replace(&mut alike.siemens[slot], given.siemens[slot]);
            ports.follow(ports.feels(slot), ports.all(), &mut alike);
            alike.siemens[slot] = kept;
            // Read off from the first joint that feels it on.
            let on_the_way = ports.on_the_way(&sound, &every_pair);
            let from_there =
                read_where(&ports, &alike, &every_pair, ports.feels(slot), &on_the_way);
            prop_assert_eq!(from_there, read(&ports, &alike, &every_pair));
            ports.restore(ports.feels(slot), &mut alike, &sound);
            prop_assert_eq!(read(&ports, &alike, &every_pair), of_sound.clone());
        }
    }
}

/// Everything worked out anew, and read off.
fn resistances(ports: &Ports, values: &mut Values, pairs: usize) -> Vec<Lane> {
    ports.follow(ports.all(), ports.all(), values);
    read(ports, values, &(0..pairs).collect::<Vec<usize>>())
}

fn read(ports: &Ports, values: &Values, wanted: &[usize]) -> Vec<Lane> {
    let nothing_yet = ports.on_the_way(&ports.room(), wanted);
    read_where(ports, values, wanted, ports.all(), &nothing_yet)
}

fn read_where(
    ports: &Ports,
    values: &Values,
    wanted: &[usize],
    feel: u64,
    on_the_way: &[f64],
) -> Vec<Lane> {
    let mut answers = Vec::new();
    ports.resistances(values, wanted, feel, on_the_way, |_, answer| answers.push(*answer));
    answers
}

#[test]
fn two_opens_on_a_circuit_that_floats_keep_their_digits() {
    // Two copper islands that only insulation ties: updates of a table lose every digit here.
    let edges = [(1, 2), (2, 3), (3, 4), (4, 1), (2, 0), (4, 0)];
    let ports = Ports::new(5, &edges, &[(1, 3), (2, 4)]);
    let mut values = ports.room();
    let mut put = |a, b, ohm: f64| {
        values.siemens[ports.slot(a, b).expect("an edge")] = [1.0 / ohm; LANES];
    };
    // 1–4 and 2–3 are open.
    put(1, 2, 0.5);
    put(3, 4, 1.25);
    put(2, 0, 6e8);
    put(4, 0, 6e8);
    let exact = [0.5 + 6e8 + 6e8 + 1.25, 1.2e9];
    for (answer, exact) in resistances(&ports, &mut values, 2).iter().zip(exact) {
        assert!((answer[0] / exact - 1.0).abs() < 1e-14, "{answer:?}");
    }
}

#[test]
fn what_nothing_joins_is_infinite() {
    let ports = Ports::new(4, &[(0, 1), (2, 3)], &[(0, 1), (0, 2), (1, 3)]);
    let mut values = ports.room();
    values.siemens[ports.slot(0, 1).expect("an edge")] = [2.0; LANES];
    values.siemens[ports.slot(2, 3).expect("an edge")] = [4.0; LANES];
    let none = [f64::INFINITY; LANES];
    assert_eq!(resistances(&ports, &mut values, 3), vec![[0.5; LANES], none, none]);
}
