//! Circuit files: the ones that ship, and reading and validating any other.
//!
//! Belongs here: TOML to [`Circuit`], with problems that name file, line and part. Does not
//! belong here: the shapes ([`crate::circuit`]) and predictions.

mod checks;
mod powered;

use std::collections::BTreeSet;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::circuit::{CIRCUIT_FORMAT, Circuit, Effect, Part, PartKind};
use crate::problem::{Problem, Problems};

/// Most points a circuit may have; the dense solver is sized for it.
pub const POINTS_MAX: usize = 64;
/// Most parts a circuit may have.
pub const PARTS_MAX: usize = 96;
/// Most fault modes in all, sizes counted one by one; double faults grow with its square.
pub const MODES_MAX: usize = 400;
pub use powered::STATES_MAX;
/// Longest circuit file, bytes. A longer one is refused unread.
pub const FILE_BYTES_MAX: usize = 256 * 1024;

/// A circuit file that ships with the engine.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// The circuit's name, which is also the file's.
    pub name: &'static str,
    /// The file's text (TOML).
    pub text: &'static str,
}

/// The circuits that ship, by name.
pub fn shipped() -> &'static [Shipped] {
    &[
        Shipped { name: "blower-ecm", text: include_str!("../circuits/blower-ecm.toml") },
        Shipped {
            name: "blower-multi-speed",
            text: include_str!("../circuits/blower-multi-speed.toml"),
        },
        Shipped {
            name: "compressor-1ph-plug",
            text: include_str!("../circuits/compressor-1ph-plug.toml"),
        },
        Shipped {
            name: "compressor-1ph-start-relay",
            text: include_str!("../circuits/compressor-1ph-start-relay.toml"),
        },
        Shipped { name: "compressor-3ph", text: include_str!("../circuits/compressor-3ph.toml") },
        Shipped {
            name: "compressor-inverter",
            text: include_str!("../circuits/compressor-inverter.toml"),
        },
        Shipped {
            name: "condenser-fan-shared-capacitor",
            text: include_str!("../circuits/condenser-fan-shared-capacitor.toml"),
        },
        Shipped { name: "control-24v", text: include_str!("../circuits/control-24v.toml") },
        Shipped {
            name: "electric-heat-sequencers",
            text: include_str!("../circuits/electric-heat-sequencers.toml"),
        },
        Shipped {
            name: "gas-heating-section",
            text: include_str!("../circuits/gas-heating-section.toml"),
        },
        Shipped {
            name: "heat-pump-reversing-valve",
            text: include_str!("../circuits/heat-pump-reversing-valve.toml"),
        },
    ]
}

/// Reads a circuit file (TOML) and validates it; `file` is what problems call it.
///
/// ```
/// let shipped = engine::circuit_file::shipped();
/// let shipped = shipped.iter().find(|known| known.name == "compressor-1ph-plug").unwrap();
/// let circuit = engine::circuit_file::parse("mine.toml", shipped.text).unwrap();
/// assert_eq!(circuit.name, shipped.name);
///
/// let dangling = shipped.text.replacen("between = [\"T1\", \"HC\"]", "between = [\"T1\", \"HX\"]", 1);
/// let problems = engine::circuit_file::parse("mine.toml", &dangling).unwrap_err();
/// assert!(problems.to_string().contains("HX"));
/// ```
///
/// # Errors
/// Every problem found, each with file, line and part, and what would be right.
pub fn parse(file: &str, text: &str) -> Result<Circuit, Problems> {
    if text.len() > FILE_BYTES_MAX {
        return Err(Problem::new(
            file,
            format!(
                "the file has {} bytes; a circuit file has at most {FILE_BYTES_MAX}",
                text.len()
            ),
        )
        .into());
    }
    let lines = Lines::of(file, text);
    let circuit: Circuit = toml::from_str(text).map_err(|error| {
        let line = error.span().map(|span| lines.line_of(span.start));
        Problems::from(lines.problem(line, None, error.message().to_owned()))
    })?;
    let mut found = Found { lines, problems: Vec::new() };
    validate(&circuit, &mut found);
    if found.problems.is_empty() { Ok(circuit) } else { Err(Problems { problems: found.problems }) }
}

/// Where the tables of a file begin, so that a problem can name its line.
struct Lines<'a> {
    file: &'a str,
    text: &'a str,
    table: Option<DeTable<'a>>,
}

impl<'a> Lines<'a> {
    fn of(file: &'a str, text: &'a str) -> Self {
        Lines { file, text, table: DeTable::parse(text).ok().map(Spanned::into_inner) }
    }

    /// The line of a byte, from 1.
    fn line_of(&self, byte: usize) -> u32 {
        let before = self.text[..byte.min(self.text.len())].matches('\n').count();
        u32::try_from(before + 1).unwrap_or(u32::MAX)
    }

