//! Circuits as data.
//!
//! Belongs here: the shapes of a circuit file. Does not belong here: reading the file
//! ([`crate::circuit_file`]) or predicting what a meter shows on it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The only version of the circuit format that this engine reads.
pub const CIRCUIT_FORMAT: u32 = 1;

/// One electrical model of a kind of unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// Version of this format; 1.
    pub format: u32,
    /// The identifier, e.g. "compressor-1ph-plug".
    pub name: String,
    /// A line for people.
    pub title: String,
    /// What the newcomer should know before using it.
    pub about: String,
    /// The point that stands for the metal shell and chassis, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shell: Option<String>,
    /// How often nothing in this circuit is wrong on a call where it is looked at, 0.01 to
    /// 0.9. Where absent it follows from the faults' own priors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nothing_wrong: Option<f64>,
    /// Frequency of the supply, hertz: 50 or 60; 60 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hertz: Option<f64>,
    /// The conditions in which it can be read under power. The first is the one meant where
    /// a reading names none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub states: Vec<State>,
    /// Where work is done, and what it costs to open.
    pub places: Vec<Place>,
    /// Where a probe can touch, and the hidden joints.
    pub points: Vec<Point>,
    /// What is bought and replaced as one piece.
    pub components: Vec<Component>,
    /// What can fail.
    pub parts: Vec<Part>,
    /// What can be lifted.
    #[serde(default)]
    pub connectors: Vec<Connector>,
    /// What can be seen, heard, smelt or established.
    #[serde(default)]
    pub signs: Vec<Sign>,
    /// Checks that stand beside the model.
    #[serde(default)]
    pub checks: Vec<CheckSpec>,
}

/// Where work is done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Identifier.
    pub id: String,
    /// For people: "electrical panel".
    pub label: String,
    /// Minutes to open and make safe.
    pub minutes: f64,
    /// What can hurt there.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// What can hurt someone; the words are [`Caution::says`].
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// Live voltage within reach.
    LiveVoltage,
    /// A capacitor may hold its charge.
    StoredCharge,
    /// A fan or belt may start.
    MovingParts,
    /// The shell or the discharge line burns.
    HotSurface,
    /// Terminals under refrigerant pressure: they can be blown out.
    TerminalBlowout,
    /// Flammable refrigerant may be present.
    FlammableRefrigerant,
    /// Fuel gas and products of combustion.
    Combustion,
    /// Work at height.
    Height,
}

impl Caution {
    /// The caution as shown to the technician. It never replaces local code or licensed
    /// practice, and says so where that matters.
    pub fn says(self) -> &'static str {
        match self {
            Caution::LiveVoltage => {
                "Live voltage: disconnect, lock out, and prove dead before touching. Follow local code and your licence."
            }
            Caution::StoredCharge => {
                "A capacitor may hold its charge: discharge it through a resistor and prove it before touching."
            }
            Caution::MovingParts => {
                "A fan can start without warning: disconnect and lock out first."
            }
            Caution::HotSurface => {
                "The shell and discharge line can burn: let them cool or wear gloves."
            }
            Caution::TerminalBlowout => {
                "Terminals are under pressure and can blow out: never energise or lever on them with the cover off."
            }
            Caution::FlammableRefrigerant => {
                "Flammable refrigerant possible: no sparks, ventilate, check with a leak detector first."
            }
            Caution::Combustion => {
                "Fuel gas and carbon monoxide possible: shut down, ventilate, follow local gas code."
            }
            Caution::Height => "Work at height: secure yourself and your tools.",
        }
    }
}

/// A point where a probe can touch, or a hidden joint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// Identifier, as readings use it.
    pub id: String,
    /// For people: "compressor pin C".
    pub label: String,
    /// Where it is; a hidden joint has none and cannot be probed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Connectors that must be lifted before a probe reaches it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub needs_lifted: Vec<String>,
    /// Where it is drawn, in units of one grid square.
    pub at: [f64; 2],
}

/// What is bought and replaced as one piece.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Component {
    /// Identifier, as claims use it.
    pub id: String,
    /// For people: "compressor".
    pub label: String,
    /// A costly replacement that needs a condemn request.
    #[serde(default)]
    pub major: bool,
    /// What a second reader must be qualified for, e.g. "sealed_system".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub qualification: Option<String>,
}

/// What a part is; this decides how it is drawn and predicted.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    /// A motor winding.
    Winding,
    /// A conductor between two points.
    Lead,
    /// One mating contact of a plug or terminal.
    Contact,
    /// A motor's own thermal protector: opens when hot.
    Overload,
    /// A capacitor: blocks after charging.
    Capacitor,
    /// A relay, contactor or valve coil.
    Coil,
    /// A switch or contact pair that is closed as drawn.
    Switch,
    /// A heating element.
    Heater,
    /// A fuse.
    Fuse,
    /// The supply between two points.
    Source,
    /// A diode, or a switching transistor's own diode: conducts from the first of its two
    /// points to the second.
    Diode,
    /// A mechanism with no electrical path of its own (bearing, valves).
    Mechanism,
}

