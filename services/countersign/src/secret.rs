//! A password, from wherever nobody else on the machine can read it.
//!
//! Belongs here: a file, the environment, or a question on the terminal. Does not belong here:
//! what a password must look like (the store's).

use std::io::{IsTerminal as _, stdin};
use std::path::PathBuf;

use crate::error::AppError;

/// Where the password may be.
const PASSWORD_VARIABLE: &str = "COUNTERSIGN_PASSWORD";

/// Where the password is.
#[derive(clap::Args)]
#[group(skip)]
pub(crate) struct Secret {
    /// A file with the password. Where not given, COUNTERSIGN_PASSWORD, or it is asked for;
    /// never an argument, which everybody on the machine can read.
    #[arg(long, value_name = "FILE")]
    password_file: Option<PathBuf>,
}

impl Secret {
    /// One that is known already.
    pub(crate) fn known(&self) -> Result<String, AppError> {
        match self.given()? {
            Some(text) => Ok(text),
            None => asked("Password: "),
        }
    }

    /// A new one; on a terminal it is asked for twice, since nobody sees what they type.
    pub(crate) fn chosen(&self) -> Result<String, AppError> {
        if let Some(text) = self.given()? {
            return Ok(text);
        }
        let text = asked("New password: ")?;
        if asked("The same again: ")? == text {
            return Ok(text);
        }
        Err(AppError::Says("The two were not the same; nothing was changed.".to_owned()))
    }

    fn given(&self) -> Result<Option<String>, AppError> {
        let text = match (&self.password_file, std::env::var(PASSWORD_VARIABLE).ok()) {
            (Some(file), _) => std::fs::read_to_string(file).map_err(|source| AppError::Io {
                doing: format!("reading the password from {}", file.display()),
                source,
            })?,
            (None, Some(text)) => text,
            (None, None) => return Ok(None),
        };
        Ok(Some(text.trim_end_matches(['\r', '\n']).to_owned()))
    }
}

fn asked(question: &str) -> Result<String, AppError> {
    if !stdin().is_terminal() {
        let says = "There is no terminal to ask for the password on. Give --password-file or set \
                    COUNTERSIGN_PASSWORD.";
        return Err(AppError::Says(says.to_owned()));
    }
    rpassword::prompt_password(question)
        .map_err(|source| AppError::Io { doing: "asking for the password".to_owned(), source })
}
