//! Settings from every side.

use clap::{CommandFactory, Parser};

use super::*;

#[derive(Parser)]
struct Command {
    #[command(flatten)]
    given: Given,
}

fn file(text: &str) -> tempfile::NamedTempFile {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    file
}

#[test]
fn flags_stand_above_the_file_and_that_above_the_default() {
    let file = file("port = 9000\nbind = \"0.0.0.0\"\nlog_format = \"json\"\n");
    let path = file.path().to_str().unwrap();
    let given = Command::parse_from(["plugwell", "--config", path, "--port", "9001"]).given;
    let settings = given.complete().unwrap();
    assert_eq!(settings.listen, "0.0.0.0:9001".parse().unwrap());
    assert_eq!(settings.log_format, LogFormat::Json);
    assert_eq!(settings.limits.body, 1_048_576);

    let bare = Command::parse_from(["plugwell"]).given.complete().unwrap();
    assert_eq!(
        bare.listen,
        "127.0.0.1:8717".parse().unwrap(),
        "this machine only, unless told otherwise"
    );
}

#[test]
fn a_wrong_file_is_told_in_a_sentence() {
    let told = |text: &str| {
        let file = file(text);
        Given::from_file(file.path()).unwrap_err().to_string()
    };
    assert!(
        told("prot = 9000").contains("prot"),
        "a mistyped setting is named"
    );
    assert!(told("port = \"x\"").contains("port"));
    assert!(Given::from_file(Path::new("no-such-file.toml")).is_err());
    let unlisted = Given {
        webhook_allow: Some(vec!["10.0.0.0/8".into(), "not a host".into()]),
        ..Given::default()
    };
    let said = unlisted.complete().unwrap_err().to_string();
    assert!(said.starts_with("webhook_allow: \"not a host\""), "{said}");
    let small = Given {
        workers: Some(0),
        ..Given::default()
    };
    assert_eq!(
        small.complete().unwrap_err().to_string(),
        "workers is 0: it has to be at least 1"
    );
}

#[test]
fn every_setting_is_explained_and_has_its_variable() {
    for arg in Command::command()
        .get_arguments()
        .filter(|a| a.get_id() != "help")
    {
        assert!(arg.get_help().is_some(), "{}", arg.get_id());
        let variable = arg.get_env().and_then(|v| v.to_str()).unwrap_or_default();
        assert!(variable.starts_with("PLUGWELL_"), "{}", arg.get_id());
    }
}
