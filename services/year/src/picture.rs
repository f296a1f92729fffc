//! The year as a picture: something to lay on a manager's desk.
//!
//! Belongs here: SVG that reads in greyscale, with its words on it. Does not belong here: numbers.
//!
//! Three parts from above: how many of the urgent calls waited longer than they may, by class
//! and way of working; each weekend's longest urgent wait with the rules off and on; and what it
//! asks of the people.

use std::fmt::Write as _;

use crate::Way;
use crate::tally::{Report, Tally};

const WIDTH: f64 = 1200.0;
const HEIGHT: f64 = 1060.0;
const LEFT: f64 = 60.0;
const RIGHT: f64 = WIDTH - 60.0;

const INK: &str = "#18212b";
const SOFT: &str = "#414a54";
const LINE: &str = "#cfcbc0";
const PAPER: &str = "#f5f3ee";
const SHEET: &str = "#ffffff";
/// One fill for each way of working, from light to dark; the first is hatched.
const FILLS: [&str; 3] = ["url(#hatch)", "#8f8aa6", "#3a2a72"];

/// The longest wait that is drawn, in times of what it may be; more is drawn at the edge.
const TIMES_MAX: f64 = 6.0;

struct Svg(String);

impl Svg {
    fn add(&mut self, line: std::fmt::Arguments<'_>) {
        // Writing to a String cannot fail.
        let _ = self.0.write_fmt(line);
        self.0.push('\n');
    }

    fn text(&mut self, at: [f64; 2], size: u32, style: &str, words: &str) {
        let words = words.replace('&', "&amp;").replace('<', "&lt;");
        self.add(format_args!(
            "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size}\" {style}>{words}</text>",
            at[0], at[1]
        ));
    }

    fn line(&mut self, from: [f64; 2], to: [f64; 2], style: &str) {
        self.add(format_args!(
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" {style}/>",
            from[0], from[1], to[0], to[1]
        ));
    }

    fn bar(&mut self, at: [f64; 2], size: [f64; 2], fill: &str) {
        self.add(format_args!(
            "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"{fill}\" stroke=\"{INK}\" stroke-width=\"1\"/>",
            at[0], at[1], size[0].max(0.5), size[1]
        ));
    }
}

/// "2 h 05 min".
fn length(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes:02} min"),
    }
}

/// The picture; empty where the report has not every way of working.
#[must_use]
pub fn svg(report: &Report) -> String {
    let ways: Option<Vec<&Tally>> = Way::ALL.into_iter().map(|way| report.of(way)).collect();
    let Some(ways) = ways else { return String::new() };
    let (off, on) = (ways[1], ways[2]);
    let mut svg = Svg(String::new());
    svg.add(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-labelledby=\"t d\" font-family=\"system-ui, 'Segoe UI', Roboto, 'Noto Sans', sans-serif\" fill=\"{INK}\">"
    ));
    svg.add(format_args!("<title id=\"t\">{}</title>", headline(report, off, on)));
    svg.add(format_args!(
        "<desc id=\"d\">Simulated year: {} weekends, {} calls, seed {}. Urgent calls over their limit: {} by telephone, {} with ladders, {} with ladders and rules.</desc>",
        report.weekends, report.calls, report.seed, ways[0].urgent.late, off.urgent.late, on.urgent.late
    ));
    svg.add(format_args!(
        "<defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"{SHEET}\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"{SOFT}\" stroke-width=\"2\"/></pattern></defs>"
    ));
    svg.add(format_args!("<rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"{PAPER}\"/>"));
    svg.text([LEFT, 58.0], 25, "font-weight=\"700\"", &headline(report, off, on));
    svg.text(
        [LEFT, 88.0],
        15,
        &format!("fill=\"{SOFT}\""),
        &format!(
            "One simulated year: {} weekends, {} calls, an invented shop of {} technicians. The same calls, cold, sickness and tempers each time; seed {}.",
            report.weekends,
            report.calls,
            on.people.len(),
            report.seed
        ),
    );
    legend(&mut svg);
    classes(&mut svg, &ways);
    weekends(&mut svg, report);
    people(&mut svg, off, on);
    svg.add(format_args!("</svg>"));
    svg.0
}

