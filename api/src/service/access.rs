//! Who may: tokens with a role, and who is signed in to the pages.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use parking_lot::{Mutex, RwLock};
use plugwell_domain::words::Role;
use plugwell_store::{Session as Transaction, Store, Token};
use rand::TryRng;
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::{Actor, Refusal, Shop, new_id, now};

/// How long a page may lie idle before its reader has to sign in again, where nobody says.
pub const IDLE: TimeDelta = TimeDelta::hours(8);
/// How long a one-time sign-in link can be used.
pub const LINK: TimeDelta = TimeDelta::hours(24);

/// Tokens by their hash, sessions of the pages, and sign-in links that nobody has used yet.
#[derive(Debug)]
pub struct Access {
    tokens: RwLock<HashMap<String, Token>>,
    sessions: Mutex<HashMap<String, SignedIn>>,
    links: Mutex<HashMap<String, (Uuid, DateTime<Utc>)>>,
    idle: TimeDelta,
    /// Held from reading the tokens to showing them: what was read earlier never replaces what was
    /// read later, or a new token would be unknown for a while and a revoked one valid again.
    refreshing: Mutex<()>,
}

/// Who is signed in to the pages.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// The token that was shown when signing in.
    pub token_id: Uuid,
    /// What every form of this session has to carry.
    pub form_key: String,
    /// When a page was last asked for.
    pub last_seen: DateTime<Utc>,
}

