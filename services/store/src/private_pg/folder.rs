//! The folder with the private server's files.
//!
//! Belongs here: who owns it, whether that account can reach it, the password file, what a
//! former server left behind. Does not belong here: starting anything.

use std::fs;
use std::io::{self, Write as _};
use std::os::unix::fs::{
    DirBuilderExt as _, MetadataExt as _, OpenOptionsExt as _, PermissionsExt as _,
};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use nix::unistd::{Gid, Uid, User, chown};

use super::unavailable;
use crate::error::StoreError;
use crate::text::sha256_hex;

/// The accounts that a server started by root is handed to, best first.
const ACCOUNTS: [&str; 2] = ["postgres", "nobody"];

/// Where the data goes when the account cannot reach the folder asked for.
const FALLBACK_FOLDER: &str = "/var/lib";

/// How long a former server, still stopping, is waited for; after that it is somebody else's.
const FORMER_WAIT_MS: u64 = 10_000;

/// How often it is looked at meanwhile.
const FORMER_POLL_MS: u64 = 50;

/// The account that the server runs as, where that is not ours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Account {
    pub(super) uid: u32,
    pub(super) gid: u32,
}

/// The account to hand the server to; none unless we are root.
pub(super) fn account() -> Result<Option<Account>, StoreError> {
    if !Uid::effective().is_root() {
        return Ok(None);
    }
    ACCOUNTS
        .iter()
        .find_map(|name| User::from_name(name).ok().flatten())
        .map(|user| Some(Account { uid: user.uid.as_raw(), gid: user.gid.as_raw() }))
        .ok_or_else(|| {
            unavailable(
                "PostgreSQL does not run as root, and this machine has neither an account \
                 `postgres` nor `nobody` to hand it to. Install the package postgresql, or run \
                 this as another user"
                    .to_owned(),
            )
        })
}

/// A folder that the server's account owns and can reach.
#[derive(Debug)]
pub(super) struct Folder {
    path: PathBuf,
    account: Option<Account>,
    moved_because: Option<String>,
}

impl Folder {
    /// Makes the folder, or finds it again; elsewhere where the account cannot reach it.
    pub(super) fn prepare(wanted: &Path, account: Option<Account>) -> Result<Self, StoreError> {
        let wanted = std::path::absolute(wanted).map_err(|error| cannot("find", wanted, &error))?;
        let Some(account) = account else {
            make(&wanted).map_err(|error| cannot("make", &wanted, &error))?;
            return Ok(Folder { path: wanted, account: None, moved_because: None });
        };
        let obstacle = obstacle_on_the_way(&wanted, account);
        let (path, moved_because) = match obstacle {
            None => (wanted, None),
            Some(obstacle) => {
                // The same folder asked for leads to the same other one, so that the next
                // start finds the data again.
                let name = format!("countersign-{}", &sha256_hex(&wanted.to_string_lossy())[..12]);
                let because = format!(
                    "PostgreSQL does not run as root, and the account it is handed to may not \
                     enter {}",
                    obstacle.display()
                );
                (Path::new(FALLBACK_FOLDER).join(name), Some(because))
            }
        };
        make(&path).map_err(|error| cannot("make", &path, &error))?;
        chown(&path, Some(Uid::from_raw(account.uid)), Some(Gid::from_raw(account.gid)))
            .map_err(|error| cannot("hand over", &path, &error.into()))?;
        Ok(Folder { path, account: Some(account), moved_because })
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Why it is not where it was asked for.
    pub(super) fn moved_because(&self) -> Option<&str> {
        self.moved_because.as_deref()
    }

    /// The account that the server runs as, where that is not ours.
    pub(super) fn account(&self) -> Option<Account> {
        self.account
    }

    /// PostgreSQL's data.
    pub(super) fn data(&self) -> PathBuf {
        self.path.join("data")
    }

    /// Data in the making; it takes its right name once it is whole.
    pub(super) fn data_unfinished(&self) -> PathBuf {
        self.path.join("data.unfinished")
    }

    /// The server's log.
    pub(super) fn log(&self) -> PathBuf {
        self.path.join("postgres.log")
    }

    /// The superuser's password.
    pub(super) fn password_file(&self) -> PathBuf {
        self.path.join("password")
    }

    /// The major version that made the data; none where there is no data.
    pub(super) fn version_major(&self) -> Option<u32> {
        fs::read_to_string(self.data().join("PG_VERSION")).ok()?.trim().parse().ok()
    }

    /// Keeps a new password, readable by the server's account only.
    pub(super) fn write_password(&self, password: &str) -> Result<(), StoreError> {
        let path = self.password_file();
        let write = || {
            match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
                _ => {}
            }
            let mut file =
                fs::OpenOptions::new().write(true).create_new(true).mode(0o600).open(&path)?;
            file.write_all(password.as_bytes())?;
            self.hand_over(&path)
        };
        write().map_err(|error| cannot("write", &path, &error))
    }

