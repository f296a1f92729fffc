//! A circuit as a plain picture (SVG), as its file lays it out.
//!
//! Belongs here: lines, boxes and labels from the file's own coordinates. Does not belong here:
//! the page's drawing, which shows suspicion and can be touched.

use std::fmt::Write as _;

use engine::circuit::{Circuit, PartKind};

/// Pixels per grid square.
const SQUARE: f64 = 60.0;
/// Squares left free around the drawing.
const MARGIN: f64 = 1.5;

/// The picture. Points that no probe reaches are hollow.
pub(super) fn svg(circuit: &Circuit) -> String {
    let corners: Vec<[f64; 2]> = circuit
        .points
        .iter()
        .map(|point| point.at)
        .chain(circuit.parts.iter().flat_map(|part| part.via.iter().copied()))
        .collect();
    let least = |axis: usize| corners.iter().map(|at| at[axis]).fold(f64::INFINITY, f64::min);
    let most = |axis: usize| corners.iter().map(|at| at[axis]).fold(f64::NEG_INFINITY, f64::max);
    let origin = [least(0) - MARGIN, least(1) - MARGIN];
    let place = |at: [f64; 2]| [(at[0] - origin[0]) * SQUARE, (at[1] - origin[1]) * SQUARE];
    let size = place([most(0) + MARGIN, most(1) + MARGIN]);
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.0} {:.0}\" font-family=\"sans-serif\" font-size=\"12\">\n<title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
        size[0],
        size[1],
        escaped(&circuit.title)
    );
    for part in &circuit.parts {
        let Some(ends) = &part.between else { continue };
        let end = |id: &str| circuit.points.iter().find(|point| point.id == id).map(|p| p.at);
        let (Some(from), Some(to)) = (end(&ends[0]), end(&ends[1])) else { continue };
        let line: Vec<[f64; 2]> =
            std::iter::once(from).chain(part.via.iter().copied()).chain([to]).map(place).collect();
        let drawn: Vec<String> =
            line.iter().map(|at| format!("{:.0},{:.0}", at[0], at[1])).collect();
        let _ = writeln!(
            text,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#333\" stroke-width=\"2\"/>",
            drawn.join(" ")
        );
        let [x, y] = middle(&line);
        let _ = writeln!(
            text,
            "<text x=\"{x:.0}\" y=\"{:.0}\" text-anchor=\"middle\" fill=\"#0b4f8a\">{}{}</text>",
            y - 6.0,
            mark(part.kind),
            escaped(&part.label)
        );
    }
    for point in &circuit.points {
        let [x, y] = place(point.at);
        let fill = if point.place.is_some() { "#333" } else { "white" };
        let _ = writeln!(
            text,
            "<circle cx=\"{x:.0}\" cy=\"{y:.0}\" r=\"5\" fill=\"{fill}\" stroke=\"#333\"/><text x=\"{:.0}\" y=\"{:.0}\" font-weight=\"bold\">{}</text>",
            x + 8.0,
            y + 16.0,
            escaped(&point.id)
        );
    }
    text.push_str("</svg>\n");
    text
}

/// The middle of the longest stretch of a line, where its label has most room.
fn middle(line: &[[f64; 2]]) -> [f64; 2] {
    let length = |pair: &[[f64; 2]]| (pair[0][0] - pair[1][0]).hypot(pair[0][1] - pair[1][1]);
    line.windows(2).max_by(|a, b| length(a).total_cmp(&length(b))).map_or([0.0, 0.0], |pair| {
        [(pair[0][0] + pair[1][0]) / 2.0, (pair[0][1] + pair[1][1]) / 2.0]
    })
}

/// What a part is, before its name.
fn mark(kind: PartKind) -> &'static str {
    match kind {
        PartKind::Source => "~ ",
        PartKind::Capacitor => "|| ",
        PartKind::Diode => "▷ ",
        PartKind::Switch => "⟋ ",
        PartKind::Fuse => "▭ ",
        PartKind::Winding | PartKind::Coil => "∿ ",
        _ => "",
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
