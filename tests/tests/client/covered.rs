//! What the client says that it does not cover is what it does not cover.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::Value;

/// The client's sources.
fn sources() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../api/client/src");
    let files = fs::read_dir(folder).expect("its folder").map(|entry| {
        let path = entry.expect("an entry").path();
        fs::read_to_string(path).expect("a source")
    });
    files.collect()
}

/// The pieces of a text that stand between two marks of which the first is followed by `/`.
fn between<'t>(text: &'t str, open: &str, close: char) -> impl Iterator<Item = &'t str> {
    let pieces = text.split(open).skip(1);
    pieces.filter_map(move |piece| piece.split_once(close).map(|(inside, _)| inside))
}

/// A path with all its names called the same.
fn nameless(path: &str) -> String {
    let segment = |text: &str| match text.starts_with('{') {
        true => "{}".to_owned(),
        false => text.to_owned(),
    };
    path.split('/').map(segment).collect::<Vec<_>>().join("/")
}

/// The paths that the client asks for.
fn asked() -> BTreeSet<String> {
    let mut paths = BTreeSet::new();
    for source in sources() {
        for path in between(&source, "\"/v1/", '"').map(|rest| format!("/v1/{rest}")) {
            match path.strip_suffix("{kind}") {
                Some(tables) => {
                    let kinds = ["plugs", "heat-scales", "stand-ins", "stock"];
                    paths.extend(kinds.map(|kind| format!("{tables}{kind}")));
                }
                None => drop(paths.insert(nameless(&path))),
            }
        }
    }
    paths
}

/// The paths that its documentation names as not covered.
fn left_out() -> BTreeSet<String> {
    let own = include_str!("../../../api/client/src/lib.rs");
    let (_, said) = own
        .split_once("# What it does not cover")
        .expect("a chapter");
    let (said, _) = said.split_once("//! # ").expect("another chapter");
    between(said, "`/", '`')
        .map(|rest| nameless(&format!("/{rest}")))
        .collect()
}

#[test]
fn what_it_does_not_cover_is_named() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../openapi/openapi.json");
    let document = fs::read_to_string(file).expect("the description");
    let document: Value = serde_json::from_str(&document).expect("JSON");
    let paths: BTreeSet<String> = document["paths"]
        .as_object()
        .expect("paths")
        .keys()
        .map(|path| nameless(path))
        .collect();
    let (asked, left_out) = (asked(), left_out());
    let mut named = BTreeSet::new();
    for path in &paths {
        // One record stands where its list does.
        let list = path.strip_suffix("/{}");
        let covered = asked.contains(path) || list.is_some_and(|list| asked.contains(list));
        let under = |said: &&String| path == *said || path.starts_with(&format!("{said}/"));
        let said: Vec<&String> = left_out.iter().filter(under).collect();
        let picture = path.ends_with(".svg");
        assert_eq!(covered, said.is_empty() && !picture, "{path}: {said:?}");
        named.extend(said);
    }
    let all: BTreeSet<&String> = left_out.iter().collect();
    assert_eq!(named, all, "each stands for a path that there is");
}