fn headline(report: &Report, off: &Tally, on: &Tally) -> String {
    let of = |tally: &Tally| tally.urgent.late;
    let years = if report.weekends == 52 { "year's" } else { "simulated" };
    match of(on).cmp(&of(off)) {
        std::cmp::Ordering::Less => format!(
            "Of a {years} urgent weekend calls, {} wait too long with the rules on, not {}",
            of(on),
            of(off)
        ),
        _ => format!(
            "Of a {years} urgent weekend calls, {} wait too long with the rules on, {} with them off",
            of(on),
            of(off)
        ),
    }
}

fn legend(svg: &mut Svg) {
    let mut x = LEFT;
    for (way, fill) in Way::ALL.into_iter().zip(FILLS) {
        svg.bar([x, 108.0], [26.0, 18.0], fill);
        svg.text([x + 34.0, 123.0], 17, "", way.words());
        x += 60.0 + 9.0 * way.words().len() as f64;
    }
}

/// Shares over the limit, by class.
fn classes(svg: &mut Svg, ways: &[&Tally]) {
    let top = 172.0;
    svg.text([LEFT, top], 19, "font-weight=\"650\"", "Waited longer than they may, of 100 calls; the line is where the truth lies, 95 times of 100");
    let urgent = ways[0].waits.len() - 1;
    let most = ways
        .iter()
        .flat_map(|tally| &tally.waits[..urgent])
        .map(|waits| waits.late_share[2])
        .fold(0.05, f64::max);
    let (from, to) = (LEFT + 350.0, RIGHT - 240.0);
    let x = |share: f64| from + (to - from) * share / most;
    for class in 0..urgent {
        let y = top + 24.0 + 66.0 * class as f64;
        let waits = &ways[0].waits[class];
        svg.text([LEFT, y + 22.0], 16, "font-weight=\"600\"", waits.class);
        svg.text(
            [LEFT, y + 44.0],
            16,
            &format!("fill=\"{SOFT}\""),
            &format!("may wait {}; {} calls", length(waits.limit_min as i64), waits.calls),
        );
        for (way, (tally, fill)) in ways.iter().zip(FILLS).enumerate() {
            let one = &tally.waits[class];
            let y = y + 4.0 + 18.0 * way as f64;
            let [share, low, high] = one.late_share;
            svg.bar([from, y], [x(share) - from, 14.0], fill);
            let style = format!("stroke=\"{INK}\" stroke-width=\"1.5\"");
            svg.line([x(low), y + 7.0], [x(high), y + 7.0], &style);
            svg.text(
                [x(high) + 8.0, y + 13.0],
                16,
                "",
                &format!("{:.1}; 9 of 10 within {}", 100.0 * share, length(one.p90_min)),
            );
        }
    }
}

