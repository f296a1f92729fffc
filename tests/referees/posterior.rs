//! Bayes' rule of the engine against fractions that anyone can check by hand.
//!
//! Belongs here: exact rational arithmetic over every subset of faults of small circuits, and
//! the fractions of the design's evidence page. Does not belong here: the engine's own
//! likelihoods (its unit tests drive the same fractions through circuit file, solver and
//! hypotheses).

use blackbox::joined::Joined;
use blackbox::seeded::Seeded;
use engine::posterior::bayes;

/// Chance that a reading is wrong, as a fraction: 1/50.
const WRONG: (i128, i128) = (1, 50);
const AGREES: f64 = 1e-12;

/// Something that conducts between two joints unless it is open.
struct Part {
    between: (usize, usize),
    /// Chance in a hundred that it is open.
    open_of_100: i128,
}

/// A reading between two joints, with the parts that were lifted out.
struct Reading {
    between: (usize, usize),
    lifted: Vec<usize>,
    open: bool,
}

/// Every subset of parts that may be open, as bits, up to `faults_max` of them.
fn subsets(parts: usize, faults_max: u32) -> Vec<u32> {
    (0..1u32 << parts).filter(|subset| subset.count_ones() <= faults_max).collect()
}

fn conducts(parts: &[Part], open: u32, reading: &Reading, joints: usize) -> bool {
    let mut joined = Joined::new(joints);
    for (index, part) in parts.iter().enumerate() {
        if open >> index & 1 == 0 && !reading.lifted.contains(&index) {
            joined.join(part.between.0, part.between.1);
        }
    }
    joined.are(reading.between.0, reading.between.1)
}

/// The weight of each subset as a whole number over one common denominator: no rounding.
fn weights(parts: &[Part], readings: &[Reading], subsets: &[u32], joints: usize) -> Vec<i128> {
    subsets
        .iter()
        .map(|&open| {
            let prior: i128 =
                parts
                    .iter()
                    .enumerate()
                    .map(|(index, part)| {
                        if open >> index & 1 == 1 {
                            part.open_of_100
                        } else {
                            100 - part.open_of_100
                        }
                    })
                    .product();
            let likelihood: i128 = readings
                .iter()
                .map(|reading| {
                    let fits = conducts(parts, open, reading, joints) != reading.open;
                    if fits { WRONG.1 - WRONG.0 } else { WRONG.0 }
                })
                .product();
            prior * likelihood
        })
        .collect()
}

/// The same through the engine's `bayes`, from floating-point priors and logarithms.
fn by_the_engine(parts: &[Part], readings: &[Reading], subsets: &[u32], joints: usize) -> Vec<f64> {
    let priors: Vec<f64> = subsets
        .iter()
        .map(|&open| {
            parts
                .iter()
                .enumerate()
                .map(|(index, part)| {
                    let prior = part.open_of_100 as f64 / 100.0;
                    if open >> index & 1 == 1 { prior } else { 1.0 - prior }
                })
                .product()
        })
        .collect();
    let wrong = WRONG.0 as f64 / WRONG.1 as f64;
    let logs: Vec<f64> = subsets
        .iter()
        .map(|&open| {
            readings
                .iter()
                .map(|reading| {
                    let fits = conducts(parts, open, reading, joints) != reading.open;
                    if fits { (1.0 - wrong).ln() } else { wrong.ln() }
                })
                .sum()
        })
        .collect();
    bayes(&priors, &logs)
}

/// Lead (joint 0 to 1, 5 in 100 open) and winding (1 to 2, 3 in 100).
fn lead_and_winding() -> Vec<Part> {
    vec![Part { between: (0, 1), open_of_100: 5 }, Part { between: (1, 2), open_of_100: 3 }]
}

fn winding_share(readings: &[Reading], expected: (i128, i128)) {
    let parts = lead_and_winding();
    let subsets = subsets(2, 2);
    let of_winding = |open: &u32| open >> 1 & 1 == 1;

    let exact = weights(&parts, readings, &subsets, 3);
    let engine = by_the_engine(&parts, readings, &subsets, 3);

    let all: i128 = exact.iter().sum();
    let winding: i128 =
        subsets.iter().zip(&exact).filter(|(open, _)| of_winding(open)).map(|(_, w)| w).sum();
    assert_eq!(winding * expected.1, all * expected.0, "brute force gives {winding}/{all}");
    let share: f64 =
        subsets.iter().zip(&engine).filter(|(open, _)| of_winding(open)).map(|(_, s)| s).sum();
    assert!((share - expected.0 as f64 / expected.1 as f64).abs() < AGREES, "{share}");
}

fn at_the_board() -> Reading {
    Reading { between: (0, 2), lifted: vec![], open: true }
}

fn at_the_motor(open: bool) -> Reading {
    Reading { between: (1, 2), lifted: vec![0], open }
}

// The three fractions are those of the design's evidence page ("From readings to suspects").

#[test]
fn an_open_reading_at_the_board_leaves_the_winding_735_of_2384() {
    winding_share(&[at_the_board()], (735, 2384));
}

#[test]
fn another_at_the_motor_unplugged_makes_it_36015_of_37664() {
    winding_share(&[at_the_board(), at_the_motor(true)], (36_015, 37_664));
}

#[test]
fn a_normal_one_at_the_motor_leaves_15_of_1664() {
    winding_share(&[at_the_board(), at_the_motor(false)], (15, 1_664));
}

#[test]
fn bayes_agrees_with_brute_force_over_every_subset_of_random_circuits() {
    let mut random = Seeded::new(0xb4_7e5);
    let mut worst: f64 = 0.0;
    for circuit in 0..200 {
        let joints = 4 + random.below(3);
        let parts: Vec<Part> = (0..6)
            .map(|_| {
                let a = random.below(joints);
                let b = (a + 1 + random.below(joints - 1)) % joints;
                Part { between: (a, b), open_of_100: 1 + random.below(30) as i128 }
            })
            .collect();
        let readings: Vec<Reading> = (0..1 + random.below(4))
            .map(|_| {
                let a = random.below(joints);
                let b = (a + 1 + random.below(joints - 1)) % joints;
                let lifted =
                    if random.chance(0.4) { vec![random.below(parts.len())] } else { vec![] };
                Reading { between: (a, b), lifted, open: random.chance(0.5) }
            })
            .collect();
        // Singles and doubles as the engine takes them, and all 64 subsets.
        for faults_max in [2, 6] {
            let subsets = subsets(parts.len(), faults_max);
            let exact = weights(&parts, &readings, &subsets, joints);
            let engine = by_the_engine(&parts, &readings, &subsets, joints);
            let all: i128 = exact.iter().sum();
            for (weight, share) in exact.iter().zip(&engine) {
                let difference = (*weight as f64 / all as f64 - share).abs();
                worst = worst.max(difference);
                assert!(difference < AGREES, "circuit {circuit}: {weight}/{all} against {share}");
            }
        }
    }
    println!("200 circuits of six parts, every subset: worst difference {worst:.1e}");
}

#[test]
fn evidence_that_is_hopelessly_unlikely_still_gives_shares_that_add_up() {
    // Sixty readings at one in 10^12 each would underflow without taking out the largest.
    let logs = [-1_700.0, -1_701.0, f64::NEG_INFINITY];
    let shares = bayes(&[0.5, 0.5, 0.0], &logs);
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < AGREES);
    assert!((shares[0] / shares[1] - std::f64::consts::E).abs() < 1e-9);
    assert_eq!(shares[2], 0.0);
}
