//! The trial's own control strings and heaters.
//!
//! Belongs here: coils behind safeties, gas valves, heater banks, ignition. Does not belong
//! here: motors ([`super::motors`]).

use super::sheet::Sheet;

const DEAD_FIRST: [&str; 1] = ["live_voltage"];

/// Safeties in series between two points, with a wire before each.
fn string(sheet: &mut Sheet, from: &str, to: &str, safeties: &[(&str, &str)], wiring: &str) {
    let mut before = from.to_owned();
    for (id, component) in safeties {
        let (near, far) = (format!("{id}_1"), format!("{id}_2"));
        sheet.lead(&format!("wire_{id}"), wiring, [&before, &near], 0.04);
        sheet.closed(id, component, "switch", [&near, &far], 0.025);
        before = far;
    }
    sheet.lead("wire_last", wiring, [&before, to], 0.04);
}

/// A contactor's coil behind a fuse, a thermostat and three safeties.
pub(super) fn contactor_chain() -> Sheet {
    let mut sheet =
        Sheet::new("trial-contactor-chain", "Contactor coil behind safeties", "CABINET");
    sheet.place("board", 2.0, &DEAD_FIRST);
    sheet.place("compressor_bay", 4.0, &DEAD_FIRST);
    sheet.points("board", &[], &["R", "RF", "Y", "CX", "CA", "CB"]);
    sheet.points("board", &["coil_tab"], &["WA"]);
    sheet.points(
        "compressor_bay",
        &[],
        &["high_1", "high_2", "low_1", "low_2", "float_1", "float_2"],
    );
    for (component, major) in [
        ("contactor", true),
        ("high_switch", false),
        ("low_switch", false),
        ("float_switch", false),
        ("control_wiring", false),
        ("fuse", false),
        ("transformer", false),
    ] {
        sheet.component(component, major);
    }
    sheet.source("secondary", "transformer", ["R", "CX"], 25.0);
    sheet.closed("fuse", "fuse", "fuse", ["R", "RF"], 0.03);
    sheet.burning_contacts("contacts", "contactor", 0.04);
    string(
        &mut sheet,
        "Y",
        "WA",
        &[("high", "high_switch"), ("low", "low_switch"), ("float", "float_switch")],
        "control_wiring",
    );
    sheet.contact("coil_tab", "control_wiring", ["WA", "CA"]);
    sheet.load("coil", "contactor", "coil", ["CA", "CB"], 14.0, 0.04);
    sheet.lead("wire_common", "control_wiring", ["CB", "CX"], 0.04);
    sheet.connector("coil_tab", "board", 0.5, &["coil_tab"]);
    sheet.connector("y_wire", "board", 0.5, &["wire_high"]);
    sheet.connector("bay_wires", "compressor_bay", 1.5, &["wire_low", "wire_float"]);
    sheet.sign("contactor_pulls_in", 1.0, &[("contacts", "burnt", 0.95)]);
    sheet.sign(
        "fuse_blown_before",
        0.5,
        &[("coil", "shorted", 0.7), ("wire_high", "grounded", 0.6)],
    );
    sheet
}

