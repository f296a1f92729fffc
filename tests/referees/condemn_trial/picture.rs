//! The calibration drawn.
//!
//! Belongs here: the picture. Does not belong here: its figures ([`super::score`]).

use std::fmt::Write as _;

use super::LEVELS;
use super::score::Score;

const SIDE: f64 = 300.0;
const LEFT: f64 = 60.0;
const TOP: f64 = 40.0;

/// Stated share across, observed up, one panel per mistake level; the dot's area is the number
/// of statements, the bar two standard errors, by jobs.
pub(super) fn calibration(scores: &[Score]) -> String {
    let panel = SIDE + LEFT + 20.0;
    let (width, height) = (panel * scores.len() as f64 + 20.0, TOP + SIDE + 60.0);
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\" font-size=\"16\" role=\"img\" aria-label=\"Stated against observed share of the leading component\">\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n"
    );
    for (index, score) in scores.iter().enumerate() {
        let (left, top) = (panel * index as f64 + LEFT, TOP);
        let x = |share: f64| left + SIDE * share;
        let y = |share: f64| top + SIDE * (1.0 - share);
        let mut line = |line: std::fmt::Arguments<'_>| {
            text.write_fmt(line).expect("a string takes text");
            text.push('\n');
        };
        line(format_args!(
            "<text x=\"{}\" y=\"26\" text-anchor=\"middle\" font-weight=\"bold\">mistakes ×{}</text>",
            x(0.5),
            LEVELS[index]
        ));
        line(format_args!(
            "<rect x=\"{left}\" y=\"{top}\" width=\"{SIDE}\" height=\"{SIDE}\" fill=\"none\" stroke=\"#444\"/>"
        ));
        line(format_args!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"#999\" stroke-dasharray=\"5 4\"/>",
            x(0.0),
            y(0.0),
            x(1.0),
            y(1.0)
        ));
        for tick in [0.0, 0.25, 0.5, 0.75, 1.0] {
            line(format_args!(
                "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{tick}</text>",
                x(tick),
                y(0.0) + 20.0
            ));
            line(format_args!(
                "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{tick}</text>",
                x(0.0) - 6.0,
                y(tick) + 5.0
            ));
        }
        line(format_args!(
            "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">stated</text>",
            x(0.5),
            y(0.0) + 44.0
        ));
        for bin in score.bins.iter().filter(|bin| bin.count > 0) {
            let low = (bin.observed - bin.error).max(0.0);
            let high = (bin.observed + bin.error).min(1.0);
            let radius = (bin.count as f64).sqrt().clamp(9.0, 180.0) / 9.0 + 2.0;
            line(format_args!(
                "<line x1=\"{0:.1}\" y1=\"{1:.1}\" x2=\"{0:.1}\" y2=\"{2:.1}\" stroke=\"#1a5a96\" stroke-width=\"2\"/>",
                x(bin.stated),
                y(low),
                y(high)
            ));
            line(format_args!(
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{radius:.1}\" fill=\"#1a5a96\" fill-opacity=\"0.7\"/>",
                x(bin.stated),
                y(bin.observed)
            ));
        }
    }
    text.push_str("</svg>\n");
    text
}