/// Where a switch rests with power off and nothing commanded.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Rest {
    /// Normally open.
    Open,
    /// Normally closed.
    Closed,
}

/// What a part presents to alternating current at the circuit's frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Impedance {
    /// In phase, ohm, above 0.
    pub ohm: f64,
    /// In quadrature, ohm; positive where it is inductive.
    #[serde(default)]
    pub reactance_ohm: f64,
}

/// A condition in which the circuit is energised: what is on, what is commanded, what turns.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct State {
    /// Identifier, as readings use it.
    pub id: String,
    /// For people: "calling for cooling, compressor not turning".
    pub label: String,
    /// The sources that are on. A source fed by another part follows it by itself.
    pub energised: Vec<String>,
    /// Switches commanded to close.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub closed: Vec<String>,
    /// Switches commanded to open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub opened: Vec<String>,
    /// Parts of motors that turn: they present their `turning` impedance.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub turning: Vec<String>,
    /// Minutes to bring it about and leave it safe again.
    #[serde(default)]
    pub minutes: f64,
}

/// Anything in the circuit that can fail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Identifier.
    pub id: String,
    /// For people: "run winding".
    pub label: String,
    /// The component it is replaced with.
    pub component: String,
    /// What it is.
    pub kind: PartKind,
    /// The two points it joins; a mechanism has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[String; 2]>,
    /// Nominal resistance at 25 °C, ohm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Nominal capacitance, microfarad.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub microfarad: Option<f64>,
    /// Nominal voltage of a source, volt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volt: Option<f64>,
    /// Limits of the good value, ± percent (two standard deviations); of the family where the unit's own is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance_pct: Option<f64>,
    /// The same once the unit's own value is given, ± percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spec_tolerance_pct: Option<f64>,
    /// Parts with the same word here are alike by construction: one unknown value serves
    /// them all until the unit's own is given (the three windings of a three-phase motor).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alike: Option<String>,
    /// Good insulation to the shell, megohm, where it has any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insulation_megohm: Option<f64>,
    /// Semiconductors that an insulation tester's volts would kill: no such test is proposed on
    /// what hangs together with them. A diode always is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub electronic: bool,
    /// Copper follows temperature (windings, leads).
    #[serde(default)]
    pub copper: bool,
    /// Words that are facts of the unit: wire insulation colour, gauge, run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Where a switch rests; closed where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub normally: Option<Rest>,
    /// A switch that another part works (a coil, an inducer that proves its pressure
    /// switch): it leaves its rest while that part has [`Part::pull_in_volt`] across it and
    /// is not itself mechanically faulty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub driven_by: Option<String>,
    /// Volts across `driven_by` from which the switch moves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull_in_volt: Option<f64>,
    /// A source that follows another part (a transformer's secondary its primary, a DC link
    /// its rectifier): its volts are nominal times that part's volts over [`Part::at_volt`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fed_by: Option<String>,
    /// Volts across `fed_by` at which a source gives its nominal volts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_volt: Option<f64>,
    /// Internal resistance of a source, ohm; 0.05 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source_ohm: Option<f64>,
    /// Phase of a source against the others, degrees; 0 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phase_deg: Option<f64>,
    /// Under power and not turning (a locked motor, a coil); its direct resistance where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub still: Option<Impedance>,
    /// Under power and turning, where a state says that it turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turning: Option<Impedance>,
    /// Forward drop of a diode on a meter's diode test, volt.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop_volt: Option<f64>,
    /// Corners of the drawn line between its points. The symbol sits on the longest straight piece
    /// that no other part's line runs along.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub via: Vec<[f64; 2]>,
    /// How it can fail.
    #[serde(default)]
    pub modes: Vec<Mode>,
}

/// One way for a part to fail.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mode {
    /// Identifier within the part: "open", "shorted", "grounded".
    pub id: String,
    /// For people: "open".
    pub label: String,
    /// What it does to the circuit.
    pub effect: Effect,
    /// Probability, before any reading, that a job of this kind has it: 0.0001 to 0.5.
    pub prior: f64,
    /// Sizes the fault may have, each equally likely; their meaning is the effect's.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sizes: Vec<f64>,
    /// True of a passing state that condemns nothing (an overload open while hot).
    #[serde(default)]
    pub passing: bool,
}

/// What a fault does.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// No path left.
    Open,
    /// Added resistance in series, ohm, one of `sizes`.
    Series,
    /// Resistance (or capacitance) becomes this fraction of nominal, one of `sizes`.
    Fraction,
    /// A path of this many ohm to the shell, one of `sizes`.
    ToShell,
    /// A source's volts become this fraction of nominal, one of `sizes`.
    SourceFraction,
    /// A thermal protector open because it is hot.
    OpenHot,
    /// A switch that conducts whatever is commanded (welded, stuck).
    StuckClosed,
    /// Nothing a meter sees; signs only.
    Mechanical,
}

