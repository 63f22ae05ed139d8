//! `--help` of everything, and what is mistyped.

use std::path::Path;
use std::process::Stdio;

use plugwell_tests::shop::command;

use crate::terminal::{Said, run};

const COMMANDS: [&str; 11] = [
    "serve", "demo", "import", "export", "match", "reindex", "audit", "backup", "restore", "token",
    "openapi",
];

fn here(arguments: &[&str]) -> Said {
    run(Path::new("."), arguments)
}

/// The names in a section of a help text.
fn section<'t>(help: &'t str, title: &str) -> Vec<&'t str> {
    let lines = help
        .lines()
        .skip_while(|line| *line != title)
        .skip(1)
        .take_while(|line| !line.is_empty());
    lines
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect()
}

#[test]
fn the_help_names_every_command() {
    let help = here(&["--help"]).went_well();
    let mut named = section(&help, "Commands:");
    named.retain(|name| *name != "help");
    assert_eq!(named, COMMANDS);
    let version = here(&["--version"]).went_well();
    assert_eq!(
        version.trim(),
        format!("plugwell {}", env!("CARGO_PKG_VERSION"))
    );
    // Nothing said is a question for help, not for a service.
    assert!(here(&[]).complained().contains("Usage:"));
}

#[test]
fn every_command_explains_itself_and_each_of_its_options() {
    let nested = [
        ["import", "plugs"],
        ["import", "stock"],
        ["import", "heat-scales"],
        ["import", "stand-ins"],
        ["export", "plugs"],
        ["export", "stand-ins"],
        ["token", "create"],
    ];
    let all = COMMANDS
        .iter()
        .map(|name| vec![*name])
        .chain(nested.iter().map(|names| names.to_vec()));
    for mut arguments in all {
        arguments.push("--help");
        let help = here(&arguments).went_well();
        assert!(help.contains("Usage: "), "{arguments:?}");
        let first = help.lines().next().unwrap_or_default();
        assert!(
            first.split_whitespace().count() > 3,
            "{arguments:?} begins with {first:?}"
        );
        options_are_explained(&help, &arguments);
    }
}

fn options_are_explained(help: &str, arguments: &[&str]) {
    let lines: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Options:")
        .skip(1)
        .collect();
    assert!(!lines.is_empty(), "{arguments:?}");
    for (place, line) in lines.iter().enumerate() {
        let plain = line.trim_start();
        // `-h, --help` and `--port <PORT>` are options, `- json` is one of the values of one.
        if !plain.starts_with('-') || plain.starts_with("- ") {
            continue;
        }
        // The explanation stands beside the option or below it.
        let beside = plain
            .split("  ")
            .skip(1)
            .any(|part| !part.trim().is_empty());
        let below = lines
            .get(place + 1)
            .is_some_and(|next| !next.trim().is_empty() && !next.trim_start().starts_with('-'));
        assert!(beside || below, "{arguments:?}: {plain:?} is not explained");
    }
}

#[test]
fn the_help_of_an_import_names_its_columns() {
    let help = here(&["import", "plugs", "--help"]).went_well();
    for column in ["* part_number", "reach_mm", "reach_in", "superseded_by"] {
        assert!(help.contains(column), "{column}: {help}");
    }
    let help = here(&["import", "stock", "--help"]).went_well();
    for column in ["* quantity", "total_cost_minor", "sealed, gapped"] {
        assert!(help.contains(column), "{column}: {help}");
    }
}

#[test]
fn settings_of_serve_are_told_with_their_variables() {
    let help = here(&["serve", "--help"]).went_well();
    for option in [
        "--config",
        "--database",
        "--data",
        "--bind",
        "--port",
        "--ready-file",
        "--log-format",
        "--log-level",
    ] {
        assert!(help.contains(option), "{option}");
    }
    for variable in [
        "PLUGWELL_DATABASE_URL",
        "PLUGWELL_DATA",
        "PLUGWELL_PORT",
        "PLUGWELL_BIND",
        "PLUGWELL_CONFIG",
    ] {
        assert!(help.contains(variable), "{variable}");
    }
}

#[test]
fn the_help_of_the_demo_says_how_much_the_demo_logs() {
    let help = here(&["demo", "--help"]).went_well();
    let help: String = help.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        help.contains("[default: info, for the demo warn]"),
        "{help}"
    );
}

#[test]
fn whoever_has_read_enough_may_go() {
    let mut child = command(&["openapi"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    // Closed unread: the document is longer than a pipe holds.
    drop(child.stdout.take());
    let said = Said::of(child.wait_with_output().expect("its end"));
    assert_eq!(said.err, "", "{said:?}");
    said.went_well();
}

#[test]
fn what_is_mistyped_is_refused() {
    for arguments in [
        &["sevre"][..],
        &["serve", "--prot", "1"],
        &["serve", "--port", "many"],
        &["serve", "--bind", "everywhere"],
        &["match"],
        &["token", "create"],
        &["token", "create", "--role", "owner"],
        &["import", "nuts", "x.csv"],
        &["import", "plugs"],
        &["export", "nuts"],
    ] {
        let complaint = here(arguments).complained();
        assert!(complaint.contains("error:"), "{arguments:?}: {complaint}");
    }
    // A mistyped role is told which there are.
    let complaint = here(&["token", "create", "--role", "owner"]).complained();
    assert!(
        complaint.contains("reader, tuner, clerk, manager"),
        "{complaint}"
    );
}
