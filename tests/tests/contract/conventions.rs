//! What holds for every body: JSON, an object, of members that there are, of a type and size that
//! are taken; all of it told in one form.

use std::io::{Read, Write};
use std::net::TcpStream;

use plugwell_tests::bodies::{plug, unique};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// A once-only key for endpoints that ask for one; the others let it pass.
const KEY: (&str, &str) = ("idempotency-key", "a-key");
const JSON: (&str, &str) = ("content-type", "application/json");

/// Every path that takes a JSON body in a POST.
pub const POSTS: &[&str] = &[
    "/v1/plugs",
    "/v1/heads",
    "/v1/builds",
    "/v1/heat-scales",
    "/v1/requirements",
    "/v1/matches",
    "/v1/fitment-checks",
    "/v1/stock/places",
    "/v1/stock/receipts",
    "/v1/stock/issues",
    "/v1/stock/returns",
    "/v1/stock/transfers",
    "/v1/stock/scrappings",
    "/v1/stock/reversals",
    "/v1/stock/reservations",
    "/v1/tokens",
    "/v1/tuning-days",
    "/v1/readings",
];

#[test]
fn what_is_not_json_is_refused_as_such_everywhere() {
    let deep = "[".repeat(100_000);
    let bodies: [&[u8]; 10] = [
        b" \n",
        b"{",
        b"{\"quantity\": NaN}",
        b"{\"quantity\": Infinity}",
        b"{\"quantity\": 1e999}",
        b"{'quantity': 1}",
        b"{\"a\": 1, \"a\": 2}",
        b"{} {}",
        b"{\"a\": \"\xff\"}",
        deep.as_bytes(),
    ];
    for shop in shared() {
        for path in POSTS {
            for body in bodies {
                let answer = shop
                    .send("POST", path, Who::Manager, &[JSON, KEY], body)
                    .problem(400, "bad_json");
                let detail = answer.text("detail");
                assert!(
                    !detail.contains("serde") && detail.len() < 200,
                    "{answer:?}"
                );
            }
        }
    }
}

#[test]
fn a_body_that_is_no_object_is_refused_everywhere() {
    for shop in shared() {
        for path in POSTS {
            for body in [json!([]), json!("x"), json!(7), json!(true), Value::Null] {
                let answer = shop.send("POST", path, Who::Manager, &[JSON, KEY], body.to_string());
                let answer = answer.problem(400, "invalid");
                let pointers: Vec<_> = answer
                    .faults()
                    .iter()
                    .map(|f| f.split(' ').next().unwrap().to_owned())
                    .collect();
                assert_eq!(pointers, ["#"], "{body} to {answer:?}");
            }
        }
    }
}

#[test]
fn unknown_members_are_named_each_one_everywhere() {
    for shop in shared() {
        for path in POSTS {
            let body = json!({ "colour": "red", "reach": 19, "a/b~c": null });
            let answer = shop
                .send_json("POST", path, Who::Manager, &[KEY], &body)
                .problem(400, "invalid");
            let faults = answer.faults();
            for pointer in ["#/colour", "#/reach", "#/a~1b~0c"] {
                let fault = format!("{pointer} unknown_member");
                assert!(faults.contains(&fault), "{fault} in {answer:?}");
            }
        }
    }
}

#[test]
fn a_body_of_another_type_is_refused_everywhere() {
    for shop in shared() {
        for path in POSTS {
            for kind in [
                "text/plain",
                "application/xml",
                "application/json5",
                "application/json; charset=utf-16",
                "",
            ] {
                let headers = [("content-type", kind), KEY];
                let headers = if kind.is_empty() {
                    &headers[1..]
                } else {
                    &headers[..]
                };
                shop.send("POST", path, Who::Manager, headers, "{}")
                    .problem(415, "unsupported_media_type");
            }
            let headers = [JSON, KEY, ("content-encoding", "gzip")];
            shop.send("POST", path, Who::Manager, &headers, "{}")
                .problem(415, "unsupported_media_type");
        }
        let kind = ("content-type", "Application/JSON; charset=\"UTF-8\"");
        let body = plug(&unique("KIND")).to_string();
        shop.send("POST", "/v1/plugs", Who::Clerk, &[kind], body)
            .expect(201);
        let table = ("content-type", "application/json");
        shop.send(
            "POST",
            "/v1/imports/plugs",
            Who::Clerk,
            &[table, KEY],
            "maker",
        )
        .problem(415, "unsupported_media_type");
    }
}

/// A body of exactly so many bytes.
fn of_length(length: usize) -> String {
    let rest = json!({ "name": "" }).to_string().len();
    json!({ "name": "x".repeat(length - rest) }).to_string()
}

#[test]
fn a_body_has_at_most_one_mebibyte() {
    const LIMIT: usize = 1 << 20;
    for shop in shared() {
        for path in POSTS {
            let fits = of_length(LIMIT);
            assert_eq!(fits.len(), LIMIT);
            shop.send("POST", path, Who::Manager, &[JSON, KEY], fits)
                .problem(400, "invalid");
            shop.send(
                "POST",
                path,
                Who::Manager,
                &[JSON, KEY],
                of_length(LIMIT + 1),
            )
            .problem(413, "payload_too_large");
        }
        // Without a length announced, in pieces.
        let answer = chunked(shop, "/v1/plugs", of_length(LIMIT + 1).as_bytes());
        assert!(answer.starts_with("HTTP/1.1 413 "), "{answer}");
        assert!(
            answer.contains("urn:plugwell:problem:payload_too_large"),
            "{answer}"
        );
        let answer = chunked(
            shop,
            "/v1/plugs",
            plug(&unique("CHUNK")).to_string().as_bytes(),
        );
        assert!(answer.starts_with("HTTP/1.1 201 "), "{answer}");
    }
}

/// Sends a POST in pieces; the answer as text, headers and all.
fn chunked(shop: &Shop, path: &str, body: &[u8]) -> String {
    let address = shop.url().trim_start_matches("http://");
    let mut line = TcpStream::connect(address).unwrap();
    let token = shop.token(Who::Clerk).unwrap();
    write!(
        line,
        "POST {path} HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\nConnection: close\r\n\
         Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    .unwrap();
    for piece in body.chunks(40_000) {
        // Who is refused early need not send the rest.
        let sent = write!(line, "{:x}\r\n", piece.len()).and_then(|()| line.write_all(piece));
        if sent.and_then(|()| line.write_all(b"\r\n")).is_err() {
            break;
        }
    }
    let _ = line.write_all(b"0\r\n\r\n");
    let mut answer = Vec::new();
    // The service may close before it has taken everything: what it said counts.
    let _ = line.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}