    /// The line of `array[index]`, or of one of its keys when it has that key.
    fn line_in(&self, array: &str, index: usize, key: Option<&str>) -> Option<u32> {
        let entry = match self.table.as_ref()?.get(array)?.get_ref() {
            DeValue::Array(entries) => entries.get(index)?,
            _ => return None,
        };
        let of_key = key.and_then(|key| match entry.get_ref() {
            DeValue::Table(fields) => fields.get(key).map(Spanned::span),
            _ => None,
        });
        Some(self.line_of(of_key.unwrap_or_else(|| entry.span()).start))
    }

    /// The line of a key of the file itself, or of the first table of that name.
    fn line_of_key(&self, key: &str) -> Option<u32> {
        let value = self.table.as_ref()?.get(key)?;
        let first = match value.get_ref() {
            DeValue::Array(entries) => entries.first().map(Spanned::span),
            _ => None,
        };
        Some(self.line_of(first.unwrap_or_else(|| value.span()).start))
    }

    fn problem(&self, line: Option<u32>, path: Option<String>, says: String) -> Problem {
        let at = line.map_or(self.file.to_owned(), |line| format!("{}:{line}", self.file));
        Problem { line, path, ..Problem::new(at, says) }
    }
}

struct Found<'a> {
    lines: Lines<'a>,
    problems: Vec<Problem>,
}

impl Found<'_> {
    fn push(&mut self, array: &str, index: usize, key: Option<&str>, says: String) {
        let line = self.lines.line_in(array, index, key);
        let key = key.map_or(String::new(), |key| format!("/{key}"));
        let problem = self.lines.problem(line, Some(format!("/{array}/{index}{key}")), says);
        self.problems.push(problem);
    }

    /// A problem of one key of the file, or of all of one array.
    fn of_key(&mut self, key: &str, says: String) {
        let line = self.lines.line_of_key(key);
        let problem = self.lines.problem(line, Some(format!("/{key}")), says);
        self.problems.push(problem);
    }
}

fn listed<'a>(ids: impl Iterator<Item = &'a str>) -> String {
    ids.collect::<Vec<_>>().join(", ")
}

fn validate(circuit: &Circuit, found: &mut Found<'_>) {
    if circuit.format != CIRCUIT_FORMAT {
        found.of_key(
            "format",
            format!(
                "format is {}; this engine reads circuit format {CIRCUIT_FORMAT}",
                circuit.format
            ),
        );
    }
    let name_ok = !circuit.name.is_empty()
        && circuit.name.len() <= 64
        && circuit.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
    if !name_ok {
        found.of_key(
            "name",
            format!(
                "name \"{}\" must be 1 to 64 lower-case letters, digits and hyphens",
                circuit.name
            ),
        );
    }
    if let Some(share) = circuit.nothing_wrong
        && !(0.01..=0.9).contains(&share)
    {
        found.of_key("nothing_wrong", format!("nothing_wrong = {share} must be 0.01 to 0.9"));
    }
    sizes(circuit, found);
    unique(circuit, found);
    points(circuit, found);
    for (index, part) in circuit.parts.iter().enumerate() {
        part_valid(circuit, index, part, found);
    }
    connectors(circuit, found);
    signs(circuit, found);
    checks::validate(circuit, found);
    powered::validate(circuit, found);
}

fn sizes(circuit: &Circuit, found: &mut Found<'_>) {
    let modes: usize =
        circuit.parts.iter().flat_map(|part| &part.modes).map(|mode| mode.sizes.len().max(1)).sum();
    for (key, what, count, max) in [
        ("points", "points", circuit.points.len(), POINTS_MAX),
        ("parts", "parts", circuit.parts.len(), PARTS_MAX),
        ("parts", "fault modes, sizes counted one by one,", modes, MODES_MAX),
    ] {
        if count > max {
            found.of_key(
                key,
                format!("{count} {what} are more than the {max} that a circuit may have"),
            );
        }
    }
}

fn unique(circuit: &Circuit, found: &mut Found<'_>) {
    let lists: [(&str, Vec<&str>); 6] = [
        ("places", circuit.places.iter().map(|place| place.id.as_str()).collect()),
        ("points", circuit.points.iter().map(|point| point.id.as_str()).collect()),
        ("components", circuit.components.iter().map(|component| component.id.as_str()).collect()),
        ("parts", circuit.parts.iter().map(|part| part.id.as_str()).collect()),
        ("connectors", circuit.connectors.iter().map(|connector| connector.id.as_str()).collect()),
        ("signs", circuit.signs.iter().map(|sign| sign.id.as_str()).collect()),
    ];
    for (array, ids) in lists {
        let mut seen = BTreeSet::new();
        for (index, id) in ids.iter().enumerate() {
            if id.is_empty() || id.len() > 40 {
                found.push(array, index, Some("id"), "an id must have 1 to 40 characters".into());
            }
            if !seen.insert(*id) {
                found.push(
                    array,
                    index,
                    Some("id"),
                    format!("the id \"{id}\" is used twice in {array}; each must be its own"),
                );
            }
        }
    }
}