/// A gas valve behind limit, rollout and pressure switch.
pub(super) fn gas_valve_string() -> Sheet {
    let mut sheet =
        Sheet::new("trial-gas-valve-string", "Gas valve behind its safeties", "CABINET");
    sheet.place("control", 2.0, &DEAD_FIRST);
    sheet.place("burner_bay", 3.0, &["live_voltage", "combustion", "hot_surface"]);
    sheet.points("control", &[], &["W", "PS", "GV", "COM"]);
    sheet.points("control", &["control_plug"], &["PW", "PG", "PC"]);
    sheet.points("burner_bay", &[], &["limit_1", "limit_2", "rollout_1", "rollout_2"]);
    sheet.points("burner_bay", &["valve_plug"], &["HG", "HM", "VG", "VM"]);
    for (component, major) in [
        ("gas_valve", true),
        ("limit", false),
        ("rollout", false),
        ("wiring", false),
        ("transformer", false),
    ] {
        sheet.component(component, major);
    }
    sheet.source("secondary", "transformer", ["PS", "COM"], 25.0);
    sheet.contact("pin_w", "wiring", ["W", "PW"]);
    sheet.contact("pin_g", "wiring", ["GV", "PG"]);
    sheet.contact("pin_c", "wiring", ["COM", "PC"]);
    string(&mut sheet, "PW", "HG", &[("limit", "limit"), ("rollout", "rollout")], "wiring");
    sheet.lead("wire_valve_sense", "wiring", ["PG", "HG"], 0.05);
    sheet.contact("valve_pin_g", "wiring", ["HG", "VG"]);
    sheet.load("valve_coil", "gas_valve", "coil", ["VG", "VM"], 48.0, 0.05);
    sheet.contact("valve_pin_m", "wiring", ["HM", "VM"]);
    sheet.lead("wire_common", "wiring", ["HM", "PC"], 0.05);
    sheet.mechanism("valve_seat", "gas_valve", "sticking", 0.03);
    sheet.connector("control_plug", "control", 0.7, &["pin_w", "pin_g", "pin_c"]);
    sheet.connector("valve_plug", "burner_bay", 0.7, &["valve_pin_g", "valve_pin_m"]);
    sheet.connector("limit_tabs", "burner_bay", 1.0, &["wire_limit", "wire_rollout"]);
    sheet.sign("valve_clicks_no_flame", 2.0, &[("valve_seat", "sticking", 0.9)]);
    sheet.sign("furnace_overheated", 0.5, &[("limit", "open", 0.5), ("rollout", "open", 0.5)]);
    sheet
}

