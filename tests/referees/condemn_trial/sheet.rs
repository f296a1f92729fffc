//! Circuit files written by code: the trial's own topologies share their habits, not their text.
//!
//! Belongs here: turning parts into the text of a circuit file. Does not belong here: which
//! topologies there are ([`super::topologies`]).
//!
//! Values and priors here are common practice, no source: the trial moves both before a unit is
//! drawn, so what is written is what the engine believes, not what is true.

use std::fmt::Write as _;

/// A circuit file being written.
pub(super) struct Sheet {
    name: String,
    head: String,
    places: String,
    points: String,
    components: String,
    parts: String,
    rest: String,
    shell: &'static str,
    place_names: Vec<&'static str>,
    points_at: Vec<usize>,
    /// Components that own leads.
    wiring: Vec<String>,
}

impl Sheet {
    /// An empty sheet; `shell` is the bare metal.
    pub(super) fn new(name: &str, title: &str, shell: &'static str) -> Self {
        Sheet {
            name: name.to_owned(),
            head: format!(
                "format = 1\nname = \"{name}\"\ntitle = \"{title}\"\nabout = \"Of the trial's own making.\"\nshell = \"{shell}\"\nnothing_wrong = 0.2\n"
            ),
            places: String::new(),
            points: String::new(),
            components: String::new(),
            parts: String::new(),
            rest: String::new(),
            shell,
            place_names: Vec::new(),
            points_at: Vec::new(),
            wiring: Vec::new(),
        }
    }

    fn add(text: &mut String, line: std::fmt::Arguments<'_>) {
        text.write_fmt(line).expect("a string takes text");
    }

    /// Where work is done; the first is where a technician begins.
    pub(super) fn place(&mut self, id: &'static str, minutes: f64, cautions: &[&str]) {
        let cautions: Vec<String> = cautions.iter().map(|word| format!("\"{word}\"")).collect();
        Self::add(
            &mut self.places,
            format_args!(
                "[[places]]\nid = \"{id}\"\nlabel = \"{}\"\nminutes = {minutes}\ncautions = [{}]\n",
                id.replace('_', " "),
                cautions.join(", ")
            ),
        );
        self.place_names.push(id);
        self.points_at.push(0);
    }

    /// Points of a place, each behind the connectors that must be off to touch it.
    pub(super) fn points(&mut self, place: &str, needs: &[&str], ids: &[&str]) {
        let column = self.place_names.iter().position(|known| *known == place).unwrap_or(0);
        let needs: Vec<String> = needs.iter().map(|word| format!("\"{word}\"")).collect();
        for id in ids {
            let row = self.points_at[column];
            self.points_at[column] += 1;
            Self::add(
                &mut self.points,
                format_args!(
                    "[[points]]\nid = \"{id}\"\nlabel = \"point {id}\"\nplace = \"{place}\"\nneeds_lifted = [{}]\nat = [{}, {}]\n",
                    needs.join(", "),
                    column * 6,
                    row * 2
                ),
            );
        }
        if !self.points.contains(&format!("id = \"{}\"", self.shell)) {
            let (shell, first) = (self.shell, self.place_names[0]);
            Self::add(
                &mut self.points,
                format_args!(
                    "[[points]]\nid = \"{shell}\"\nlabel = \"bare metal\"\nplace = \"{first}\"\nat = [0, 60]\n"
                ),
            );
        }
    }

    /// A joint that no probe reaches.
    pub(super) fn hidden(&mut self, id: &str) {
        Self::add(
            &mut self.points,
            format_args!("[[points]]\nid = \"{id}\"\nlabel = \"inside {id}\"\nat = [30, 5]\n"),
        );
    }

    /// What is bought as one piece.
    pub(super) fn component(&mut self, id: &str, major: bool) {
        Self::add(
            &mut self.components,
            format_args!(
                "[[components]]\nid = \"{id}\"\nlabel = \"{}\"\nmajor = {major}\n",
                id.replace('_', " ")
            ),
        );
    }

    fn part(&mut self, id: &str, component: &str, kind: &str, fields: &str, modes: &[&str]) {
        Self::add(
            &mut self.parts,
            format_args!(
                "[[parts]]\nid = \"{id}\"\nlabel = \"{}\"\ncomponent = \"{component}\"\nkind = \"{kind}\"\n{fields}modes = [\n  {},\n]\n",
                id.replace('_', " "),
                modes.join(",\n  ")
            ),
        );
    }

    /// A conductor that can break, burn or chafe.
    pub(super) fn lead(&mut self, id: &str, component: &str, ends: [&str; 2], ohm: f64) {
        if !self.wiring.iter().any(|known| known == component) {
            self.wiring.push(component.to_owned());
        }
        self.part(
            id,
            component,
            "lead",
            &format!(
                "between = [\"{}\", \"{}\"]\nohm = {ohm}\ninsulation_megohm = 2000\ncopper = true\n",
                ends[0], ends[1]
            ),
            &[
                &mode("open", "open", 0.018, &[]),
                &mode("resistive", "series", 0.01, &[1.0, 10.0, 300.0]),
                &mode("grounded", "to_shell", 0.005, &[1.0, 1e3, 3e4, 6e5]),
            ],
        );
    }

