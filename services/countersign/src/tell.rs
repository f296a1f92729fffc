//! What the binary says to whoever started it.
//!
//! Belongs here: lines on standard output, a failure with its causes on standard error. Does
//! not belong here: the log.

use std::error::Error;
use std::io::{Write as _, stderr, stdout};

use store::StoreError;

use crate::error::AppError;

/// A line on standard output.
pub(crate) fn line(text: &str) {
    // Nobody may be listening any more (`countersign … | head`); that is no failure.
    let _ = writeln!(stdout(), "{text}");
}

/// A failure with everything that caused it.
pub(crate) fn failure(error: &dyn Error) {
    let mut text = format!("countersign: {error}");
    let mut source = error.source();
    while let Some(cause) = source {
        let cause_text = cause.to_string();
        // A transparent error and its source say the same.
        if !text.ends_with(&cause_text) {
            text.push_str(": ");
            text.push_str(&cause_text);
        }
        source = cause.source();
    }
    let _ = writeln!(stderr(), "{text}");
}

/// What the store refuses of what was given, each value with what would be right.
pub(crate) fn refused(error: StoreError) -> AppError {
    match error {
        StoreError::InvalidMany(faults) => {
            let told = faults.iter().map(|fault| {
                let name = fault.pointer.trim_start_matches('/').replace('_', "-");
                format!("  {name}: {}", fault.says)
            });
            let told: Vec<String> = told.collect();
            AppError::Says(format!("this cannot be taken as it is:\n{}", told.join("\n")))
        }
        StoreError::NotFound { what } => AppError::Says(format!("there is no {what}")),
        other => other.into(),
    }
}
