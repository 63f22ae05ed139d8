//! The typed client at a shop, for tests that do what a program of another shop would do.

use std::collections::HashMap;
use std::sync::{Mutex, OnceLock};

use plugwell_client::Client;
use tokio::runtime::Runtime;

use crate::call::Who;
use crate::shop::Shop;

/// Waits for what the client answers; its connections live on until the next time.
///
/// # Panics
/// Where no threads can be had.
pub fn wait<T>(answer: impl Future<Output = T>) -> T {
    static RUNTIME: OnceLock<Runtime> = OnceLock::new();
    let runtime = RUNTIME.get_or_init(|| Runtime::new().expect("threads"));
    runtime.block_on(answer)
}

impl Shop {
    /// A client with somebody's token.
    ///
    /// # Panics
    /// Where none can be set up, and for nobody.
    pub fn typed(&self, who: Who) -> Client {
        // Setting one up takes longer than most calls. A later shop may get the port of one that is gone, but
        // never its tokens.
        static CLIENTS: OnceLock<Mutex<HashMap<[String; 2], Client>>> = OnceLock::new();
        let mut clients = CLIENTS.get_or_init(Mutex::default).lock().expect("clients");
        let token = self.token(who).expect("somebody with a token");
        let set_up = || Client::new(self.url(), token).expect("a client");
        let key = [self.url().to_owned(), token.to_owned()];
        clients.entry(key).or_insert_with(set_up).clone()
    }
}