    /// One contact of a plug, a tab or a terminal screw.
    pub(super) fn contact(&mut self, id: &str, component: &str, ends: [&str; 2]) {
        self.part(
            id,
            component,
            "contact",
            &format!("between = [\"{}\", \"{}\"]\nohm = 0.008\n", ends[0], ends[1]),
            &[
                &mode("open", "open", 0.012, &[]),
                &mode("resistive", "series", 0.01, &[1.0, 10.0, 300.0]),
            ],
        );
    }

    /// A winding; `alike` names the group of windings that are made alike.
    pub(super) fn winding(
        &mut self,
        id: &str,
        component: &str,
        ends: [&str; 2],
        ohm: f64,
        alike: Option<&str>,
    ) {
        let alike = alike.map_or(String::new(), |word| format!("alike = \"{word}\"\n"));
        self.part(
            id,
            component,
            "winding",
            &format!(
                "between = [\"{}\", \"{}\"]\nohm = {ohm}\ntolerance_pct = 60\nspec_tolerance_pct = 6\n{alike}insulation_megohm = 600\ncopper = true\n",
                ends[0], ends[1]
            ),
            &[
                &mode("open", "open", 0.03, &[]),
                &mode("shorted", "fraction", 0.01, &[0.8, 0.55, 0.2]),
                &mode("grounded", "to_shell", 0.012, &[1.0, 1e3, 3e4, 6e5]),
            ],
        );
    }

    /// A coil, a heating element or anything else with a resistance of its own.
    pub(super) fn load(
        &mut self,
        id: &str,
        component: &str,
        kind: &str,
        ends: [&str; 2],
        ohm: f64,
        open_prior: f64,
    ) {
        self.part(
            id,
            component,
            kind,
            &format!(
                "between = [\"{}\", \"{}\"]\nohm = {ohm}\ntolerance_pct = 40\nspec_tolerance_pct = 8\ninsulation_megohm = 800\n",
                ends[0], ends[1]
            ),
            &[
                &mode("open", "open", open_prior, &[]),
                &mode("shorted", "fraction", 0.008, &[0.5, 0.1]),
                &mode("grounded", "to_shell", 0.006, &[1.0, 1e3, 3e4, 6e5]),
            ],
        );
    }

    /// A switch or fuse that is closed when all is well.
    pub(super) fn closed(
        &mut self,
        id: &str,
        component: &str,
        kind: &str,
        ends: [&str; 2],
        open_prior: f64,
    ) {
        self.part(
            id,
            component,
            kind,
            &format!("between = [\"{}\", \"{}\"]\nohm = 0.02\n", ends[0], ends[1]),
            &[
                &mode("open", "open", open_prior, &[]),
                &mode("resistive", "series", 0.006, &[2.0, 50.0]),
            ],
        );
    }

    /// A motor's own protector.
    pub(super) fn overload(&mut self, id: &str, component: &str, ends: [&str; 2]) {
        self.part(
            id,
            component,
            "overload",
            &format!("between = [\"{}\", \"{}\"]\nohm = 0.01\n", ends[0], ends[1]),
            &[
                &mode("stuck_open", "open", 0.018, &[]),
                "{ id = \"hot\", label = \"open because it is hot\", effect = \"open_hot\", prior = 0.08, passing = true }",
            ],
        );
    }

    /// A capacitor section.
    pub(super) fn capacitor(&mut self, id: &str, component: &str, ends: [&str; 2], uf: f64) {
        self.part(
            id,
            component,
            "capacitor",
            &format!(
                "between = [\"{}\", \"{}\"]\nmicrofarad = {uf}\ntolerance_pct = 6\nspec_tolerance_pct = 6\n",
                ends[0], ends[1]
            ),
            &[
                &mode("weak", "fraction", 0.09, &[0.85, 0.65, 0.4, 0.2]),
                &mode("open", "fraction", 0.025, &[0.0]),
                &mode("shorted", "series", 0.005, &[0.5]),
            ],
        );
    }

    /// A supply between two points.
    pub(super) fn source(&mut self, id: &str, component: &str, ends: [&str; 2], volt: f64) {
        self.phase(id, component, ends, volt, 0);
    }

    /// One phase of a supply, so many degrees after the first.
    pub(super) fn phase(
        &mut self,
        id: &str,
        component: &str,
        ends: [&str; 2],
        volt: f64,
        phase_deg: i32,
    ) {
        self.part(
            id,
            component,
            "source",
            &format!(
                "between = [\"{}\", \"{}\"]\nvolt = {volt}\nphase_deg = {phase_deg}\ntolerance_pct = 10\n",
                ends[0], ends[1]
            ),
            &[
                &mode("low", "source_fraction", 0.015, &[0.85, 0.7]),
                &mode("missing", "source_fraction", 0.02, &[0.0]),
            ],
        );
    }

