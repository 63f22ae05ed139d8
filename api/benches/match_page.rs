//! The page of a match on the demo shop, from request to the last byte as a browser gets it: each stored
//! build of which something fits, one after the other. The aim is under 100 ms a page on two cores.
//!
//! `cargo bench -p plugwell --bench match_page`, about half a minute after the demo is filled.

use std::hint::black_box;
use std::sync::Arc;
use std::time::Duration;

use actix_web::Error;
use actix_web::body::{MessageBody, to_bytes};
use actix_web::dev::{Service, ServiceResponse};
use actix_web::http::StatusCode;
use actix_web::http::header::{ACCEPT, ACCEPT_ENCODING, COOKIE};
use actix_web::rt::System;
use actix_web::test::{TestRequest, call_service, init_service};
use actix_web::web::Bytes;
use criterion::{Criterion, criterion_group, criterion_main};
use plugwell::app::{Shared, application};
use plugwell::demo;
use plugwell::http::rate::Rates;
use plugwell::http::request::Limits;
use plugwell::http::shapes;
use plugwell::service::{Shop, access, builds};
use plugwell_domain::words::Role;
use plugwell_store::{Options, Store, Target};

/// Most builds that the demo shop may have.
const BUILDS: i64 = 1_000;

/// What the page of a match has for each part that fits.
const FIT: &str = "<li class=\"fit\">";

/// What a browser takes, and what shows the page as it is.
const PACKED: &str = "gzip, deflate, br, zstd";
const PLAIN: &str = "identity";

/// What a browser that is signed in asks for a page with.
fn request(cookie: &str, path: &str, encoding: &str) -> TestRequest {
    TestRequest::get()
        .uri(path)
        .insert_header((ACCEPT, "text/html"))
        .insert_header((ACCEPT_ENCODING, encoding))
        .insert_header((COOKIE, cookie))
}

/// The page that a request gets, to its last byte.
async fn whole<S, R, B>(service: &S, request: R) -> Bytes
where
    S: Service<R, Response = ServiceResponse<B>, Error = Error>,
    B: MessageBody,
{
    let answer = call_service(service, request).await;
    assert_eq!(answer.status(), StatusCode::OK);
    let body = to_bytes(answer.into_body()).await;
    body.ok().expect("a whole page")
}

fn pages(criterion: &mut Criterion) {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    let target = Target::Sqlite(folder.path().join("shop.db"));
    let store = Store::open(&target, &Options::default()).expect("a database");
    let shop = Shop::open(store, &folder.path().join("index"), &|_, _| {}).expect("a shop");
    demo::fill(&shop, &|_| {}).expect("the demo shop");
    let tuner = access::create(&shop, "bench", Role::Tuner).expect("a token");
    let session = shop.access.sign_in(tuner.token.id).expect("a session");
    let cookie = format!("plugwell={session}");
    let stored = builds::list(&shop, None, BUILDS).expect("builds");
    let paths = stored.iter().map(|build| format!("/?build={}", build.id));
    let paths: Vec<String> = paths.collect();

    shapes::prepare();
    let system = System::new();
    let shared = Shared::new(Arc::new(shop), Limits::default(), Rates::default());
    let service = system.block_on(init_service(application(&shared)));
    let plain = |path: &String| {
        let request = request(&cookie, path, PLAIN).to_request();
        let page = system.block_on(whole(&service, request));
        String::from_utf8(page.to_vec()).expect("a page is text")
    };
    // A page without a fit is none that anybody waits for.
    let fits = |path: &String| plain(path).matches(FIT).count();
    let (with, without): (Vec<_>, Vec<_>) = paths.into_iter().partition(|path| fits(path) > 0);
    assert!(with.len() > without.len(), "{with:?} {without:?}");
    println!("{} builds of which something fits", with.len());

    let mut group = criterion.benchmark_group("match_page");
    group
        .sample_size(50)
        .warm_up_time(Duration::from_secs(3))
        .measurement_time(Duration::from_secs(15));
    let mut next = with.iter().cycle();
    group.bench_function("one", |bencher| {
        bencher.iter(|| {
            let path = next.next().expect("a cycle has no end");
            let request = request(&cookie, path, PACKED).to_request();
            black_box(system.block_on(whole(&service, request)))
        });
    });
    group.finish();
}

criterion_group!(benches, pages);
criterion_main!(benches);