fn points(circuit: &Circuit, found: &mut Found<'_>) {
    for (index, point) in circuit.points.iter().enumerate() {
        if let Some(place) = &point.place
            && !circuit.places.iter().any(|known| known.id == *place)
        {
            let known = listed(circuit.places.iter().map(|place| place.id.as_str()));
            found.push(
                "points",
                index,
                Some("place"),
                format!("point {}: there is no place \"{place}\"; there are {known}", point.id),
            );
        }
        for lifted in &point.needs_lifted {
            if !circuit.connectors.iter().any(|known| known.id == *lifted) {
                let known = listed(circuit.connectors.iter().map(|known| known.id.as_str()));
                found.push(
                    "points",
                    index,
                    Some("needs_lifted"),
                    format!(
                        "point {}: there is no connector \"{lifted}\" to lift; there are {known}",
                        point.id
                    ),
                );
            }
        }
        if !point.at.iter().all(|at| at.is_finite() && at.abs() <= 200.0) {
            found.push(
                "points",
                index,
                Some("at"),
                format!("point {}: drawn outside the sheet (−200 to 200 squares)", point.id),
            );
        }
        let used = circuit
            .parts
            .iter()
            .any(|part| part.between.as_ref().is_some_and(|ends| ends.contains(&point.id)));
        if !used && circuit.shell.as_ref() != Some(&point.id) {
            found.push(
                "points",
                index,
                Some("id"),
                format!("point {}: no part ends here; join one to it or take it out", point.id),
            );
        }
    }
    if let Some(shell) = &circuit.shell
        && !circuit.points.iter().any(|point| point.id == *shell)
    {
        found.of_key("shell", format!("shell is \"{shell}\", but no point has that id"));
    }
}

fn part_valid(circuit: &Circuit, index: usize, part: &Part, found: &mut Found<'_>) {
    let id = &part.id;
    if !circuit.components.iter().any(|component| component.id == part.component) {
        let known = listed(circuit.components.iter().map(|component| component.id.as_str()));
        found.push(
            "parts",
            index,
            Some("component"),
            format!("part {id}: there is no component \"{}\"; there are {known}", part.component),
        );
    }
    match (&part.between, part.kind) {
        (None, PartKind::Mechanism) => {}
        (None, _) => found.push(
            "parts",
            index,
            None,
            format!("part {id}: between = [\"A\", \"B\"] is missing; only a mechanism has none"),
        ),
        (Some(_), PartKind::Mechanism) => found.push(
            "parts",
            index,
            Some("between"),
            format!("part {id}: a mechanism has no electrical ends; take \"between\" out"),
        ),
        (Some(ends), _) => {
            for end in ends {
                if !circuit.points.iter().any(|point| point.id == *end) {
                    found.push(
                        "parts",
                        index,
                        Some("between"),
                        format!(
                            "part {id} dangles: it ends at \"{end}\", which is no point of this circuit"
                        ),
                    );
                }
            }
            if ends[0] == ends[1] {
                found.push(
                    "parts",
                    index,
                    Some("between"),
                    format!("part {id}: both ends are \"{}\"; they must differ", ends[0]),
                );
            }
        }
    }
    let (wanted, value, low, high) = match part.kind {
        PartKind::Capacitor => ("microfarad", part.microfarad, 0.001, 1e5),
        PartKind::Source => ("volt", part.volt, 0.1, 1e3),
        PartKind::Mechanism | PartKind::Diode => ("ohm", Some(1.0), 0.0, 1.0),
        _ => ("ohm", part.ohm, 1e-4, 1e7),
    };
    match value {
        None => found.push("parts", index, None, format!("part {id}: {wanted} is missing")),
        Some(value) if !(low..=high).contains(&value) => found.push(
            "parts",
            index,
            Some(wanted),
            format!("part {id}: {wanted} = {value} is outside {low} to {high}"),
        ),
        Some(_) => {}
    }
    for (key, value, high) in [
        ("tolerance_pct", part.tolerance_pct, 200.0),
        ("spec_tolerance_pct", part.spec_tolerance_pct, 50.0),
        ("insulation_megohm", part.insulation_megohm, 1e5),
    ] {
        if let Some(value) = value
            && !(value > 0.0 && value <= high)
        {
            found.push(
                "parts",
                index,
                Some(key),
                format!("part {id}: {key} = {value} must be above 0 and at most {high}"),
            );
        }
    }
    if part.insulation_megohm.is_some() && circuit.shell.is_none() {
        found.push(
            "parts",
            index,
            Some("insulation_megohm"),
            format!("part {id} has insulation, but the circuit names no shell"),
        );
    }
    modes(circuit, index, part, found);
}