/// 256 random bits as hexadecimal digits.
///
/// # Errors
/// Where the system has no randomness to give.
pub fn secret() -> Result<String, Refusal> {
    let mut bytes = [0u8; 32];
    rand::rngs::SysRng
        .try_fill_bytes(&mut bytes)
        .map_err(|e| Refusal::Fault(format!("no randomness: {e}")))?;
    Ok(hex(&bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What is kept of a secret.
pub fn hashed(secret: &str) -> String {
    hex(&Sha256::digest(secret.as_bytes()))
}

impl Access {
    /// Reads the tokens.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn load(store: &Store) -> Result<Self, Refusal> {
        let access = Self {
            tokens: RwLock::default(),
            sessions: Mutex::default(),
            links: Mutex::default(),
            idle: IDLE,
            refreshing: Mutex::default(),
        };
        access.refresh(store)?;
        Ok(access)
    }

    /// Lets a page lie idle for as long as this.
    pub fn expire_after(&mut self, idle: TimeDelta) {
        self.idle = idle;
    }

    /// How long a page may lie idle.
    pub fn idle(&self) -> TimeDelta {
        self.idle
    }

    /// Reads the tokens again: another node, or another process, may have changed them.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn refresh(&self, store: &Store) -> Result<(), Refusal> {
        self.refresh_by(|| Ok(store.read(|s| s.list_tokens(None, i64::MAX))?))
    }

    fn refresh_by(
        &self,
        read: impl FnOnce() -> Result<Vec<Token>, Refusal>,
    ) -> Result<(), Refusal> {
        let _refreshing = self.refreshing.lock();
        let tokens = read()?;
        *self.tokens.write() = tokens
            .into_iter()
            .filter(|t| t.revoked_at.is_none())
            .map(|t| (t.hash.clone(), t))
            .collect();
        Ok(())
    }

    /// Who shows this token; nobody where it is unknown or revoked.
    pub fn authenticate(&self, token: &str) -> Option<Actor> {
        let hash = hashed(token);
        let tokens = self.tokens.read();
        let known = tokens.get(&hash)?;
        bool::from(known.hash.as_bytes().ct_eq(hash.as_bytes())).then(|| actor(known))
    }

    fn holder(&self, token_id: Uuid) -> Option<Actor> {
        self.tokens
            .read()
            .values()
            .find(|t| t.id == token_id)
            .map(actor)
    }

    /// Begins a session of the pages; what is returned goes into the cookie.
    ///
    /// # Errors
    /// Where the system has no randomness to give.
    pub fn sign_in(&self, token_id: Uuid) -> Result<String, Refusal> {
        let (cookie, form_key) = (secret()?, secret()?);
        let at = now();
        let mut sessions = self.sessions.lock();
        sessions.retain(|_, s| at - s.last_seen < self.idle);
        sessions.insert(
            hashed(&cookie),
            SignedIn {
                token_id,
                form_key,
                last_seen: at,
            },
        );
        Ok(cookie)
    }

    /// Who a cookie belongs to, and the key of their forms.
    pub fn signed_in(&self, cookie: &str) -> Option<(Actor, String)> {
        let mut sessions = self.sessions.lock();
        let session = sessions.get_mut(&hashed(cookie))?;
        let at = now();
        if at - session.last_seen >= self.idle {
            return None;
        }
        session.last_seen = at;
        let actor = self.holder(session.token_id)?;
        Some((actor, session.form_key.clone()))
    }

    /// The token that a cookie's session was begun with; looking at it does not keep the session from
    /// running out.
    pub fn session_of(&self, cookie: &str) -> Option<Uuid> {
        let sessions = self.sessions.lock();
        sessions.get(&hashed(cookie)).map(|s| s.token_id)
    }

    /// Ends a session.
    pub fn sign_out(&self, cookie: &str) {
        self.sessions.lock().remove(&hashed(cookie));
    }

    /// Ends every session that was begun with a token.
    pub fn sign_out_everywhere(&self, token_id: Uuid) {
        self.sessions.lock().retain(|_, s| s.token_id != token_id);
    }

    /// Makes a link that signs in once.
    ///
    /// # Errors
    /// Where the system has no randomness to give.
    pub fn link(&self, token_id: Uuid) -> Result<String, Refusal> {
        let code = secret()?;
        self.links.lock().insert(hashed(&code), (token_id, now()));
        Ok(code)
    }

    /// Uses a link up: the session's cookie, or nothing where it was used, is unknown or too old.
    ///
    /// # Errors
    /// Where the system has no randomness to give.
    pub fn follow_link(&self, code: &str) -> Result<Option<String>, Refusal> {
        let Some((token_id, made)) = self.links.lock().remove(&hashed(code)) else {
            return Ok(None);
        };
        if now() - made >= LINK || self.holder(token_id).is_none() {
            return Ok(None);
        }
        self.sign_in(token_id).map(Some)
    }
}

fn actor(token: &Token) -> Actor {
    Actor {
        token_id: token.id,
        name: token.name.clone(),
        role: token.role,
    }
}

/// A token that was just made, with the secret that is shown this once.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The token.
    pub token: Token,
    /// What its holder has to show.
    pub secret: String,
}

/// Makes a token; the secret is shown this once and kept as a hash only.
///
/// # Errors
/// Where the database fails or there is no randomness.
pub fn create_token(store: &Store, name: &str, role: Role) -> Result<Shown, Refusal> {
    let shown = new_token(name, role)?;
    store.write(|s: &mut Transaction| Ok::<_, Refusal>(s.insert_token(&shown.token)?))?;
    Ok(shown)
}

fn new_token(name: &str, role: Role) -> Result<Shown, Refusal> {
    let secret = secret()?;
    let token = Token {
        id: new_id(),
        name: name.trim().to_owned(),
        role,
        hash: hashed(&secret),
        created_at: now(),
        revoked_at: None,
    };
    Ok(Shown { token, secret })
}

/// Makes a token of the running shop at most once. Its secret is in no kept answer: where the key was
/// used before, nobody sees it a second time.
///
/// # Errors
/// As [`create_token`]; `KeyReused`.
pub fn create_once(
    shop: &Shop,
    key: &OnceKey,
    name: &str,
    role: Role,
    render: impl Fn(&Token) -> Stored + Send + Sync,
) -> Result<Once<Shown>, Refusal> {
    let shown = new_token(name, role)?;
    let done = shop.once(
        key,
        |s| {
            s.insert_token(&shown.token)?;
            Ok((shown.clone(), Vec::new()))
        },
        |shown| render(&shown.token),
    )?;
    shop.access.refresh(&shop.store)?;
    Ok(done)
}

