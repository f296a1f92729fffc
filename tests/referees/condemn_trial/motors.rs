//! The trial's own motor circuits.
//!
//! Belongs here: motors, their harness and capacitors. Does not belong here: control strings
//! and heaters ([`super::controls`]).

use super::sheet::Sheet;

const MOTOR_CAUTIONS: [&str; 2] = ["live_voltage", "moving_parts"];

fn panel_and(sheet: &mut Sheet, place: &'static str, minutes: f64) {
    sheet.place("panel", 2.0, &["live_voltage", "stored_charge"]);
    sheet.place(place, minutes, &MOTOR_CAUTIONS);
}

fn single_phase_supply(sheet: &mut Sheet, volt: f64) {
    sheet.component("contactor", false);
    sheet.component("supply", false);
    sheet.source("supply_volts", "supply", ["L1", "L2"], volt);
    sheet.burning_contacts("contacts", "contactor", 0.03);
}

/// Three phases in star or delta; the delta's harness has a plug at either end.
pub(super) fn three_phase(name: &str, delta: bool, lead_ohm: f64) -> Sheet {
    let mut sheet = Sheet::new(name, "Three-phase motor", "FRAME");
    panel_and(&mut sheet, "motor_box", 4.0);
    sheet.points("panel", &[], &["L1", "L2", "L3", "T1", "T2", "T3"]);
    if delta {
        sheet.points("panel", &["panel_plug"], &["P1", "P2", "P3"]);
    }
    sheet.points("motor_box", &["plug"], &["H1", "H2", "H3", "U", "V", "W"]);
    sheet.component("motor", true);
    sheet.component("harness", false);
    sheet.component("contactor", false);
    sheet.component("supply", false);
    // Legs to a star point: of three voltages between legs one alone cannot be missing.
    sheet.hidden("Y0");
    for (leg, phase_deg) in [("L1", 0), ("L2", -120), ("L3", 120)] {
        sheet.phase(&format!("leg_{leg}"), "supply", [leg, "Y0"], 231.0, phase_deg);
    }
    sheet.burning_contacts("contacts", "contactor", 0.03);
    for (index, pin) in ["U", "V", "W"].iter().enumerate() {
        let n = index + 1;
        let (t, h, p) = (format!("T{n}"), format!("H{n}"), format!("P{n}"));
        let from = if delta { p.as_str() } else { t.as_str() };
        if delta {
            sheet.contact(&format!("panel_pin_{n}"), "harness", [&t, &p]);
        }
        sheet.lead(&format!("lead_{n}"), "harness", [from, &h], lead_ohm);
        sheet.contact(&format!("plug_{n}"), "harness", [&h, pin]);
    }
    if delta {
        for (id, a, b) in
            [("winding_1", "U", "V"), ("winding_2", "V", "W"), ("winding_3", "W", "U")]
        {
            sheet.winding(id, "motor", [a, b], 2.4, Some("phases"));
        }
        sheet.connector("panel_plug", "panel", 1.0, &["panel_pin_1", "panel_pin_2", "panel_pin_3"]);
    } else {
        sheet.hidden("N");
        for (id, a) in [("winding_1", "U"), ("winding_2", "V"), ("winding_3", "W")] {
            sheet.winding(id, "motor", [a, "N"], 1.1, Some("phases"));
        }
    }
    sheet.mechanism("bearings", "motor", "seized", 0.02);
    sheet.connector("plug", "motor_box", 2.0, &["plug_1", "plug_2", "plug_3"]);
    sheet.sign(
        "growls_without_starting",
        2.0,
        &[
            ("contacts", "burnt", 0.7),
            ("bearings", "seized", 0.9),
            ("winding_1", "open", 0.8),
            ("winding_2", "open", 0.8),
            ("winding_3", "open", 0.8),
            ("lead_1", "open", 0.8),
            ("lead_2", "open", 0.8),
            ("lead_3", "open", 0.8),
        ],
    );
    sheet.sign(
        "trips_at_once",
        1.0,
        &[
            ("winding_1", "grounded", 0.8),
            ("winding_2", "grounded", 0.8),
            ("winding_3", "grounded", 0.8),
            ("lead_1", "grounded", 0.7),
            ("lead_2", "grounded", 0.7),
            ("lead_3", "grounded", 0.7),
        ],
    );
    sheet.check("kind = \"winding_balance\"\npins = [\"U\", \"V\", \"W\"]\nmax_pct = 3");
    sheet.ground_check(&["U", "V", "W"], "plug");
    sheet
}

