//! Clients that others generate from the document compile and do the main job: match, reserve, issue,
//! scrap. `PLUGWELL_CLIENT_TOOLS` names the folder that the generators are installed in.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use plugwell_tests::bodies::{self, unique};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");

/// The folder of the generators; `None` where nobody named it, which is said aloud.
fn tools() -> Option<PathBuf> {
    let named = std::env::var_os("PLUGWELL_CLIENT_TOOLS").map(PathBuf::from);
    if named.is_none() {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and PLUGWELL_CLIENT_TOOLS names no folder"
        );
        // Past the capture of the test harness.
        let _ = writeln!(
            std::io::stderr(),
            "not tested with generated clients: PLUGWELL_CLIENT_TOOLS names no folder"
        );
    }
    named
}

/// Runs a program to its end; what it printed.
#[track_caller]
fn run(command: &mut Command) -> String {
    let output = command
        .output()
        .unwrap_or_else(|e| panic!("{command:?}: {e}"));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}\n{printed}\n{errors}");
    printed
}

/// A build with this thread, of which twenty plugs that fit it are on the shelf, and the part.
fn stocked(shop: &Shop, thread: &str) -> (String, String) {
    let threaded = |body| bodies::with(body, json!({ "thread": thread }));
    let plug = bodies::stored_plug(shop, &threaded(bodies::plug(&unique("FW-CLIENT"))));
    let bin = bodies::bin(shop, &unique("Rack C shelf"));
    bodies::receive(shop, &plug, &bin, 20);
    let head = json!({ "head": threaded(bodies::head()) });
    let build = bodies::with(bodies::build(), head);
    let build = shop.post(Who::Tuner, "/v1/builds", &build).expect(201);
    (build.text("id"), plug)
}

/// Lets a client do the job, and holds what it says against the books.
fn does_the_job(shop: &Shop, thread: &str, client: impl Fn(&[&str]) -> String) {
    let (build, plug) = stocked(shop, thread);
    let job = unique("client's job");
    let token = shop.token(Who::Tuner).expect("a token");
    let printed = client(&[shop.url(), token, &build, &job]);
    let done: Value =
        serde_json::from_str(printed.trim()).unwrap_or_else(|e| panic!("{printed}: {e}"));
    assert_eq!(done["plug_id"], plug.as_str(), "{done}");
    assert_eq!(done["available"], 20, "{done}");
    let quantity = done["quantity"].as_i64().expect("a quantity");
    assert!(quantity >= 8, "one for each cylinder: {done}");
    let listed = shop
        .get(
            Who::Reader,
            &format!("/v1/stock/movements?job={}", job.replace(' ', "%20")),
        )
        .expect(200);
    let kinds = |kind: &str| -> Vec<(&str, i64)> {
        let items = listed.json["items"].as_array().into_iter().flatten();
        let of_kind = items.filter(|m| m["kind"] == kind && m["plug_id"] == plug.as_str());
        let told = of_kind.map(|m| {
            (
                m["id"].as_str().unwrap_or_default(),
                m["quantity"].as_i64().unwrap_or_default(),
            )
        });
        told.collect()
    };
    let ids = |member: &str| done[member].as_array().expect("a list").clone();
    for (kind, member, sum) in [("issue", "issued", quantity), ("scrapping", "scrapped", 1)] {
        let booked = kinds(kind);
        assert_eq!(
            booked.iter().map(|(_, q)| q).sum::<i64>(),
            sum,
            "{kind}: {booked:?}"
        );
        let booked: Vec<&str> = booked.into_iter().map(|(id, _)| id).collect();
        assert_eq!(ids(member), booked, "{kind}");
    }
    let left = 20 - quantity;
    assert_eq!(bodies::stock_of(shop, &plug), (left, left));
}

#[test]
fn the_generated_python_client_does_the_main_job() {
    let Some(tools) = tools() else { return };
    let folder = tempfile::tempdir().expect("a folder");
    let package = folder.path().join("plugwell_client");
    let python = tools.join("py/bin");
    run(Command::new(python.join("openapi-python-client"))
        .arg("generate")
        .arg("--path")
        .arg(format!("{ROOT}/openapi/openapi.json"))
        .arg("--config")
        .arg(format!("{ROOT}/tests/clients/python/generator.yaml"))
        .arg("--output-path")
        .arg(&package)
        .args(["--meta", "none", "--overwrite", "--fail-on-warning"]));
    run(Command::new(python.join("python"))
        .args(["-m", "compileall", "-q"])
        .arg(&package));
    for shop in shared() {
        does_the_job(shop, "M14x1.25", |arguments| {
            run(Command::new(python.join("python"))
                .arg(format!("{ROOT}/tests/clients/python/main_job.py"))
                .args(arguments)
                .env("PYTHONPATH", folder.path())
                .env("PYTHONDONTWRITEBYTECODE", "1"))
        });
    }
}

#[test]
fn the_generated_typescript_client_does_the_main_job() {
    let Some(tools) = tools() else { return };
    // Beside the installed packages, so that their imports are found.
    let folder = tempfile::tempdir_in(&tools).expect("a folder");
    let program = |name: &str| Command::new(tools.join("node_modules/.bin").join(name));
    run(program("openapi-typescript")
        .arg(format!("{ROOT}/openapi/openapi.json"))
        .arg("-o")
        .arg(folder.path().join("plugwell.d.ts")));
    for file in ["main_job.ts", "tsconfig.json"] {
        let own = Path::new(ROOT).join("tests/clients/typescript").join(file);
        fs::copy(&own, folder.path().join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
    }
    // The compiled file is a module.
    fs::write(
        folder.path().join("package.json"),
        "{ \"type\": \"module\" }",
    )
    .expect("a file");
    run(program("tsc").arg("-p").arg(folder.path()));
    for shop in shared() {
        does_the_job(shop, "M12x1.25", |arguments| {
            run(Command::new("node")
                .arg(folder.path().join("made/main_job.js"))
                .args(arguments))
        });
    }
}
