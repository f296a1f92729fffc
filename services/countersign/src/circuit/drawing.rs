//! A circuit as a plain picture (SVG), as its file lays it out.
//!
//! Belongs here: lines, boxes and labels from the file's own coordinates. Does not belong here:
//! the page's drawing, which shows suspicion and can be touched.

use std::fmt::Write as _;

use engine::circuit::{Circuit, PartKind};

/// Pixels per grid square.
const SQUARE: f64 = 60.0;
/// Squares left free around the drawing.
const MARGIN: f64 = 2.0;

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
    let lines: Vec<(&str, PartKind, Line)> = circuit
        .parts
        .iter()
        .filter_map(|part| {
            let ends = part.between.as_ref()?;
            let end = |id: &str| circuit.points.iter().find(|point| point.id == id).map(|p| p.at);
            let (from, to) = (end(&ends[0])?, end(&ends[1])?);
            let corners = std::iter::once(from).chain(part.via.iter().copied()).chain([to]);
            Some((part.label.as_str(), part.kind, corners.map(place).collect()))
        })
        .collect();
    let points: Vec<[f64; 2]> = circuit.points.iter().map(|point| place(point.at)).collect();
    for (_, _, line) in &lines {
        let drawn: Vec<String> =
            line.iter().map(|at| format!("{:.0},{:.0}", at[0], at[1])).collect();
        let _ = writeln!(
            text,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"#333\" stroke-width=\"2\"/>",
            drawn.join(" ")
        );
    }
    // Words stand on a white rim, so that a line behind them takes nothing away.
    const RIM: &str = "paint-order=\"stroke\" stroke=\"white\" stroke-width=\"4\"";
    let labels = placed(circuit, &lines, &points, size);
    for (label, (_, kind, _)) in labels.iter().zip(&lines) {
        let _ = writeln!(
            text,
            "<text x=\"{:.0}\" y=\"{:.0}\" fill=\"#0b4f8a\" {RIM}>{}{}</text>",
            label.area.left,
            label.area.top + LETTER_HIGH - 3.0,
            mark(*kind),
            escaped(&label.words)
        );
    }
    for (point, [x, y]) in circuit.points.iter().zip(&points) {
        let fill = if point.place.is_some() { "#333" } else { "white" };
        let _ = writeln!(
            text,
            "<circle cx=\"{x:.0}\" cy=\"{y:.0}\" r=\"5\" fill=\"{fill}\" stroke=\"#333\"/><text x=\"{:.0}\" y=\"{:.0}\" font-weight=\"bold\" {RIM}>{}</text>",
            x + 8.0,
            y + 16.0,
            escaped(&point.id)
        );
    }
    let _ =
        writeln!(text, "<text x=\"20\" y=\"{:.0}\" fill=\"#333\">{LEGEND}</text>", size[1] - 12.0);
    text.push_str("</svg>\n");
    text
}

/// A part's line, corner by corner, pixels.
type Line = Vec<[f64; 2]>;

/// An area of the sheet, pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Area {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Area {
    fn shared(&self, other: &Area) -> f64 {
        let wide = self.right.min(other.right) - self.left.max(other.left);
        let high = self.bottom.min(other.bottom) - self.top.max(other.top);
        wide.max(0.0) * high.max(0.0)
    }
}

/// A part's words where they stand.
struct Label {
    words: String,
    area: Area,
}

/// Pixels that a letter takes at most, on the average of a label, and a line of letters.
const LETTER_WIDE: f64 = 6.6;
const LETTER_HIGH: f64 = 15.0;

fn area_at(words: &str, left: f64, top: f64) -> Area {
    let wide = words.chars().count() as f64 * LETTER_WIDE;
    Area { left, top, right: left + wide, bottom: top + LETTER_HIGH }
}

