//! Finding PostgreSQL's programs on this machine.
//!
//! Belongs here: where they may be and which to take. Does not belong here: running them.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::unavailable;
use crate::error::StoreError;

/// Where Debian and its relatives put each version's programs.
const DEBIAN_FOLDER: &str = "/usr/lib/postgresql";

/// Where a build from source puts them.
const SOURCE_FOLDER: &str = "/usr/local/pgsql/bin";

/// The oldest version that the schema works on; older ones are passed over.
const VERSION_MIN: u32 = 14;

/// One version's programs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Binaries {
    folder: PathBuf,
    version_major: u32,
}

impl Binaries {
    /// The newest, or, where there is data already, those of the version that made it.
    pub(super) fn find(version_of_data: Option<u32>) -> Result<Self, StoreError> {
        let found: Vec<_> =
            candidates().into_iter().filter_map(|folder| Self::at(&folder)).collect();
        choose(found, version_of_data)
    }

    /// The programs in a folder, if they are all there.
    fn at(folder: &Path) -> Option<Self> {
        let complete = ["postgres", "initdb"].iter().all(|name| folder.join(name).is_file());
        if !complete {
            return None;
        }
        let output = Command::new(folder.join("postgres")).arg("--version").output().ok()?;
        let version_major = version_of(&String::from_utf8_lossy(&output.stdout))?;
        Some(Binaries { folder: folder.to_owned(), version_major })
    }

    /// The path of one program.
    pub(super) fn program(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }
}

fn choose(found: Vec<Binaries>, version_of_data: Option<u32>) -> Result<Binaries, StoreError> {
    if let Some(version) = version_of_data {
        return found.into_iter().find(|binaries| binaries.version_major == version).ok_or_else(
            || {
                unavailable(format!(
                    "the data was made by PostgreSQL {version}, which is not on this machine. \
                     Install the package postgresql-{version} (apt-get install \
                     postgresql-{version}), or move the data folder away to start afresh"
                ))
            },
        );
    }
    found
        .into_iter()
        .filter(|binaries| binaries.version_major >= VERSION_MIN)
        .max_by_key(|binaries| binaries.version_major)
        .ok_or_else(|| {
            unavailable(format!(
                "PostgreSQL {VERSION_MIN} or newer is not on this machine. Install Debian's \
                 package postgresql (apt-get install postgresql), or set DATABASE_URL to a server \
                 that you run"
            ))
        })
}

fn candidates() -> Vec<PathBuf> {
    let on_path = env::var_os("PATH").map(|path| env::split_paths(&path).collect::<Vec<_>>());
    let debian = fs::read_dir(DEBIAN_FOLDER).into_iter().flatten().flatten();
    on_path
        .into_iter()
        .flatten()
        .chain(debian.map(|entry| entry.path().join("bin")))
        .chain([PathBuf::from(SOURCE_FOLDER)])
        .collect()
}

/// The major version in "postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)".
fn version_of(text: &str) -> Option<u32> {
    let number = text.split_once("(PostgreSQL) ")?.1;
    number.split(|char: char| !char.is_ascii_digit()).next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn binaries(version_major: u32) -> Binaries {
        Binaries { folder: PathBuf::from(format!("/pg/{version_major}")), version_major }
    }

    #[test]
    fn the_newest_is_taken_unless_there_is_data() {
        let found = vec![binaries(15), binaries(17), binaries(16)];

        assert_eq!(choose(found.clone(), None).unwrap(), binaries(17));
        assert_eq!(choose(found, Some(15)).unwrap(), binaries(15));
    }

    #[test]
    fn what_to_install_is_named() {
        let nothing = choose(vec![binaries(9)], None).unwrap_err();
        let other = choose(vec![binaries(17)], Some(15)).unwrap_err();

        let cause = |error: StoreError| std::error::Error::source(&error).unwrap().to_string();
        assert!(cause(nothing).contains("apt-get install postgresql"));
        assert!(cause(other).contains("postgresql-15"));
    }

    #[test]
    fn versions_are_read() {
        assert_eq!(version_of("postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)"), Some(15));
        assert_eq!(version_of("postgres (PostgreSQL) 18beta1"), Some(18));
        assert_eq!(version_of("sh: not found"), None);
    }
}
