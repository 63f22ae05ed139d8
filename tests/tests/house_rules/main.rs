//! The rules of the house: how long a file and a function may be, which room may know what, and
//! that the documents name only what there is.

mod documents;
mod rooms;
mod schemas;
mod source;
mod words;

use std::fs;
use std::path::{Path, PathBuf};

/// Lines that a file may have, tables of data left out.
const FILE_LINES: usize = 400;
/// Lines that a function may have.
const FUNCTION_LINES: usize = 70;

/// The folder of the workspace.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .expect("the workspace")
        .to_owned()
}

/// Every file below a folder of the workspace whose name ends so, by its path in the workspace.
fn files(below: &str, ending: &str) -> Vec<(String, PathBuf)> {
    let mut found = Vec::new();
    let mut open = vec![root().join(below)];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
            let path = entry.expect("an entry").path();
            let name = path
                .file_name()
                .and_then(|n| n.to_str())
                .unwrap_or_default()
                .to_owned();
            if path.is_dir() {
                if name != "target" && !name.starts_with('.') {
                    open.push(path);
                }
            } else if name.ends_with(ending) {
                let own = path
                    .strip_prefix(root())
                    .expect("inside the workspace")
                    .to_string_lossy()
                    .into_owned();
                found.push((own, path));
            }
        }
    }
    found.sort();
    found
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Every Rust file of the workspace, comments and strings blanked.
fn sources() -> Vec<(String, String)> {
    let sources: Vec<_> = files("", ".rs")
        .into_iter()
        .map(|(own, path)| (own, source::code(&read(&path))))
        .collect();
    assert!(
        sources.len() > 100,
        "the workspace's sources are found: {}",
        sources.len()
    );
    sources
}

/// Fails with one line for each breach.
fn none(rule: &str, breaches: &[String]) {
    assert!(breaches.is_empty(), "{rule}:\n  {}", breaches.join("\n  "));
}

#[test]
fn files_are_short() {
    let long = sources().into_iter().filter_map(|(file, code)| {
        let lines = source::lines_without_tables(&code);
        (lines >= FILE_LINES).then(|| format!("{file}: {lines} lines"))
    });
    none(
        "a file has fewer than 400 lines, tables of data left out",
        &long.collect::<Vec<_>>(),
    );
}

#[test]
fn functions_are_short() {
    let mut seen = 0;
    let mut long = Vec::new();
    for (file, code) in sources() {
        for function in source::functions(&code) {
            seen += 1;
            if function.lines > FUNCTION_LINES {
                long.push(format!(
                    "{file}:{}: {} has {} lines",
                    function.line, function.name, function.lines
                ));
            }
        }
    }
    assert!(seen > 1_000, "functions are found: {seen}");
    none("a function has at most 70 lines", &long);
}

#[test]
fn nothing_is_left_undone_or_left_out() {
    let forbidden = ["todo!", "unimplemented!", "dbg!", "#[ignore"];
    let breaches = sources().into_iter().flat_map(|(file, code)| {
        let found = forbidden
            .iter()
            .filter(move |word| source::names(&code, word));
        found
            .map(move |word| format!("{file}: {word}"))
            .collect::<Vec<_>>()
    });
    none("no stub, no skipped test", &breaches.collect::<Vec<_>>());
}

#[test]
fn modules_are_named_for_what_they_do() {
    let vague = [
        "util", "utils", "helper", "helpers", "manager", "common", "misc",
    ];
    let named = files("", ".rs")
        .into_iter()
        .map(|(own, _)| own)
        .filter(|own| {
            let mut segments = own.trim_end_matches(".rs").split('/');
            segments.any(|segment| vague.contains(&segment))
        });
    none(
        "no module is called util, helper, manager, common",
        &named.collect::<Vec<_>>(),
    );
}

#[test]
fn both_engines_have_the_same_migrations() {
    let of = |engine: &str| {
        let folder = format!("migrations/{engine}");
        let names = files(&folder, "")
            .into_iter()
            .map(|(own, _)| own.trim_start_matches(&folder).to_owned());
        names.collect::<Vec<_>>()
    };
    let sqlite = of("sqlite");
    assert_eq!(sqlite, of("postgres"));
    assert!(sqlite.len() >= 8 && sqlite.len() % 2 == 0, "{sqlite:?}");
    for pair in sqlite.chunks(2) {
        let folder = pair[0]
            .strip_suffix("/down.sql")
            .unwrap_or_else(|| panic!("{pair:?}"));
        assert_eq!(pair[1], format!("{folder}/up.sql"), "each goes up and down");
    }
}

#[test]
fn every_outside_table_names_its_source() {
    let tables = files("fixtures/checks", "");
    assert!(tables.len() >= 9, "{tables:?}");
    let bare = tables.into_iter().filter(|(file, path)| {
        let text = read(path);
        !match file.rsplit('.').next() {
            Some("csv") => text
                .lines()
                .next()
                .is_some_and(|line| line.len() > 20 && line.starts_with("# source: ")),
            Some("json") => {
                let value: serde_json::Value =
                    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{file}: {e}"));
                ["source", "note"]
                    .iter()
                    .any(|member| value[*member].as_str().is_some_and(|t| t.len() > 20))
            }
            // What computed a table stands beside it.
            Some("py") => path.with_extension("json").exists(),
            _ => false,
        }
    });
    none(
        "a table of figures says first where they are from",
        &bare.map(|(file, _)| file).collect::<Vec<_>>(),
    );
}

#[test]
fn the_scanner_sees_code_only() {
    let text = "fn a() { // fn b() {}\n  let s = \"}\\\"{ todo!\"; /* { /* } */ todo!() */ let c = '{'; }\nfn c<'a>(x: &'a str) -> char {\n  let r = r#\"}\"}\"#;\n  '\\u{7b}'\n}\n";
    let code = source::code(text);
    assert_eq!(code.lines().count(), text.lines().count());
    assert!(!code.contains("todo"), "{code}");
    let found = source::functions(&code);
    let shapes: Vec<_> = found
        .iter()
        .map(|f| (f.name.as_str(), f.line, f.lines))
        .collect();
    assert_eq!(shapes, [("a", 1, 2), ("c", 3, 4)]);
    let table =
        "use a;\nconst T: &[i64] = &[\n    1,\n    2,\n];\nconst ONE: i64 = 1;\nfn f() {}\n";
    assert_eq!(source::lines_without_tables(table), 3);
    assert!(source::names("use diesel::x;", "diesel") && !source::names("dieseline", "diesel"));
}
