//! Types of the wire have names of their own: of two with one name the OpenAPI document would keep
//! one, and bodies would be checked against the wrong one.

use std::collections::BTreeMap;

/// Names of the types in a file that derive a schema, its comments and strings blanked.
fn schemas(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    let mut derives = false;
    for line in code.lines() {
        let mut words = line
            .split_whitespace()
            .filter(|word| !word.starts_with("pub"));
        let name = match words.next() {
            Some("struct" | "enum") => words.next(),
            _ => {
                derives |= line.trim_start().starts_with("#[") && line.contains("ToSchema");
                continue;
            }
        };
        let end = |c: char| !c.is_alphanumeric();
        if std::mem::take(&mut derives) {
            names.extend(name.map(|name| name.split(end).next().unwrap_or_default().to_owned()));
        }
    }
    names
}

#[test]
fn no_two_schemas_have_one_name() {
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (file, code) in super::sources() {
        for name in schemas(&code) {
            found.entry(name).or_default().push(file.clone());
        }
    }
    assert!(found.len() > 100, "schemas are found: {}", found.len());
    let twice = found.iter().filter(|(_, files)| files.len() > 1);
    let twice: Vec<String> = twice
        .map(|(name, files)| format!("{name}: {}", files.join(", ")))
        .collect();
    super::none("a schema's name is used once", &twice);
}

#[test]
fn schemas_are_seen() {
    let code = "#[derive(Debug, ToSchema)]\n#[serde(x)]\npub struct Own {\n}\npub(super) enum Not {\n}\n\
                #[cfg_attr(feature = \"\", derive(utoipa::ToSchema))]\nenum Other<T> {}\n";
    assert_eq!(schemas(code), ["Own", "Other"]);
}
