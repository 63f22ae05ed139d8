//! Documents name only what there is.

use crate::{files, none, read, root};

/// What the documents call by a path in the workspace: in backquotes or as the target of a link,
/// with a slash between plain segments or with the ending of a file.
fn named_paths(text: &str) -> Vec<String> {
    let mut paths = Vec::new();
    let mut in_block = false;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            in_block = !in_block;
            continue;
        }
        if in_block {
            continue;
        }
        let quoted = line.split('`').skip(1).step_by(2).map(str::to_owned);
        let links = line
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next().map(str::to_owned));
        paths.extend(quoted.chain(links).filter(|word| is_path(word)));
    }
    paths
}

fn is_path(word: &str) -> bool {
    const ENDINGS: [&str; 8] = [".rs", ".toml", ".md", ".json", ".csv", ".sql", ".sh", ".py"];
    // Types of media have a slash, too.
    const MEDIA: [&str; 3] = ["application/", "text/", "image/"];
    let plain = |segment: &str| {
        !segment.is_empty()
            && segment
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b"._-".contains(&b))
    };
    let whole = word.trim_end_matches('/');
    let segments = whole.split('/').all(plain);
    // `FILE.json` stands for a file of the reader's.
    let placeholder = word
        .split('.')
        .next()
        .is_some_and(|stem| !stem.is_empty() && stem == stem.to_uppercase())
        && !["README.md", "DEVELOPERS.md"].contains(&word);
    let looks_so = word.contains('/') || ENDINGS.iter().any(|ending| word.ends_with(ending));
    looks_so && segments && !placeholder && !MEDIA.iter().any(|media| word.starts_with(media))
}

#[test]
fn every_path_in_the_documents_exists() {
    let mut breaches = Vec::new();
    let all = files("", "");
    for document in ["README.md", "DEVELOPERS.md"] {
        let paths = named_paths(&read(&root().join(document)));
        let least = if document == "DEVELOPERS.md" { 10 } else { 1 };
        assert!(paths.len() >= least, "{document} names paths: {paths:?}");
        // A file that is named alone, in a paragraph on its room, has to be somewhere.
        let somewhere = |name: &str| {
            !name.contains('/')
                && all
                    .iter()
                    .any(|(own, _)| own.ends_with(&format!("/{name}")))
        };
        let missing = paths
            .into_iter()
            .filter(|path| !root().join(path).exists() && !somewhere(path));
        breaches.extend(missing.map(|path| format!("{document}: {path}")));
    }
    none("a document names only what there is", &breaches);
}

#[test]
fn paths_are_told_from_other_words() {
    let text = "See `api/src/http/routes.rs`, `fixtures/`, [the map](DEVELOPERS.md), `.ci/run` and `Cargo.toml`.\n\
        Not `/v1/plugs`, `text/csv`, `GET`, `FILE.json`, `a b/c`, `--data DIR`, [that](https://example.org/a.md).\n\
        ```\n`x/y.rs`\n```\n";
    assert_eq!(
        named_paths(text),
        [
            "api/src/http/routes.rs",
            "fixtures/",
            ".ci/run",
            "Cargo.toml",
            "DEVELOPERS.md"
        ]
    );
}
