//! What is no HTTP: answered by a bare status, as the table of problems says, and no error of the shop's.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::Duration;

use plugwell::http::problem::table;
use plugwell_tests::{Shop, shared};

/// What comes back for bytes.
fn answered(shop: &Shop, bytes: &[u8]) -> String {
    let address = shop.url().trim_start_matches("http://");
    let mut stream = TcpStream::connect(address).expect("a connection");
    stream
        .set_read_timeout(Some(Duration::from_secs(30)))
        .expect("a limit");
    stream.write_all(bytes).expect("it is sent");
    stream.shutdown(Shutdown::Write).expect("nothing more");
    let mut came = Vec::new();
    // A connection that is cut off brought what it brought.
    let _ = stream.read_to_end(&mut came);
    String::from_utf8_lossy(&came).into_owned()
}

#[test]
fn a_head_that_cannot_be_read_is_answered_by_a_bare_status() {
    for shop in shared() {
        let broken = [
            (&b"this is no request\r\n\r\n"[..], 400),
            (
                b"POST /v1/plugs HTTP/1.1\r\nHost: a\r\nContent-Length: many\r\n\r\n",
                400,
            ),
        ];
        for (bytes, status) in broken {
            let answer = answered(shop, bytes);
            let (head, body) = answer.split_once("\r\n\r\n").expect("a head");
            assert!(head.starts_with(&format!("HTTP/1.1 {status} ")), "{head}");
            assert_eq!(body, "", "{head}");
            assert!(table().contains(&format!("bare {status}")), "{status}");
        }
        let log = shop.log();
        assert!(!log.contains("stream error"), "the callers are at fault");
    }
}
