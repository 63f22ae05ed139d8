use plugwell_domain::words::Role;
use plugwell_store::{Key, OnceRow, Store, StoreError, Token};

use crate::made_up::{id, instant, read, write};

pub fn once_only_answers(store: &Store) {
    let token = id();
    let row = |micros| OnceRow {
        fingerprint: "f00d".into(),
        status: 201,
        headers: r#"{"location":"/v1/x"}"#.into(),
        body: vec![0, 255, 10, 39],
        created_at: instant(micros),
    };
    write(store, |s| s.put_once(token, "key 1", &row(0)));
    write(store, |s| s.put_once(token, "key 2", &row(10)));
    write(store, |s| s.put_once(id(), "key 1", &row(10)));
    assert_eq!(read(store, |s| s.once(token, "key 1")), Some(row(0)));
    assert_eq!(read(store, |s| s.once(token, "Key 1")), None);
    assert_eq!(read(store, |s| s.once(id(), "key 1")), None);
    let refused = store.write(|s| s.put_once(token, "key 1", &row(5)));
    assert_eq!(refused, Err(StoreError::Duplicate { what: Key::Once }));
    assert_eq!(write(store, |s| s.forget_once_before(instant(10))), 1);
    assert_eq!(read(store, |s| s.once(token, "key 1")), None);
    assert_eq!(read(store, |s| s.once(token, "key 2")), Some(row(10)));
}

pub fn tokens(store: &Store) {
    assert!(!read(store, |s| s.any_token()));
    let token = |name: &str, role, hash: &str| Token {
        id: id(),
        name: name.into(),
        role,
        hash: hash.into(),
        created_at: instant(0),
        revoked_at: None,
    };
    let tokens = [
        token("counter", Role::Clerk, "aa"),
        token("owner", Role::Manager, "bb"),
    ];
    write(store, |s| {
        tokens.iter().try_for_each(|token| s.insert_token(token))
    });
    assert!(read(store, |s| s.any_token()));
    assert_eq!(
        read(store, |s| s.token_by_hash("bb")),
        Some(tokens[1].clone())
    );
    assert_eq!(read(store, |s| s.token_by_hash("cc")), None);
    assert_eq!(
        read(store, |s| s.token(tokens[0].id)),
        Some(tokens[0].clone())
    );
    assert_eq!(read(store, |s| s.list_tokens(None, 9)), tokens);
    assert_eq!(
        read(store, |s| s.list_tokens(Some(tokens[0].id), 9)),
        tokens[1..]
    );
    let refused = store.write(|s| s.insert_token(&token("twin", Role::Reader, "aa")));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::TokenHash
        })
    );
    assert!(write(store, |s| s.revoke_token(tokens[0].id, instant(7))));
    assert!(!write(store, |s| s.revoke_token(tokens[0].id, instant(8))));
    assert!(!write(store, |s| s.revoke_token(id(), instant(8))));
    assert_eq!(
        read(store, |s| s.token_by_hash("aa")).unwrap().revoked_at,
        Some(instant(7))
    );
    assert!(read(store, |s| s.any_token()));
    write(store, |s| s.revoke_token(tokens[1].id, instant(7)));
    assert!(!read(store, |s| s.any_token()));
}

pub fn policies(store: &Store) {
    assert_eq!(read(store, |s| s.latest_policy()), None);
    write(store, |s| s.insert_policy(2, r#"{"a": 1}"#, instant(0)));
    write(store, |s| s.insert_policy(3, r#"{"a": 2}"#, instant(0)));
    let refused = store.write(|s| s.insert_policy(3, "{}", instant(0)));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::PolicyVersion
        })
    );
    assert_eq!(
        read(store, |s| s.latest_policy()),
        Some((3, r#"{"a": 2}"#.into()))
    );
    assert_eq!(read(store, |s| s.policy(2)), Some(r#"{"a": 1}"#.into()));
    assert_eq!(read(store, |s| s.policy(1)), None);
}

pub fn meta(store: &Store) {
    assert_eq!(read(store, |s| s.meta("colour")), None);
    write(store, |s| s.set_meta("colour", "red"));
    write(store, |s| s.set_meta("colour", "blue"));
    assert_eq!(read(store, |s| s.meta("colour")), Some("blue".into()));
    let lineage = read(store, |s| s.lineage());
    assert!(lineage.parse::<uuid::Uuid>().is_ok(), "{lineage}");
    assert_eq!(read(store, |s| s.meta("lineage")), Some(lineage));
}