/// A plug, a terminal or a lead end that can be lifted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Connector {
    /// Identifier, as `lifted` uses it.
    pub id: String,
    /// For people: "compressor plug".
    pub label: String,
    /// Where it is lifted.
    pub place: String,
    /// Minutes to lift and put back, once the place is open.
    pub minutes: f64,
    /// The parts it takes out of the circuit when lifted.
    pub opens: Vec<String>,
}

/// Something that can be seen, heard, smelt or established.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sign {
    /// Identifier, as observations use it.
    pub id: String,
    /// As a question: "Does the motor hum without starting?"
    pub asks: String,
    /// Minutes to find out.
    #[serde(default)]
    pub minutes: f64,
    /// What can hurt while finding out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<Caution>,
    /// Probability of the sign when nothing that explains it is present.
    pub otherwise: f64,
    /// What explains it, with the probability of the sign given that fault.
    #[serde(default)]
    pub explained_by: Vec<Explains>,
}

/// A fault that explains a sign.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Explains {
    /// The part.
    pub part: String,
    /// Its mode; every mode where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<String>,
    /// Probability of the sign given that fault.
    pub chance: f64,
}

/// A check that stands beside the model, with its points named.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum CheckSpec {
    /// R(S-R) = R(C-S) + R(C-R) at the pins, and the question about labels.
    WindingSum {
        /// Common pin.
        common: String,
        /// Start pin.
        start: String,
        /// Run pin.
        run: String,
        /// The sign that says the labels were confirmed.
        labels_sign: String,
    },
    /// Common open with start to run good: the internal overload; asks temperature and time.
    OverloadCooling {
        /// Common pin.
        common: String,
        /// Start pin.
        start: String,
        /// Run pin.
        run: String,
        /// Shell temperature at or below which the overload must have reset, °C.
        cool_c: f64,
        /// Minutes of rest after which the overload must have reset.
        rest_min: f64,
    },
    /// Insulation to the shell, connector off, by insulation tester.
    Ground {
        /// The pins.
        pins: Vec<String>,
        /// The shell point.
        shell: String,
        /// The connector that must be lifted.
        lifted: String,
        /// Below this is a ground fault, megohm.
        fault_below_megohm: f64,
        /// Components that are not condemned before these pins were read: a ground here would
        /// kill their replacement.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        before: Vec<String>,
    },
    /// Winding balance of three phases.
    WindingBalance {
        /// The three pins.
        pins: [String; 3],
        /// Fail above this percentage.
        max_pct: f64,
    },
    /// Voltage unbalance of the supply.
    VoltageUnbalance {
        /// The three supply points.
        points: [String; 3],
        /// Derate above this percentage.
        derate_pct: f64,
        /// Never above this percentage.
        never_pct: f64,
    },
    /// A capacitor under load: microfarads from its amps and volts, against its label.
    CapacitorUnderLoad {
        /// The capacitor part.
        part: String,
        /// Its two points, for volts.
        points: [String; 2],
        /// The two ends of the lead that carries its current, for amps.
        amps_through: [String; 2],
        /// Label tolerance, percent.
        tolerance_pct: f64,
    },
    /// Volts lost across a closed contact or a joint that carries current.
    ContactDrop {
        /// The two points.
        points: [String; 2],
        /// Most volts that a good one loses.
        max_volt: f64,
    },
    /// What a link still holds with the supply off: before anything else is read or touched.
    StoredCharge {
        /// The link's two ends.
        points: [String; 2],
        /// At or below this it counts as discharged, volt.
        safe_volt: f64,
    },
    /// Before a mechanism is condemned the volts are read on which it was tried.
    SupplyFirst {
        /// The pairs of points at the motor's own end of the supply.
        pairs: Vec<[String; 2]>,
        /// The state in which it tries to start.
        state: String,
        /// The source whose nominal volts it is rated for.
        part: String,
        /// Volts of a pair over that source's own, where they differ: √3 between legs of a star.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        times: Option<f64>,
        /// Least percent of nominal.
        min_pct: f64,
        /// Most percent of nominal.
        max_pct: f64,
        /// Components that are not condemned for a mechanism before.
        before: Vec<String>,
    },
    /// Before wiring is condemned somebody looks whether its wires sit where the drawing has them:
    /// two that changed places read like a break.
    WiresAsDrawn {
        /// Components of wiring that are not condemned before.
        before: Vec<String>,
        /// The sign that says they do.
        sign: String,
    },
    /// A capacitor section against its label.
    CapacitorLabel {
        /// The capacitor part.
        part: String,
        /// Its two points.
        points: [String; 2],
        /// Label tolerance, percent.
        tolerance_pct: f64,
    },
}