    /// A mechanism with no electrical path.
    pub(super) fn mechanism(&mut self, id: &str, component: &str, mode_id: &str, prior: f64) {
        self.part(id, component, "mechanism", "", &[&mode(mode_id, "mechanical", prior, &[])]);
    }

    /// Contacts that burn away: no reading with power off goes through them, a look does.
    pub(super) fn burning_contacts(&mut self, id: &str, component: &str, prior: f64) {
        self.mechanism(id, component, "burnt", prior);
        self.sign(&format!("{id}_look_burnt"), 2.0, &[(id, "burnt", 0.9)]);
    }

    /// What can be lifted.
    pub(super) fn connector(&mut self, id: &str, place: &str, minutes: f64, opens: &[&str]) {
        let opens: Vec<String> = opens.iter().map(|word| format!("\"{word}\"")).collect();
        Self::add(
            &mut self.rest,
            format_args!(
                "[[connectors]]\nid = \"{id}\"\nlabel = \"{}\"\nplace = \"{place}\"\nminutes = {minutes}\nopens = [{}]\n",
                id.replace('_', " "),
                opens.join(", ")
            ),
        );
    }

    /// A sign and what explains it.
    pub(super) fn sign(&mut self, id: &str, minutes: f64, by: &[(&str, &str, f64)]) {
        let by: Vec<String> = by
            .iter()
            .map(|(part, mode, chance)| {
                let mode =
                    if mode.is_empty() { String::new() } else { format!("mode = \"{mode}\", ") };
                format!("{{ part = \"{part}\", {mode}chance = {chance} }}")
            })
            .collect();
        Self::add(
            &mut self.rest,
            format_args!(
                "[[signs]]\nid = \"{id}\"\nasks = \"{}?\"\nminutes = {minutes}\notherwise = 0.03\nexplained_by = [{}]\n",
                id.replace('_', " "),
                by.join(", ")
            ),
        );
    }

    /// The question about labels that the winding sum may ask.
    pub(super) fn labels_sign(&mut self) {
        self.rest.push_str(
            "[[signs]]\nid = \"labels_confirmed\"\nasks = \"Labels confirmed?\"\nminutes = 1\notherwise = 0.5\n",
        );
    }

    /// A check in the file's own words.
    pub(super) fn check(&mut self, fields: &str) {
        Self::add(&mut self.rest, format_args!("[[checks]]\n{fields}\n"));
    }

    /// The three checks of a single-phase motor at its pins.
    pub(super) fn motor_checks(&mut self, pins: [&str; 3], lifted: &str, rest_min: f64) {
        let [common, start, run] = pins;
        self.labels_sign();
        self.check(&format!(
            "kind = \"winding_sum\"\ncommon = \"{common}\"\nstart = \"{start}\"\nrun = \"{run}\"\nlabels_sign = \"labels_confirmed\""
        ));
        self.check(&format!(
            "kind = \"overload_cooling\"\ncommon = \"{common}\"\nstart = \"{start}\"\nrun = \"{run}\"\ncool_c = 45\nrest_min = {rest_min}"
        ));
        self.ground_check(&[common, start, run], lifted);
    }

    /// Insulation of pins to the shell with a connector off.
    pub(super) fn ground_check(&mut self, pins: &[&str], lifted: &str) {
        let pins: Vec<String> = pins.iter().map(|pin| format!("\"{pin}\"")).collect();
        let shell = self.shell;
        self.check(&format!(
            "kind = \"ground\"\npins = [{}]\nshell = \"{shell}\"\nlifted = \"{lifted}\"\nfault_below_megohm = 2",
            pins.join(", ")
        ));
    }

    /// The circuit's name and the whole text.
    pub(super) fn written(mut self) -> (String, String) {
        self.rest.push_str(
            "[[signs]]\nid = \"wires_as_drawn\"\nasks = \"Are the wires as drawn?\"\nminutes = 3\notherwise = 0.95\n",
        );
        let before = format!("{:?}", self.wiring);
        self.check(&format!(
            "kind = \"wires_as_drawn\"\nbefore = {before}\nsign = \"wires_as_drawn\""
        ));
        let text = [self.head, self.places, self.points, self.components, self.parts, self.rest]
            .join("\n");
        (self.name, text)
    }
}

fn mode(id: &str, effect: &str, prior: f64, sizes: &[f64]) -> String {
    let label = id.replace('_', " ");
    let sizes = if sizes.is_empty() { String::new() } else { format!(", sizes = {sizes:?}") };
    format!(
        "{{ id = \"{id}\", label = \"{label}\", effect = \"{effect}\", prior = {prior}{sizes} }}"
    )
}