/// Heating elements on one feed, each with its limit; sequenced ones behind a sequencer whose
/// own heater is fed from the control side.
pub(super) fn heater_bank(name: &str, banks: usize, sequenced: bool) -> Sheet {
    let mut sheet = Sheet::new(name, "Electric heater bank", "CABINET");
    sheet.place("heater_panel", 3.0, &DEAD_FIRST);
    sheet.place("element_rack", 6.0, &["live_voltage", "hot_surface"]);
    sheet.points("heater_panel", &[], &["L1", "L2"]);
    for n in 1..=banks {
        sheet.points("heater_panel", &[], &[&format!("A{n}"), &format!("B{n}")]);
        sheet.points(
            "element_rack",
            &[],
            &[&format!("E{n}_1"), &format!("E{n}_2"), &format!("E{n}_3")],
        );
    }
    for n in 1..=banks {
        sheet.component(&format!("element_{n}"), n == 1);
        sheet.component(&format!("limit_{n}"), false);
    }
    sheet.component("heater_wiring", false);
    sheet.component("fuses", false);
    sheet.component("supply", false);
    sheet.source("supply_volts", "supply", ["L1", "L2"], 240.0);
    for n in 1..=banks {
        let (a, b) = (format!("A{n}"), format!("B{n}"));
        let (e1, e2, e3) = (format!("E{n}_1"), format!("E{n}_2"), format!("E{n}_3"));
        sheet.closed(&format!("fuse_{n}"), "fuses", "fuse", ["L1", &a], 0.02);
        sheet.lead(&format!("feed_{n}"), "heater_wiring", [&a, &e1], 0.03);
        sheet.closed(&format!("limit_{n}"), &format!("limit_{n}"), "switch", [&e1, &e2], 0.03);
        sheet.load(
            &format!("element_{n}"),
            &format!("element_{n}"),
            "heater",
            [&e2, &e3],
            11.5,
            0.05,
        );
        sheet.lead(&format!("return_{n}"), "heater_wiring", [&e3, &b], 0.03);
        sheet.connector(&format!("return_{n}_tab"), "heater_panel", 0.7, &[&format!("return_{n}")]);
        sheet.connector(&format!("fuse_{n}_out"), "heater_panel", 0.3, &[&format!("fuse_{n}")]);
    }
    if sequenced {
        sheet.points("heater_panel", &["sequencer_plug"], &["SW1", "SW2"]);
        sheet.points("heater_panel", &[], &["W1", "COM"]);
        sheet.component("sequencer", true);
        sheet.component("transformer", false);
        sheet.source("secondary", "transformer", ["W1", "COM"], 25.0);
        sheet.contact("pin_w", "heater_wiring", ["W1", "SW1"]);
        sheet.contact("pin_c", "heater_wiring", ["COM", "SW2"]);
        sheet.load("sequencer_heater", "sequencer", "coil", ["SW1", "SW2"], 90.0, 0.05);
        sheet.burning_contacts("sequencer_contacts", "sequencer", 0.05);
        sheet.connector("sequencer_plug", "heater_panel", 0.7, &["pin_w", "pin_c"]);
        sheet.sign(
            "sequencer_never_clicks",
            3.0,
            &[
                ("sequencer_heater", "open", 0.95),
                ("sequencer_contacts", "burnt", 0.6),
                ("pin_w", "open", 0.9),
                ("pin_c", "open", 0.9),
            ],
        );
    } else {
        sheet.sign(
            "smells_burnt",
            0.5,
            &[("element_1", "grounded", 0.3), ("feed_1", "resistive", 0.6)],
        );
    }
    for n in 1..=banks {
        sheet.contact(&format!("screw_{n}"), "heater_wiring", [&format!("B{n}"), "L2"]);
    }
    let screws: Vec<String> = (1..=banks).map(|n| format!("screw_{n}")).collect();
    sheet.connector(
        "neutral_bar",
        "heater_panel",
        1.5,
        &screws.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    sheet
}

/// A reversing valve's solenoid on a defrost board, with the defrost thermostat.
pub(super) fn reversing_valve() -> Sheet {
    let mut sheet =
        Sheet::new("trial-reversing-valve", "Reversing valve and defrost thermostat", "FRAME");
    sheet.place("board", 2.0, &DEAD_FIRST);
    sheet.place("coil_side", 5.0, &["live_voltage", "hot_surface"]);
    sheet.points("board", &[], &["R", "C", "RV1", "RV2", "DT1", "DT2"]);
    sheet.points("board", &["board_plug"], &["P1", "P2", "P3", "P4"]);
    sheet.points("coil_side", &["solenoid_plug"], &["H1", "H2", "S1", "S2"]);
    sheet.points("coil_side", &["sensor_plug"], &["D1", "D2", "K1", "K2"]);
    for (component, major) in [
        ("reversing_valve", true),
        ("solenoid", false),
        ("defrost_thermostat", false),
        ("wiring", false),
        ("transformer", false),
    ] {
        sheet.component(component, major);
    }
    sheet.source("secondary", "transformer", ["R", "C"], 25.0);
    for (n, board, pin, far) in [
        (1, "RV1", "P1", "H1"),
        (2, "RV2", "P2", "H2"),
        (3, "DT1", "P3", "D1"),
        (4, "DT2", "P4", "D2"),
    ] {
        sheet.contact(&format!("pin_{n}"), "wiring", [board, pin]);
        sheet.lead(&format!("wire_{n}"), "wiring", [pin, far], 0.08);
    }
    sheet.contact("solenoid_pin_1", "wiring", ["H1", "S1"]);
    sheet.contact("solenoid_pin_2", "wiring", ["H2", "S2"]);
    sheet.contact("sensor_pin_1", "wiring", ["D1", "K1"]);
    sheet.contact("sensor_pin_2", "wiring", ["D2", "K2"]);
    sheet.load("solenoid_coil", "solenoid", "coil", ["S1", "S2"], 32.0, 0.05);
    sheet.closed("defrost_thermostat", "defrost_thermostat", "switch", ["K1", "K2"], 0.05);
    sheet.mechanism("slide", "reversing_valve", "stuck", 0.05);
    sheet.connector("board_plug", "board", 0.7, &["pin_1", "pin_2", "pin_3", "pin_4"]);
    sheet.connector("solenoid_plug", "coil_side", 0.7, &["solenoid_pin_1", "solenoid_pin_2"]);
    sheet.connector("sensor_plug", "coil_side", 0.7, &["sensor_pin_1", "sensor_pin_2"]);
    sheet.sign(
        "stuck_in_one_mode",
        2.0,
        &[
            ("slide", "stuck", 0.9),
            ("solenoid_coil", "open", 0.9),
            ("wire_1", "open", 0.9),
            ("wire_2", "open", 0.9),
        ],
    );
    sheet.sign("solenoid_magnet_holds", 2.0, &[("slide", "stuck", 0.95)]);
    sheet
}

/// A hot-surface igniter and an inducer motor on one furnace control plug.
pub(super) fn ignition() -> Sheet {
    let mut sheet =
        Sheet::new("trial-ignition", "Igniter and inducer on the furnace control", "CABINET");
    sheet.place("control", 2.0, &DEAD_FIRST);
    sheet.place("vestibule", 4.0, &["live_voltage", "combustion", "hot_surface"]);
    sheet.points("control", &[], &["L", "N", "IGN", "IND"]);
    sheet.points("control", &["control_plug"], &["PI", "PD", "PN"]);
    sheet.points("vestibule", &["igniter_plug"], &["HI", "HIN", "XI", "XIN"]);
    sheet.points("vestibule", &["inducer_plug"], &["HD", "HDN", "YD", "YDN"]);
    sheet.hidden("Z");
    for (component, major) in
        [("igniter", true), ("inducer", true), ("wiring", false), ("supply", false)]
    {
        sheet.component(component, major);
    }
    sheet.source("supply_volts", "supply", ["L", "N"], 120.0);
    for (id, a, b) in [("pin_i", "IGN", "PI"), ("pin_d", "IND", "PD"), ("pin_n", "N", "PN")] {
        sheet.contact(id, "wiring", [a, b]);
    }
    for (id, a, b) in [
        ("wire_i", "PI", "HI"),
        ("wire_in", "HIN", "PN"),
        ("wire_d", "PD", "HD"),
        ("wire_dn", "HDN", "PN"),
    ] {
        sheet.lead(id, "wiring", [a, b], 0.06);
    }
    for (id, a, b) in [
        ("igniter_pin_1", "HI", "XI"),
        ("igniter_pin_2", "HIN", "XIN"),
        ("inducer_pin_1", "HD", "YD"),
        ("inducer_pin_2", "HDN", "YDN"),
    ] {
        sheet.contact(id, "wiring", [a, b]);
    }
    sheet.load("igniter", "igniter", "heater", ["XI", "XIN"], 60.0, 0.08);
    sheet.overload("inducer_protector", "inducer", ["YD", "Z"]);
    sheet.winding("inducer_winding", "inducer", ["Z", "YDN"], 14.0, None);
    sheet.mechanism("inducer_bearings", "inducer", "seized", 0.04);
    sheet.connector("control_plug", "control", 0.7, &["pin_i", "pin_d", "pin_n"]);
    sheet.connector("igniter_plug", "vestibule", 0.7, &["igniter_pin_1", "igniter_pin_2"]);
    sheet.connector("inducer_plug", "vestibule", 0.7, &["inducer_pin_1", "inducer_pin_2"]);
    sheet.sign(
        "igniter_stays_dark",
        1.0,
        &[("igniter", "open", 0.95), ("wire_i", "open", 0.9), ("wire_in", "open", 0.9)],
    );
    sheet.sign("inducer_hums", 1.0, &[("inducer_bearings", "seized", 0.9)]);
    sheet
}