/// A blower whose run winding is tapped for `speeds` speeds, on one plug.
pub(super) fn blower(name: &str, speeds: usize) -> Sheet {
    let mut sheet = Sheet::new(name, "Tapped blower motor", "FRAME");
    panel_and(&mut sheet, "blower_deck", 5.0);
    sheet.points("panel", &[], &["L1", "L2", "BC", "CAP_A", "CAP_B"]);
    sheet.points("panel", &["cap_wire"], &["WIRE_S"]);
    let taps: Vec<String> = (1..=speeds).map(|n| format!("B{n}")).collect();
    let tap_names: Vec<&str> = taps.iter().map(String::as_str).collect();
    sheet.points("panel", &[], &tap_names);
    let mut far = vec!["HC".to_owned(), "HS".to_owned(), "MC".to_owned(), "MS".to_owned()];
    far.extend((1..=speeds).flat_map(|n| [format!("H{n}"), format!("M{n}")]));
    sheet.points("blower_deck", &["plug"], &far.iter().map(String::as_str).collect::<Vec<_>>());
    sheet.hidden("N");
    sheet.component("blower_motor", true);
    sheet.component("blower_harness", false);
    sheet.component("capacitor", false);
    single_phase_supply(&mut sheet, 230.0);
    let mut pins = vec!["plug_c".to_owned(), "plug_s".to_owned()];
    sheet.lead("lead_c", "blower_harness", ["BC", "HC"], 0.06);
    sheet.contact("plug_c", "blower_harness", ["HC", "MC"]);
    sheet.contact("tab_s", "blower_harness", ["CAP_B", "WIRE_S"]);
    sheet.lead("lead_s", "blower_harness", ["WIRE_S", "HS"], 0.06);
    sheet.contact("plug_s", "blower_harness", ["HS", "MS"]);
    sheet.lead("lead_cap", "blower_harness", ["B1", "CAP_A"], 0.03);
    for n in 1..=speeds {
        sheet.lead(
            &format!("lead_{n}"),
            "blower_harness",
            [&format!("B{n}"), &format!("H{n}")],
            0.06,
        );
        sheet.contact(&format!("plug_{n}"), "blower_harness", [&format!("H{n}"), &format!("M{n}")]);
        pins.push(format!("plug_{n}"));
    }
    sheet.capacitor("capacitor", "capacitor", ["CAP_A", "CAP_B"], 10.0);
    sheet.overload("protector", "blower_motor", ["MC", "N"]);
    sheet.winding("start_winding", "blower_motor", ["M1", "MS"], 19.0, None);
    sheet.winding("run_winding", "blower_motor", ["N", "M1"], 9.0, None);
    for n in 2..=speeds {
        sheet.winding(
            &format!("tap_winding_{n}"),
            "blower_motor",
            [&format!("M{}", n - 1), &format!("M{n}")],
            1.8 + 0.3 * n as f64,
            None,
        );
    }
    sheet.mechanism("bearings", "blower_motor", "seized", 0.04);
    sheet.connector(
        "plug",
        "blower_deck",
        1.5,
        &pins.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    sheet.connector("cap_wire", "panel", 0.7, &["tab_s"]);
    sheet.sign(
        "hums_without_turning",
        2.0,
        &[
            ("capacitor", "", 0.8),
            ("start_winding", "open", 0.9),
            ("lead_s", "open", 0.9),
            ("plug_s", "open", 0.9),
            ("tab_s", "open", 0.9),
            ("bearings", "seized", 0.9),
        ],
    );
    sheet.sign("wheel_stiff_by_hand", 1.0, &[("bearings", "seized", 0.95)]);
    sheet.check("kind = \"overload_cooling\"\ncommon = \"MC\"\nstart = \"MS\"\nrun = \"M1\"\ncool_c = 45\nrest_min = 45");
    sheet.ground_check(&["MC", "MS", "M1"], "plug");
    sheet
}

/// Compressor and fan on one dual capacitor.
pub(super) fn dual_capacitor() -> Sheet {
    let mut sheet =
        Sheet::new("trial-dual-capacitor", "Compressor and fan on a dual capacitor", "FRAME");
    panel_and(&mut sheet, "terminal_box", 3.0);
    sheet.place("fan_deck", 5.0, &MOTOR_CAUTIONS);
    sheet.points("panel", &[], &["L1", "L2", "T1", "T2", "CAP_C", "CAP_H", "CAP_F"]);
    sheet.points("panel", &["herm_wire"], &["WH"]);
    sheet.points("panel", &["fan_wire"], &["WF"]);
    sheet.points("terminal_box", &["plug"], &["HC", "HS", "HR", "C", "S", "R"]);
    sheet.points("fan_deck", &["splices"], &["FC", "FS", "FR", "GC", "GS", "GR"]);
    sheet.hidden("N");
    sheet.hidden("F");
    sheet.component("compressor", true);
    sheet.component("fan_motor", true);
    sheet.component("harness", false);
    sheet.component("fan_wiring", false);
    sheet.component("capacitor", false);
    single_phase_supply(&mut sheet, 240.0);
    for (id, a, b) in [("lead_c", "T1", "HC"), ("lead_s", "WH", "HS"), ("lead_r", "T2", "HR")] {
        sheet.lead(id, "harness", [a, b], 0.02);
    }
    for (id, a, b) in [("plug_c", "HC", "C"), ("plug_s", "HS", "S"), ("plug_r", "HR", "R")] {
        sheet.contact(id, "harness", [a, b]);
    }
    sheet.contact("tab_h", "harness", ["CAP_H", "WH"]);
    sheet.lead("lead_cap", "harness", ["T2", "CAP_C"], 0.01);
    for (id, a, b) in [("wire_c", "T1", "FC"), ("wire_s", "WF", "FS"), ("wire_r", "T2", "FR")] {
        sheet.lead(id, "fan_wiring", [a, b], 0.06);
    }
    for (id, a, b) in [("splice_c", "FC", "GC"), ("splice_s", "FS", "GS"), ("splice_r", "FR", "GR")]
    {
        sheet.contact(id, "fan_wiring", [a, b]);
    }
    sheet.contact("tab_f", "fan_wiring", ["CAP_F", "WF"]);
    sheet.capacitor("herm_section", "capacitor", ["CAP_C", "CAP_H"], 45.0);
    sheet.capacitor("fan_section", "capacitor", ["CAP_C", "CAP_F"], 5.0);
    sheet.overload("overload", "compressor", ["C", "N"]);
    sheet.winding("start_winding", "compressor", ["N", "S"], 1.6, None);
    sheet.winding("run_winding", "compressor", ["N", "R"], 0.7, None);
    sheet.winding("fan_start", "fan_motor", ["F", "GS"], 62.0, None);
    sheet.winding("fan_run", "fan_motor", ["F", "GR"], 33.0, None);
    sheet.closed("fan_protector", "fan_motor", "switch", ["GC", "F"], 0.015);
    sheet.mechanism("pump", "compressor", "seized", 0.02);
    sheet.mechanism("bearings", "fan_motor", "seized", 0.03);
    sheet.connector("plug", "terminal_box", 1.0, &["plug_c", "plug_s", "plug_r"]);
    sheet.connector("splices", "fan_deck", 4.0, &["splice_c", "splice_s", "splice_r"]);
    sheet.connector("herm_wire", "panel", 0.7, &["tab_h"]);
    sheet.connector("fan_wire", "panel", 0.7, &["tab_f"]);
    sheet.sign(
        "compressor_hums",
        2.0,
        &[
            ("herm_section", "", 0.8),
            ("start_winding", "open", 0.9),
            ("lead_s", "open", 0.9),
            ("plug_s", "open", 0.9),
            ("tab_h", "open", 0.9),
            ("pump", "seized", 0.9),
        ],
    );
    sheet.sign(
        "fan_stands_still",
        2.0,
        &[
            ("fan_section", "", 0.8),
            ("fan_start", "open", 0.9),
            ("fan_run", "open", 0.9),
            ("fan_protector", "open", 0.95),
            ("wire_c", "open", 0.95),
            ("wire_s", "open", 0.9),
            ("wire_r", "open", 0.9),
            ("tab_f", "open", 0.9),
            ("bearings", "seized", 0.95),
        ],
    );
    sheet.motor_checks(["C", "S", "R"], "plug", 180.0);
    sheet
}

/// Compressor with a potential relay and a start capacitor beside the run capacitor.
pub(super) fn start_relay() -> Sheet {
    let mut sheet =
        Sheet::new("trial-start-relay", "Compressor with start capacitor and relay", "SHELL");
    panel_and(&mut sheet, "terminal_box", 3.0);
    sheet.points(
        "panel",
        &[],
        &["L1", "L2", "T1", "T2", "RUN_A", "RUN_B", "K2", "K5", "SC_A", "SC_B"],
    );
    sheet.points("panel", &["relay_coil_wire"], &["W5"]);
    sheet.points("panel", &["start_wire"], &["WS"]);
    sheet.points("terminal_box", &["plug"], &["HC", "HS", "HR", "C", "S", "R"]);
    sheet.hidden("N");
    sheet.component("compressor", true);
    sheet.component("harness", false);
    sheet.component("run_capacitor", false);
    sheet.component("start_kit", false);
    single_phase_supply(&mut sheet, 240.0);
    for (id, a, b) in [("lead_c", "T1", "HC"), ("lead_s", "WS", "HS"), ("lead_r", "T2", "HR")] {
        sheet.lead(id, "harness", [a, b], 0.02);
    }
    for (id, a, b) in [("plug_c", "HC", "C"), ("plug_s", "HS", "S"), ("plug_r", "HR", "R")] {
        sheet.contact(id, "harness", [a, b]);
    }
    sheet.contact("tab_start", "harness", ["RUN_B", "WS"]);
    sheet.lead("lead_run_cap", "harness", ["T2", "RUN_A"], 0.01);
    sheet.lead("lead_start_cap", "start_kit", ["T2", "SC_A"], 0.02);
    sheet.lead("lead_relay", "start_kit", ["RUN_B", "K2"], 0.02);
    sheet.contact("coil_tab", "start_kit", ["K5", "W5"]);
    sheet.lead("lead_coil", "start_kit", ["W5", "T1"], 0.02);
    sheet.capacitor("run_capacitor", "run_capacitor", ["RUN_A", "RUN_B"], 35.0);
    sheet.capacitor("start_capacitor", "start_kit", ["SC_A", "SC_B"], 150.0);
    sheet.closed("relay_contacts", "start_kit", "switch", ["SC_B", "RUN_B"], 0.02);
    sheet.load("relay_coil", "start_kit", "coil", ["K2", "K5"], 7000.0, 0.02);
    sheet.overload("overload", "compressor", ["C", "N"]);
    sheet.winding("start_winding", "compressor", ["N", "S"], 2.2, None);
    sheet.winding("run_winding", "compressor", ["N", "R"], 0.9, None);
    sheet.mechanism("pump", "compressor", "seized", 0.02);
    sheet.connector("plug", "terminal_box", 1.0, &["plug_c", "plug_s", "plug_r"]);
    sheet.connector("start_wire", "panel", 0.7, &["tab_start"]);
    sheet.connector("relay_coil_wire", "panel", 0.7, &["coil_tab"]);
    sheet.sign(
        "hums_no_start",
        2.0,
        &[
            ("run_capacitor", "", 0.6),
            ("start_capacitor", "", 0.8),
            ("relay_contacts", "open", 0.8),
            ("start_winding", "open", 0.9),
            ("lead_s", "open", 0.9),
            ("plug_s", "open", 0.9),
            ("tab_start", "open", 0.9),
            ("pump", "seized", 0.9),
        ],
    );
    sheet.sign(
        "silent_no_start",
        2.0,
        &[
            ("overload", "", 0.95),
            ("lead_c", "open", 0.95),
            ("plug_c", "open", 0.95),
            ("supply_volts", "missing", 0.97),
            ("contacts", "burnt", 0.8),
        ],
    );
    sheet.motor_checks(["C", "S", "R"], "plug", 180.0);
    sheet
}
