//! The data folder: one process owns it, a lock file says which.

use std::fs::{self, File, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};

use plugwell_store::Target;

/// The lock's name in the folder; it holds the address of the service that owns it.
const LOCK: &str = "plugwell.lock";
/// The database's name in the folder.
const DATABASE: &str = "plugwell.sqlite";
/// The index's folder in it.
const INDEX: &str = "index";

/// A data folder that this process owns until it is dropped.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    lock: File,
}

/// Why a data folder could not be had.
#[derive(Debug, thiserror::Error)]
pub enum NotOurs {
    /// Another process owns it; its address where it serves.
    #[error("{} belongs to a running plugwell{}", path.display(), url.as_ref().map_or(String::new(), |u| format!(" at {u}")))]
    Taken {
        /// The folder.
        path: PathBuf,
        /// Where the other process serves.
        url: Option<String>,
    },
    /// It cannot be made or opened.
    #[error("the data folder {} cannot be used: {cause}", path.display())]
    Unusable {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        cause: std::io::Error,
    },
}

impl Folder {
    /// Takes a folder over, making it where it is not there.
    ///
    /// # Errors
    /// [`NotOurs`].
    pub fn take(path: &Path) -> Result<Self, NotOurs> {
        let unusable = |cause| NotOurs::Unusable {
            path: path.to_owned(),
            cause,
        };
        fs::create_dir_all(path).map_err(unusable)?;
        let mut lock = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path.join(LOCK))
            .map_err(unusable)?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut url = String::new();
                let _ = lock.read_to_string(&mut url);
                let url = Some(url.trim().to_owned()).filter(|u| !u.is_empty());
                return Err(NotOurs::Taken {
                    path: path.to_owned(),
                    url,
                });
            }
            Err(TryLockError::Error(cause)) => return Err(unusable(cause)),
        }
        lock.set_len(0).map_err(unusable)?;
        Ok(Self {
            path: path.to_owned(),
            lock,
        })
    }

    /// Writes into the lock where this process serves.
    ///
    /// # Errors
    /// What the system says.
    pub fn serving_at(&mut self, url: &str) -> std::io::Result<()> {
        self.lock.set_len(0)?;
        self.lock.rewind()?;
        self.lock.write_all(url.as_bytes())?;
        self.lock.flush()
    }

    /// The database in the folder, unless another is named.
    ///
    /// # Errors
    /// A sentence where the address is mistyped.
    pub fn target(&self, database: Option<&str>) -> Result<Target, String> {
        target(&self.path, database)
    }

    /// Where the index lies.
    pub fn index(&self) -> PathBuf {
        self.path.join(INDEX)
    }
}

/// The database of a data folder, unless another is named.
///
/// # Errors
/// A sentence where the address is mistyped.
pub fn target(folder: &Path, database: Option<&str>) -> Result<Target, String> {
    match database {
        Some(url) => Target::parse(url).map_err(|e| e.to_string()),
        None => Ok(Target::Sqlite(folder.join(DATABASE))),
    }
}