    /// The password kept.
    pub(super) fn read_password(&self) -> Result<String, StoreError> {
        let path = self.password_file();
        let text = fs::read_to_string(&path).map_err(|error| cannot("read", &path, &error))?;
        Ok(text.trim().to_owned())
    }

    /// Gives a file to the server's account, where that is not ours.
    pub(super) fn hand_over(&self, path: &Path) -> io::Result<()> {
        if let Some(account) = self.account {
            chown(path, Some(Uid::from_raw(account.uid)), Some(Gid::from_raw(account.gid)))?;
        }
        Ok(())
    }

    /// Waits for a server that is still stopping, and clears away what a killed one left.
    pub(super) fn wait_for_former_server(&self) -> Result<(), StoreError> {
        let lock_file = self.data().join("postmaster.pid");
        for _ in 0..FORMER_WAIT_MS / FORMER_POLL_MS {
            let Ok(lock) = fs::read_to_string(&lock_file) else { return Ok(()) };
            let Some(pid) = lock.lines().next().and_then(|line| line.trim().parse::<u32>().ok())
            else {
                break;
            };
            if !self.is_our_server(pid) {
                // Killed without a chance to tidy up, and its number may be another process's
                // by now, at which PostgreSQL would refuse to start.
                return fs::remove_file(&lock_file)
                    .map_err(|error| cannot("remove", &lock_file, &error));
            }
            thread::sleep(Duration::from_millis(FORMER_POLL_MS));
        }
        Err(unavailable(format!(
            "another Countersign uses the data in {}. Stop that one, or choose another folder",
            self.path.display()
        )))
    }

    /// Whether a process is a PostgreSQL server on this data.
    fn is_our_server(&self, pid: u32) -> bool {
        let Ok(command) = fs::read(format!("/proc/{pid}/cmdline")) else { return false };
        let command = String::from_utf8_lossy(&command);
        let mut words = command.split('\0');
        words.next().is_some_and(|program| program.ends_with("postgres"))
            && words.any(|word| Path::new(word) == self.data())
    }
}

/// The first folder on the way, outermost first, that the account may not enter.
fn obstacle_on_the_way(path: &Path, account: Account) -> Option<PathBuf> {
    let mut way: Vec<_> = path.ancestors().skip(1).collect();
    way.reverse();
    way.into_iter().find(|folder| !may_enter(folder, account)).map(Path::to_owned)
}

/// Whether the account may pass through a folder. One that does not exist yet will be made
/// passable.
fn may_enter(folder: &Path, account: Account) -> bool {
    let Ok(metadata) = fs::metadata(folder) else { return true };
    let bit = if metadata.uid() == account.uid {
        0o100
    } else if metadata.gid() == account.gid {
        0o010
    } else {
        0o001
    };
    metadata.mode() & bit != 0
}

/// Makes the folder itself private and those above it ordinary.
fn make(path: &Path) -> io::Result<()> {
    if let Some(parent) = path.parent() {
        fs::DirBuilder::new().recursive(true).mode(0o755).create(parent)?;
    }
    fs::DirBuilder::new().recursive(true).mode(0o700).create(path)?;
    fs::set_permissions(path, fs::Permissions::from_mode(0o700))
}

fn cannot(verb: &str, path: &Path, error: &io::Error) -> StoreError {
    unavailable(format!("cannot {verb} {}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_private_home_on_the_way_is_an_obstacle() {
        let root = tempfile::tempdir().unwrap();
        fs::set_permissions(root.path(), fs::Permissions::from_mode(0o755)).unwrap();
        let home = root.path().join("home");
        fs::create_dir(&home).unwrap();
        fs::set_permissions(&home, fs::Permissions::from_mode(0o700)).unwrap();
        let stranger = Account { uid: 54_321, gid: 54_321 };

        let obstacle = obstacle_on_the_way(&home.join("checkout/.data/postgres"), stranger);

        assert_eq!(obstacle, Some(home));
    }

    #[test]
    fn a_lock_file_of_a_dead_server_is_cleared_away() {
        let root = tempfile::tempdir().unwrap();
        let folder = Folder::prepare(&root.path().join("pg"), None).unwrap();
        fs::create_dir(folder.data()).unwrap();
        let lock_file = folder.data().join("postmaster.pid");
        // Our own number: alive, but no PostgreSQL.
        fs::write(&lock_file, format!("{}\n", std::process::id())).unwrap();

        folder.wait_for_former_server().unwrap();

        assert!(!lock_file.exists());
    }
}