/// Makes a token of the running shop.
///
/// # Errors
/// As [`create_token`].
pub fn create(shop: &Shop, name: &str, role: Role) -> Result<Shown, Refusal> {
    let made = create_token(&shop.store, name, role)?;
    shop.access.refresh(&shop.store)?;
    Ok(made)
}

/// Tokens that are not revoked, in the order they were made.
///
/// # Errors
/// Where the database fails.
pub fn list(shop: &Shop, after: Option<Uuid>, limit: i64) -> Result<Vec<Token>, Refusal> {
    let all = shop.store.read(|s| s.list_tokens(after, i64::MAX))?;
    Ok(all
        .into_iter()
        .filter(|t| t.revoked_at.is_none())
        .take(usize::try_from(limit).unwrap_or(0))
        .collect())
}

/// One token that is not revoked.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Token, Refusal> {
    list(shop, None, i64::MAX)?
        .into_iter()
        .find(|t| t.id == id)
        .ok_or(Refusal::NotFound("token"))
}

/// Revokes a token; what was signed in with it is signed out.
///
/// # Errors
/// `NotFound`, `own_token`.
pub fn revoke(
    shop: &Shop,
    actor: &Actor,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    get(shop, id)?;
    expected(1)?;
    if id == actor.token_id {
        return Err(Refusal::conflict(
            Conflict::OwnToken,
            "a token cannot revoke itself; use another manager's",
        ));
    }
    shop.write(|s| Ok::<_, Refusal>(s.revoke_token(id, now())?))?;
    shop.access.refresh(&shop.store)
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use plugwell_store::{Options, Target};

    use super::*;

    #[test]
    fn what_was_read_earlier_does_not_hide_a_new_token() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = Target::Sqlite(folder.path().join("shop.db"));
        let store = Store::open(&target, &Options::default()).expect("a store");
        let access = Access::load(&store).expect("no tokens");
        let shown = std::thread::scope(|scope| {
            let (has_read, read) = channel();
            let (access, store) = (&access, &store);
            scope.spawn(move || {
                access.refresh_by(|| {
                    let tokens = store.read(|s| s.list_tokens(None, i64::MAX))?;
                    has_read.send(()).expect("somebody waits");
                    // Time for the other one to overtake, if it could.
                    std::thread::sleep(Duration::from_millis(200));
                    Ok(tokens)
                })
            });
            read.recv().expect("it reads");
            let shown = create_token(store, "clerk", Role::Clerk).expect("a token");
            access.refresh(store).expect("the tokens");
            shown
        });
        assert!(access.authenticate(&shown.secret).is_some());
    }

    #[test]
    fn a_session_ends_when_it_has_lain_idle_and_whoever_is_there_keeps_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = Target::Sqlite(folder.path().join("shop.db"));
        let store = Store::open(&target, &Options::default()).expect("a store");
        let mut access = Access::load(&store).expect("no tokens");
        access.expire_after(TimeDelta::minutes(1));
        let shown = create_token(&store, "clerk", Role::Clerk).expect("a token");
        access.refresh(&store).expect("the tokens");
        let cookie = access.sign_in(shown.token.id).expect("a session");
        let idle_for = |seconds: i64| {
            for session in access.sessions.lock().values_mut() {
                session.last_seen -= TimeDelta::seconds(seconds);
            }
            access.signed_in(&cookie).is_some()
        };
        assert!(idle_for(50) && idle_for(50), "looked at between");
        assert!(!idle_for(60), "a whole minute");
        assert!(!idle_for(0), "it stays ended");
    }
}
