//! Where settings come from, and what is wrong with them.

use std::path::Path;

use clap::{CommandFactory, Parser};

use super::*;
use crate::http::rate::ProxyHeader;

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

#[test]
fn limits_are_set_one_by_one_and_proxies_are_networks() {
    let read = |arguments: &[&str]| {
        let all = ["plugwell"].iter().chain(arguments).copied();
        Command::parse_from(all).given.complete()
    };
    let usual = read(&[]).unwrap().rates;
    assert!(!usual.loopback && usual.token.limits() && usual.address.limits());
    assert!(
        usual.address.burst > usual.token.burst,
        "several people share an address"
    );
    let set = read(&[
        "--token-rate",
        "60",
        "--token-burst",
        "5",
        "--address-rate",
        "0",
        "--wrong-token-rate",
        "0",
        "--limit-loopback",
        "--trusted-proxies",
        "10.0.0.0/8, 192.0.2.1",
    ]);
    let set = set.unwrap().rates;
    assert_eq!((set.token.per_minute, set.token.burst), (60, 5));
    assert!(!set.address.limits() && !set.wrong_token.limits() && set.loopback);
    let trusted: Vec<String> = set
        .proxies
        .trusted
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(trusted, ["10.0.0.0/8", "192.0.2.1/32"]);
    let wrong = |arguments: &[&str]| read(arguments).unwrap_err().to_string();
    assert!(wrong(&["--trusted-proxies", "proxy.example"]).contains("proxy.example"));
    assert!(wrong(&["--token-burst", "0"]).contains("token_burst is 0"));
    let given: Given = toml::from_str(
        "token_rate = 7\ntrusted_proxies = [\"127.0.0.1\"]\nproxy_header = \"forwarded\"\nlimit_loopback = true\n",
    )
    .unwrap();
    let rates = given.complete().unwrap().rates;
    assert_eq!(rates.token.per_minute, 7);
    assert_eq!(rates.proxies.header, ProxyHeader::Forwarded);
    assert!(rates.loopback);
}