/// A place for every part's words: along its own line, beside it, where nothing else stands;
/// where there is none, where least does.
fn placed(
    circuit: &Circuit,
    lines: &[(&str, PartKind, Line)],
    points: &[[f64; 2]],
    size: [f64; 2],
) -> Vec<Label> {
    let mut taken: Vec<Area> = points
        .iter()
        .map(|[x, y]| Area { left: x - 7.0, top: y - 7.0, right: x + 7.0, bottom: y + 7.0 })
        .collect();
    taken.extend(
        circuit
            .points
            .iter()
            .zip(points)
            .map(|(point, [x, y])| area_at(&point.id, x + 8.0, y + 4.0)),
    );
    let mut labels = Vec::with_capacity(lines.len());
    for (own, (words, kind, line)) in lines.iter().enumerate() {
        let whole = format!("{}{words}", mark(*kind));
        let wide = whole.chars().count() as f64 * LETTER_WIDE;
        let mut best: Option<(f64, Area)> = None;
        for stretch in line.windows(2) {
            let [from, to] = [stretch[0], stretch[1]];
            let length = (from[0] - to[0]).hypot(from[1] - to[1]);
            let level = (from[1] - to[1]).abs() <= (from[0] - to[0]).abs();
            for share in [0.5, 0.35, 0.65, 0.2, 0.8] {
                let [x, y] =
                    [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
                let beside: &[[f64; 2]] = if level {
                    &[
                        [-wide / 2.0, -18.0],
                        [-wide / 2.0, 3.0],
                        [-wide / 2.0, -33.0],
                        [-wide / 2.0, 18.0],
                    ]
                } else {
                    &[[6.0, -8.0], [-wide - 6.0, -8.0], [-wide / 2.0, -8.0]]
                };
                for (turn, [right, down]) in beside.iter().enumerate() {
                    let area = area_at(&whole, x + right, y + down);
                    let covered: f64 = taken.iter().map(|other| area.shared(other)).sum();
                    let crossed = lines
                        .iter()
                        .enumerate()
                        .filter(|(other, (_, _, line))| *other != own && crosses(line, &area))
                        .count();
                    let along = lines
                        .iter()
                        .enumerate()
                        .any(|(other, (_, _, line))| other != own && runs_along(line, [x, y]));
                    let outside = area.left < 2.0
                        || area.top < 2.0
                        || area.right > size[0] - 2.0
                        || area.bottom > size[1] - 30.0;
                    let misplaced = 100.0 * covered
                        + 1e6 * f64::from(u8::from(outside))
                        + 40.0 * crossed as f64
                        + 60.0 * f64::from(u8::from(along))
                        + 4.0 * turn as f64
                        + 20.0 * (share - 0.5).abs()
                        - 0.02 * length;
                    if best.is_none_or(|(least, _)| misplaced < least) {
                        best = Some((misplaced, area));
                    }
                }
            }
        }
        let area = best.map_or(area_at(&whole, 0.0, 0.0), |(_, area)| area);
        taken.push(area);
        labels.push(Label { words: (*words).to_owned(), area });
    }
    labels
}

/// Whether a line goes through an area. Lines run level or upright, so that boxes tell.
fn crosses(line: &Line, area: &Area) -> bool {
    line.windows(2).any(|pair| {
        let stretch = Area {
            left: pair[0][0].min(pair[1][0]) - 1.0,
            top: pair[0][1].min(pair[1][1]) - 1.0,
            right: pair[0][0].max(pair[1][0]) + 1.0,
            bottom: pair[0][1].max(pair[1][1]) + 1.0,
        };
        area.shared(&stretch) > 0.0
    })
}

/// Whether a line runs through a spot: words there could be either's.
fn runs_along(line: &Line, [x, y]: [f64; 2]) -> bool {
    crosses(line, &Area { left: x - 1.0, top: y - 1.0, right: x + 1.0, bottom: y + 1.0 })
}

/// What the signs mean.
const LEGEND: &str = "● a probe reaches it   ○ inside   ~ supply   || capacitor   ▷ diode   / switch   ▭ fuse   ∿ winding or coil   lines that cross without a dot do not join";

/// What a part is, before its name.
fn mark(kind: PartKind) -> &'static str {
    match kind {
        PartKind::Source => "~ ",
        PartKind::Capacitor => "|| ",
        PartKind::Diode => "▷ ",
        PartKind::Switch => "/ ",
        PartKind::Fuse => "▭ ",
        PartKind::Winding | PartKind::Coil => "∿ ",
        _ => "",
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_words_stand_on_others_or_outside_the_sheet_on_any_circuit_that_ships() {
        for shipped in engine::circuit_file::shipped() {
            let circuit = engine::circuit_file::parse(shipped.name, shipped.text).unwrap();
            let drawn = svg(&circuit);
            // Back from the picture itself: what a reader sees is what is held.
            let attribute = |tag: &str, name: &str| -> Option<f64> {
                tag.split_once(&format!(" {name}=\""))?.1.split('"').next()?.parse().ok()
            };
            let size: Vec<f64> = drawn
                .split("viewBox=\"0 0 ")
                .nth(1)
                .and_then(|rest| rest.split('"').next())
                .map(|size| size.split(' ').map(|one| one.parse().unwrap()).collect())
                .unwrap();
            let words: Vec<(String, Area)> = drawn
                .split("<text")
                .skip(1)
                .filter_map(|tag| {
                    let said = tag.split_once('>')?.1.split("</text>").next()?.to_owned();
                    let (x, y) = (attribute(tag, "x")?, attribute(tag, "y")?);
                    Some((said.clone(), area_at(&said, x, y + 3.0 - LETTER_HIGH)))
                })
                .filter(|(said, _)| said != LEGEND)
                .collect();
            assert!(words.len() > 10, "{}", shipped.name);
            for (at, (said, area)) in words.iter().enumerate() {
                assert!(
                    area.left >= 0.0 && area.right <= size[0] && area.bottom <= size[1],
                    "{}: {said:?} is outside",
                    shipped.name
                );
                for (other, beside) in &words[at + 1..] {
                    assert!(
                        area.shared(beside) < 30.0,
                        "{}: {said:?} and {other:?} overlap",
                        shipped.name
                    );
                }
            }
        }
    }
}
