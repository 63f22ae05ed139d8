//! Which room may not know what.

use crate::{files, none, read, root, source, sources};

/// A rule: files whose path starts with one of `rooms` (but for `except`) must not name any of
/// `unknown`.
struct Room {
    rooms: &'static [&'static str],
    except: &'static [&'static str],
    unknown: &'static [&'static str],
    because: &'static str,
}

const RULES: &[Room] = &[
    Room {
        rooms: &[""],
        except: &["api/store/"],
        unknown: &["diesel", "diesel_migrations"],
        because: "only the store knows diesel",
    },
    Room {
        rooms: &[""],
        except: &["indexer/"],
        unknown: &["tantivy"],
        because: "only the indexer knows tantivy",
    },
    Room {
        rooms: &[""],
        except: &[
            "api/src/http/",
            "api/src/pages/",
            "api/src/app.rs",
            "api/src/cli/",
            "api/src/demo/",
            // They ask as browsers and other software do.
            "api/benches/",
        ],
        unknown: &[
            "actix_web",
            "actix_http",
            "actix_service",
            "utoipa_actix_web",
        ],
        because: "HTTP is a matter of http, pages and what starts them",
    },
    Room {
        rooms: &["api/domain/src/"],
        except: &[],
        unknown: &[
            "std::fs",
            "std::net",
            "std::env",
            "std::process",
            "std::thread",
            "std::io",
            "std::time",
            "SystemTime",
            "Instant",
            "Utc::now",
            "Local::now",
            "now_v7",
            "new_v4",
            "rand",
            "reqwest",
            "tokio",
            "tracing",
            "println!",
            "eprintln!",
            "File",
        ],
        because: "the domain does no input or output, reads no clock, draws no random number",
    },
    Room {
        rooms: &["indexer/src/"],
        except: &[],
        unknown: &[
            "plugwell_store",
            "plugwell_client",
            "plugwell",
            "Utc::now",
            "reqwest",
        ],
        because: "the index knows the domain only",
    },
    Room {
        rooms: &["api/store/"],
        except: &[],
        unknown: &[
            "plugwell_indexer",
            "plugwell_client",
            "plugwell",
            "utoipa",
            "reqwest",
        ],
        because: "the store sees no wire type",
    },
    Room {
        rooms: &["api/src/service/"],
        except: &[],
        unknown: &[
            "actix_web",
            "crate::http",
            "crate::pages",
            "crate::cli",
            "HttpRequest",
            "HttpResponse",
            "StatusCode",
        ],
        because: "use cases know no HTTP",
    },
    Room {
        rooms: &["api/src/drawing/"],
        except: &[],
        unknown: &[
            "crate::http",
            "crate::pages",
            "crate::cli",
            "plugwell_store",
            "plugwell_indexer",
            ".store.",
            "Shop",
        ],
        because: "what is drawn is handed in",
    },
    Room {
        rooms: &["api/src/http/", "api/src/pages/"],
        except: &[],
        unknown: &[
            "plugwell_store::Session",
            "plugwell_store::Store",
            ".store.",
            "plugwell_indexer",
        ],
        because: "a handler asks a use case, never a connection",
    },
];

#[test]
fn no_room_knows_what_it_must_not() {
    let sources = sources();
    let mut breaches = Vec::new();
    for rule in RULES {
        let mut looked_at = 0;
        for (file, code) in &sources {
            let inside = rule.rooms.iter().any(|room| file.starts_with(room));
            if !inside || rule.except.iter().any(|room| file.starts_with(room)) {
                continue;
            }
            looked_at += 1;
            // A chain of calls may be broken before its dots.
            let joined: String = code
                .split_whitespace()
                .flat_map(|word| [if word.starts_with('.') { "" } else { " " }, word])
                .collect();
            for word in rule
                .unknown
                .iter()
                .filter(|word| source::names(&joined, word))
            {
                breaches.push(format!("{file}: {word} ({})", rule.because));
            }
        }
        assert!(looked_at > 0, "{:?} has files", rule.rooms);
    }
    none("every room keeps to what it may know", &breaches);
}

/// Which of our own crates a crate may depend on.
const ARROWS: &[(&str, &[&str])] = &[
    ("api/domain", &[]),
    ("api/store", &["plugwell-domain"]),
    ("indexer", &["plugwell-domain"]),
    ("api/client", &["plugwell-domain"]),
    (
        "api",
        &[
            "plugwell-domain",
            "plugwell-store",
            "plugwell-client",
            "plugwell-indexer",
        ],
    ),
    ("tests", &["plugwell", "plugwell-client"]),
];

#[test]
fn arrows_point_one_way() {
    let manifests = files("", "Cargo.toml");
    let crates = manifests
        .iter()
        .filter(|(own, _)| own != "Cargo.toml")
        .count();
    assert_eq!(
        crates,
        ARROWS.len(),
        "every crate has its arrows: {manifests:?}"
    );
    let mut breaches = Vec::new();
    for (folder, allowed) in ARROWS {
        let manifest = read(&root().join(folder).join("Cargo.toml"));
        let (_, dependencies) = manifest.split_once("dependencies]").expect("dependencies");
        for line in dependencies.lines() {
            let name = line.split(['.', '=', ' ']).next().unwrap_or_default();
            if name.starts_with("plugwell") && !allowed.contains(&name) {
                breaches.push(format!("{folder} depends on {name}"));
            }
        }
    }
    none("crates depend one way", &breaches);
}
