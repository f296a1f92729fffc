//! The growth as a picture: milliseconds over points, on a logarithmic scale.
//!
//! Belongs here: drawing. Does not belong here: measuring.

use std::fmt::Write as _;

use crate::Row;

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 400.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 170.0;
const TOP: f64 = 30.0;
const BOTTOM: f64 = 50.0;
/// The scale's ends, milliseconds.
const LEAST_MS: f64 = 0.1;
const MOST_MS: f64 = 1e4;

/// A line of the picture: its name and how far that is moved down, its dashes, its value of a row.
type Line = (&'static str, f64, &'static str, fn(&Row) -> f64);

const LINES: [Line; 3] = [
    ("one factorisation each", -4.0, "2 4", |row| row.one_by_one_ms),
    ("next tests", 14.0, "8 4", |row| row.tests_ms),
    ("verdict", 4.0, "", |row| row.verdict_ms),
];

fn x(points: usize) -> f64 {
    LEFT + (points as f64 - 10.0) / 50.0 * (WIDTH - LEFT - RIGHT)
}

fn y(ms: f64) -> f64 {
    let share = (ms.max(LEAST_MS) / LEAST_MS).log10() / (MOST_MS / LEAST_MS).log10();
    HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)
}

/// The picture as SVG.
pub(crate) fn drawn(rows: &[Row]) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
         font-family=\"sans-serif\" font-size=\"13\" role=\"img\">\n\
         <title>Milliseconds by number of points; the same figures are in growth.md</title>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#fff\"/>\n"
    );
    let mut put = |text: String| {
        // Writing into a string cannot fail.
        writeln!(svg, "{text}").ok();
    };
    for ms in [0.1, 1.0, 10.0, 100.0, 1e3, 1e4] {
        let at = y(ms);
        put(format!(
            "<path d=\"M{LEFT} {at:.1}H{:.1}\" stroke=\"#ccc\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{ms} ms</text>",
            WIDTH - RIGHT,
            LEFT - 8.0,
            at + 4.0
        ));
    }
    for row in rows {
        put(format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            x(row.points),
            HEIGHT - BOTTOM + 20.0,
            row.points
        ));
    }
    put(format!(
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">points of the circuit</text>",
        (LEFT + WIDTH - RIGHT) / 2.0,
        HEIGHT - 10.0
    ));
    for (name, down, dashes, value) in LINES {
        let path: Vec<String> =
            rows.iter().map(|row| format!("{:.1} {:.1}", x(row.points), y(value(row)))).collect();
        put(format!(
            "<path d=\"M{}\" fill=\"none\" stroke=\"#222\" stroke-width=\"2\" stroke-dasharray=\"{dashes}\"/>",
            path.join("L")
        ));
        if let Some(last) = rows.last() {
            put(format!(
                "<text x=\"{:.1}\" y=\"{:.1}\">{name}</text>",
                WIDTH - RIGHT + 8.0,
                y(value(last)) + down
            ));
        }
    }
    svg + "</svg>\n"
}
