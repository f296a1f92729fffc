//! The full condemnation trial, at the command line.
//!
//! Belongs here: arguments, progress, files. Does not belong here: the trial
//! (`blackbox::condemn_trial`).
//!
//! `condemn_trial [units=60] [others=60] [confirmed=60] [seed=1] [half=tune|report] [only=NAME] [stories=ARM]
//! [write=FOLDER]`; without `write` nothing is written. `others` is how many
//! of the units the other arms than the tool work on, `confirmed` how many confirmed calls on each
//! tuning topology the tool's shop has learned from.

use std::io::Write as _;

use blackbox::condemn_trial::{Arm, Half, Plan, run};

fn main() -> Result<(), String> {
    let mut plan = Plan {
        units: 60,
        others: usize::MAX,
        confirmed: 60,
        seed: 1,
        half: None,
        names: Vec::new(),
        arms: Arm::ALL.to_vec(),
        threads: std::thread::available_parallelism().map_or(1, usize::from),
    };
    let (mut folder, mut stories) = (None, None);
    for argument in std::env::args().skip(1) {
        let (key, value) = argument.split_once('=').ok_or("arguments are key=value")?;
        let number = || value.parse::<u64>().map_err(|error| format!("{key}: {error}"));
        match key {
            "units" => plan.units = number()? as usize,
            "others" => plan.others = number()? as usize,
            "confirmed" => plan.confirmed = number()? as usize,
            "seed" => plan.seed = number()?,
            "threads" => plan.threads = number()? as usize,
            "half" => plan.half = Some(if value == "tune" { Half::Tune } else { Half::Report }),
            "only" => plan.names.push(value.to_owned()),
            "arms" => plan.arms.retain(|arm| value.split(',').any(|word| word == arm.word())),
            "write" => folder = Some(std::path::PathBuf::from(value)),
            "stories" => stories = Arm::ALL.into_iter().find(|arm| arm.word() == value),
            _ => return Err(format!("no argument \"{key}\"")),
        }
    }
    let report = run(&plan, &|what, done, all| {
        if done == all || done % (all / 40).max(1) == 0 {
            eprintln!("{what}: {done} of {all}");
        }
    })?;
    let mut out = std::io::stdout().lock();
    let told =
        [report.table(), report.by_topology(), report.calibration(), report.aims()].join("\n");
    out.write_all(told.as_bytes()).map_err(|error| error.to_string())?;
    if let Some(arm) = stories {
        out.write_all(report.stories(arm).as_bytes()).map_err(|error| error.to_string())?;
    }
    if let Some(folder) = folder {
        let json =
            serde_json::to_string_pretty(&report.json()).map_err(|error| error.to_string())?;
        for (name, text) in [
            ("report.json", json + "\n"),
            ("calibration.svg", report.picture()),
            ("report.md", report.page("calibration.svg")),
        ] {
            std::fs::write(folder.join(name), text).map_err(|error| format!("{name}: {error}"))?;
        }
    }
    Ok(())
}
