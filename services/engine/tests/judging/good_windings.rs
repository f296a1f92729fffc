//! Windings that two unit makers publish as good are never condemned.
//!
//! The table is `tests/data/good_windings.csv`; its first line names its source.

use engine::case::{Claim, Reading};
use engine::verdict::{CheckResult, Outcome};

use crate::support::{claim, compressor, judged, three_pins};

const TABLE: &str = include_str!("../data/good_windings.csv");

/// One row at one temperature.
struct Good {
    name: String,
    cr: f64,
    cs: f64,
    celsius: f64,
}

/// Every row at the temperatures that the table gives: 70 °F (21.1 °C) and the edges of its
/// ±20 °F, and hot at 149 °F. Copper moves all windings by one factor.
fn good() -> Vec<Good> {
    let mut rows = TABLE.lines().filter(|line| !line.starts_with('#'));
    let heads: Vec<&str> = rows.next().expect("a head").split(',').collect();
    let mut good = Vec::new();
    for row in rows {
        let fields: Vec<&str> = row.split(',').collect();
        let field = |name: &str| {
            let place = heads.iter().position(|head| *head == name).expect("a column");
            fields[place]
        };
        let number = |name: &str| field(name).parse::<f64>().expect("a number");
        let (cs, cr, sr) =
            (number("start_SC_ohm"), number("run_RC_ohm"), number("SR_expected_ohm"));
        assert!((cs + cr - sr).abs() < 1e-9, "the table's own sum");
        for (celsius, factor) in [
            (21.1, 1.0),
            (10.0, number("run_at_50F") / cr),
            (32.2, number("run_at_90F") / cr),
            (65.0, number("SR_at_149F_hot") / sr),
        ] {
            let name = format!("{} {} at {celsius} °C", field("table"), field("unit_size_kBtuh"));
            good.push(Good { name, cr: cr * factor, cs: cs * factor, celsius });
        }
    }
    good
}

fn claims() -> Vec<Claim> {
    let of = |part, mode| claim("compressor", part, mode);
    vec![
        of("start_winding", "shorted"),
        of("run_winding", "shorted"),
        of("start_winding", "open"),
        of("run_winding", "open"),
        of("start_winding", "grounded"),
        of("run_winding", "grounded"),
        Claim { component: "compressor".into(), part: None, mode: None },
    ]
}

/// As a meter with that many decimals shows it.
fn rounded(value: f64, decimals: i32) -> f64 {
    let step = 10f64.powi(decimals);
    (value * step).round() / step
}

#[test]
fn no_row_is_condemned_on_any_claim_at_any_temperature() {
    let good = good();
    assert_eq!(good.len(), 32);
    for row in &good {
        let shown = [row.cr, row.cs, row.cr + row.cs].map(|value| rounded(value, 2));
        // All claims as the table has it; hot and cold the first two, which a value could prove.
        let count = if row.celsius == 21.1 { 7 } else { 2 };
        for claim in claims().into_iter().take(count) {
            let readings = three_pins(shown, row.celsius);
            let verdict = judged(&compressor(Some(claim.clone()), readings));
            assert_ne!(verdict.outcome, Outcome::Isolated, "{} {claim:?}", row.name);
        }
    }
}

#[test]
fn nor_with_coarser_or_finer_meters_nor_without_a_temperature() {
    let shorted = claim("compressor", "start_winding", "shorted");
    for row in good() {
        for decimals in [1, 3] {
            let shown = [row.cr, row.cs, row.cr + row.cs].map(|value| rounded(value, decimals));
            let readings: Vec<Reading> = three_pins(shown, row.celsius)
                .into_iter()
                .map(|reading| Reading { part_temp_c: None, ..reading })
                .collect();
            let verdict = judged(&compressor(Some(shorted.clone()), readings));
            assert_ne!(verdict.outcome, Outcome::Isolated, "{} {shown:?}", row.name);
        }
    }
}

#[test]
fn every_row_adds_up_and_none_is_measured_against_a_ratio() {
    for row in good() {
        let shown = [row.cr, row.cs, row.cr + row.cs].map(|value| rounded(value, 3));
        let verdict = judged(&compressor(None, three_pins(shown, row.celsius)));
        let sum = verdict.checks.iter().find(|check| check.id == "winding_sum");
        assert_eq!(sum.map(|check| check.result), Some(CheckResult::Pass), "{}", row.name);
        let all = serde_json::to_string(&verdict.checks).expect("checks are JSON").to_lowercase();
        assert!(!all.contains("ratio"), "{all}");
    }
}
