//! Whether the service lives and can work, and what it counts: without a token.

use plugwell_tests::{Who, shared};

#[test]
fn it_lives_and_can_work() {
    for shop in shared() {
        let lives = shop.get(Who::Nobody, "/livez").expect(200);
        assert!(
            lives
                .header("content-type")
                .is_some_and(|kind| kind.starts_with("text/plain")),
            "{lives:?}"
        );
        let ready = shop.get(Who::Nobody, "/readyz").expect(200);
        assert_eq!(
            (
                &ready.json["ready"],
                &ready.json["database"],
                &ready.json["migrations"]
            ),
            (&true.into(), &true.into(), &true.into())
        );
        assert!(
            ready.json["index_lag"].as_i64().is_some_and(|lag| lag >= 0),
            "{ready:?}"
        );
    }
}

/// The sum of all samples of a counter.
fn counted(exposition: &str, name: &str) -> f64 {
    let samples = exposition.lines().filter(|line| line.starts_with(name));
    samples
        .map(|line| line.rsplit(' ').next().unwrap().parse::<f64>().unwrap())
        .sum()
}

#[test]
fn the_metrics_are_openmetrics_and_count() {
    for shop in shared() {
        let first = shop.get(Who::Nobody, "/metrics").expect(200);
        let kind = first.header("content-type").unwrap_or_default();
        assert!(
            kind.starts_with("application/openmetrics-text; version=1.0.0"),
            "{kind}"
        );
        let text = String::from_utf8(first.body).unwrap();
        // OpenMetrics 1.0: the exposition ends with EOF, every sample has its family's type.
        assert!(text.ends_with("# EOF\n"), "{text}");
        let families: Vec<&str> = text
            .lines()
            .filter_map(|line| line.strip_prefix("# TYPE ")?.split(' ').next())
            .collect();
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            assert!(
                families.iter().any(|family| line.starts_with(family)),
                "{line}"
            );
            assert!(
                line.rsplit(' ')
                    .next()
                    .is_some_and(|value| value.parse::<f64>().is_ok()),
                "{line}"
            );
        }
        let answers = counted(&text, "plugwell_answers_total{class=\"4xx\"}");
        shop.get(Who::Reader, "/v1/nowhere")
            .problem(404, "not_found");
        let again = String::from_utf8(shop.get(Who::Nobody, "/metrics").expect(200).body).unwrap();
        assert!(
            counted(&again, "plugwell_answers_total{class=\"4xx\"}") > answers,
            "{again}"
        );
        assert_eq!(counted(&again, "plugwell_panics_total"), 0.0);
        // Through a proxy on this machine the caller is not from here.
        let proxied = [("x-forwarded-for", "192.0.2.1")];
        shop.send("GET", "/metrics", Who::Nobody, &proxied, "")
            .problem(401, "unauthorized");
        shop.send("GET", "/metrics", Who::Reader, &proxied, "")
            .expect(200);
    }
}