/// Each weekend's longest urgent wait, with the rules off and on.
fn weekends(svg: &mut Svg, report: &Report) {
    let (top, bottom) = (528.0, 718.0);
    svg.text(
        [LEFT, top - 40.0],
        20,
        "font-weight=\"650\"",
        "Each weekend's longest urgent wait, in times of what it may be: ○ rules off, ● rules on",
    );
    let y = |times: f64| bottom - (bottom - top) * times.min(TIMES_MAX) / TIMES_MAX;
    for times in 0..=TIMES_MAX as u32 {
        let at = y(f64::from(times));
        let style = if times == 1 {
            format!("stroke=\"{INK}\" stroke-width=\"2\" stroke-dasharray=\"7 4\"")
        } else {
            format!("stroke=\"{LINE}\"")
        };
        svg.line([LEFT + 40.0, at], [RIGHT, at], &style);
        let word = if times == TIMES_MAX as u32 { format!("{times}+") } else { times.to_string() };
        svg.text([LEFT + 30.0, at + 5.0], 16, "text-anchor=\"end\"", &word);
    }
    let step = (RIGHT - LEFT - 60.0) / report.by_weekend.len().max(1) as f64;
    let mut month = String::new();
    for (index, one) in report.by_weekend.iter().enumerate() {
        let x = LEFT + 55.0 + step * (index as f64 + 0.5);
        let (off, on) = (y(one.longest[1]), y(one.longest[2]));
        svg.line([x, off], [x, on], &format!("stroke=\"{SOFT}\" stroke-width=\"1.5\""));
        svg.add(format_args!(
            "<circle cx=\"{x:.1}\" cy=\"{off:.1}\" r=\"5\" fill=\"{SHEET}\" stroke=\"{INK}\" stroke-width=\"2\"/><circle cx=\"{x:.1}\" cy=\"{on:.1}\" r=\"4\" fill=\"{}\"/>",
            FILLS[2]
        ));
        // Cold weekends are marked below the line, with a bar as long as it was cold.
        let cold = f64::from((32 - one.outdoor_f[0]).max(0));
        svg.bar([x - step * 0.3, bottom + 12.0], [step * 0.6, cold * 0.8], SHEET);
        if one.long {
            svg.text([x, top - 12.0], 16, "text-anchor=\"middle\"", "long");
        }
        let now = one.from.get(5..7).unwrap_or("").to_owned();
        if now != month {
            let at = now.parse::<usize>().unwrap_or(1).clamp(1, MONTHS.len()) - 1;
            svg.text([x, bottom + 84.0], 16, "text-anchor=\"middle\"", MONTHS[at]);
            month = now;
        }
    }
    svg.text(
        [LEFT + 45.0, bottom + 108.0],
        16,
        &format!("fill=\"{SOFT}\""),
        "Below the line: how far the coldest hour lay under 32 °F",
    );
}

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// What it asks of the people, and the second reads.
fn people(svg: &mut Svg, off: &Tally, on: &Tally) {
    let top = 872.0;
    svg.text(
        [LEFT, top],
        20,
        "font-weight=\"650\"",
        "Times called from home in the year, rules off and on",
    );
    let all = || off.people.iter().chain(&on.people);
    let most = f64::from(all().map(|one| one.call_outs).max().unwrap_or(1).max(1));
    let width = 620.0 / on.people.len().max(1) as f64;
    for (index, (before, after)) in off.people.iter().zip(&on.people).enumerate() {
        let x = LEFT + width * index as f64;
        for (side, (one, fill)) in [(before, FILLS[1]), (after, FILLS[2])].into_iter().enumerate() {
            let tall = 84.0 * f64::from(one.call_outs) / most;
            let x = x + 28.0 * side as f64;
            svg.bar([x, top + 128.0 - tall], [22.0, tall], fill);
            let at = [x + 11.0, top + 122.0 - tall];
            svg.text(at, 16, "text-anchor=\"middle\"", &one.call_outs.to_string());
        }
        svg.text([x, top + 150.0], 16, "", after.name);
    }
    let x = LEFT + 690.0;
    let lines = [
        format!(
            "Second reads answered: median {}, not {};",
            length(on.reads.median_min),
            length(off.reads.median_min)
        ),
        format!("9 of 10 within {}, not {}.", length(on.reads.p90_min), length(off.reads.p90_min)),
        format!(
            "Technician left without one: {} of {}, not {}.",
            on.reads.unanswered, on.reads.asked, off.reads.unanswered
        ),
        format!(
            "Comfort calls put off, the customer told: {};",
            on.waits.iter().map(|waits| waits.put_off).sum::<u32>()
        ),
        format!("{} of them got worse and came back as urgent.", on.worse),
    ];
    svg.text([x, top], 20, "font-weight=\"650\"", "And besides");
    for (index, line) in lines.iter().enumerate() {
        svg.text([x, top + 34.0 + 27.0 * index as f64], 17, "", line);
    }
}