fn modes(circuit: &Circuit, index: usize, part: &Part, found: &mut Found<'_>) {
    let mut seen = BTreeSet::new();
    for mode in &part.modes {
        let name = format!("part {}, mode {}", part.id, mode.id);
        let mut push = |says: String| found.push("parts", index, Some("modes"), says);
        if !seen.insert(&mode.id) {
            push(format!("{name}: given twice"));
        }
        if !(0.0001..=0.5).contains(&mode.prior) {
            push(format!("{name}: prior = {} must be 0.0001 to 0.5", mode.prior));
        }
        let needs_sizes = matches!(
            mode.effect,
            Effect::Series | Effect::Fraction | Effect::ToShell | Effect::SourceFraction
        );
        if needs_sizes && mode.sizes.is_empty() {
            push(format!("{name}: this effect needs sizes, e.g. sizes = [0.5]"));
        }
        if !needs_sizes && !mode.sizes.is_empty() {
            push(format!("{name}: this effect has no sizes; take them out"));
        }
        let range = match mode.effect {
            Effect::Fraction | Effect::SourceFraction => 0.0..=10.0,
            _ => 1e-3..=1e9,
        };
        if let Some(size) = mode.sizes.iter().find(|size| !range.contains(*size)) {
            push(format!("{name}: size {size} is outside {} to {}", range.start(), range.end()));
        }
        let suits = match mode.effect {
            Effect::Mechanical => true,
            Effect::OpenHot => part.kind == PartKind::Overload,
            Effect::StuckClosed => part.kind == PartKind::Switch,
            Effect::SourceFraction => part.kind == PartKind::Source,
            Effect::ToShell => circuit.shell.is_some() && part.between.is_some(),
            Effect::Open | Effect::Series | Effect::Fraction => {
                !matches!(part.kind, PartKind::Source | PartKind::Mechanism)
            }
        };
        if !suits {
            push(format!("{name}: effect {:?} does not suit a {:?}", mode.effect, part.kind));
        }
        if mode.passing && mode.effect != Effect::OpenHot {
            push(format!("{name}: only an overload open while hot is a passing state"));
        }
    }
}

fn connectors(circuit: &Circuit, found: &mut Found<'_>) {
    for (index, connector) in circuit.connectors.iter().enumerate() {
        if !circuit.places.iter().any(|place| place.id == connector.place) {
            found.push(
                "connectors",
                index,
                Some("place"),
                format!("connector {}: there is no place \"{}\"", connector.id, connector.place),
            );
        }
        if connector.opens.is_empty() {
            found.push(
                "connectors",
                index,
                Some("opens"),
                format!("connector {}: lifting it must open at least one part", connector.id),
            );
        }
        for opened in &connector.opens {
            if !circuit.parts.iter().any(|part| part.id == *opened) {
                found.push(
                    "connectors",
                    index,
                    Some("opens"),
                    format!("connector {}: there is no part \"{opened}\" to open", connector.id),
                );
            }
        }
    }
}

fn signs(circuit: &Circuit, found: &mut Found<'_>) {
    for (index, sign) in circuit.signs.iter().enumerate() {
        if !(0.0001..=0.9999).contains(&sign.otherwise) {
            found.push(
                "signs",
                index,
                Some("otherwise"),
                format!(
                    "sign {}: otherwise = {} must be 0.0001 to 0.9999",
                    sign.id, sign.otherwise
                ),
            );
        }
        for explains in &sign.explained_by {
            let part = circuit.parts.iter().find(|part| part.id == explains.part);
            let known = part.is_some_and(|part| {
                explains.mode.as_ref().is_none_or(|mode| part.modes.iter().any(|m| m.id == *mode))
            });
            if !known {
                found.push(
                    "signs",
                    index,
                    Some("explained_by"),
                    format!(
                        "sign {}: there is no fault \"{}{}\" to explain it",
                        sign.id,
                        explains.part,
                        explains.mode.as_ref().map(|mode| format!(".{mode}")).unwrap_or_default()
                    ),
                );
            }
            if !(0.0..=0.9999).contains(&explains.chance) {
                found.push(
                    "signs",
                    index,
                    Some("explained_by"),
                    format!("sign {}: chance = {} must be 0 to 0.9999", sign.id, explains.chance),
                );
            }
        }
    }
}
