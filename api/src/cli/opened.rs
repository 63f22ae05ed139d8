//! A shop opened from the command line, with progress where it takes its time.

use std::path::Path;

use indicatif::{ProgressBar, ProgressStyle};
use plugwell_store::{Options, Store};

use crate::cli::Ended;
use crate::cli::folder::{self, Folder};
use crate::service::Shop;

/// A shop and the folder that it lies in.
pub struct Opened {
    /// The running shop.
    pub shop: Shop,
    /// Its folder, ours until dropped.
    pub folder: Folder,
}

/// Takes a data folder over and opens the shop in it.
///
/// # Errors
/// A sentence: the folder is another process's, the database's address is mistyped or it cannot be
/// reached, the index cannot be made.
pub fn open(data: &Path, database: Option<&str>) -> Result<Opened, Ended> {
    let folder = take(data, database)?;
    let store = store(&folder, database)?;
    let shop = shop(store, &folder)?;
    Ok(Opened { shop, folder })
}

/// Takes a data folder over; a mistyped address of the database is told before anything is made.
///
/// # Errors
/// A sentence.
pub fn take(data: &Path, database: Option<&str>) -> Result<Folder, Ended> {
    folder::target(data, database).map_err(Ended::Wrong)?;
    Ok(Folder::take(data)?)
}

/// The database of a folder that is ours.
///
/// # Errors
/// A sentence.
pub fn store(folder: &Folder, database: Option<&str>) -> Result<Store, Ended> {
    let target = folder.target(database).map_err(Ended::Wrong)?;
    Store::open(&target, &Options::default()).map_err(|e| Ended::Wrong(e.to_string()))
}

/// The shop over a database.
///
/// # Errors
/// A sentence.
pub fn shop(store: Store, folder: &Folder) -> Result<Shop, Ended> {
    let bar = Bar::new("building the index");
    let shop = Shop::open(store, &folder.index(), &|done, total| bar.at(done, total))?;
    bar.end();
    Ok(shop)
}

/// A bar that appears with the first progress, so that quick work stays silent.
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that says what is being done.
    pub fn new(what: &'static str) -> Self {
        Self::counting(what, "{msg} {bar:40} {pos}/{len}")
    }

    /// The same for a file that is read, with the time that it may still take.
    pub fn of_bytes(what: &'static str) -> Self {
        Self::counting(what, "{msg} {bar:40} {bytes}/{total_bytes}, {eta} left")
    }

    fn counting(what: &'static str, form: &str) -> Self {
        let bar = ProgressBar::hidden();
        let style =
            ProgressStyle::with_template(form).unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style);
        bar.set_message(what);
        Self(bar)
    }

    /// Shows how far it has come.
    pub fn at(&self, done: u64, total: u64) {
        if self.0.is_hidden() {
            self.0
                .set_draw_target(indicatif::ProgressDrawTarget::stderr());
        }
        self.0.set_length(total);
        self.0.set_position(done);
    }

    /// Takes it away.
    pub fn end(&self) {
        self.0.finish_and_clear();
    }
}
