//! What forms answer, judged for everybody's use: what was found, what was done, what is wrong.

use plugwell_tests::Who;
use serde_json::Value;

use crate::browser::{Page, visit};
use crate::demo::Demo;
use crate::devtools::axe;
use crate::judging::Judge;
use crate::steps::{booked, described, matched, sign_in};

/// Forms that refuse to be sent as they stand, since something is to be filled in.
const UNFILLED: &[&str] = &[
    "/receive",
    "/issue",
    "/return",
    "/move",
    "/scrap",
    "/reserve",
    "/incoming-check",
    "/labels",
    "/parts/new",
    "/builds/new",
    "/heads/new",
    "/heat-scales/new",
    "/heat-scales/calibration",
    "/stand-ins/new",
    "/import",
    "/people",
    "/webhooks/new",
];

/// Somebody who opens pages, sends forms and has every answer judged.
struct Round<'a> {
    page: &'a Page,
    demo: &'a Demo,
    /// Heat scales, a build and a part of the demo shop, asked for before the browser starts.
    scales: Vec<Value>,
    build: Value,
    plug: Value,
    judge: Judge,
}

impl Round<'_> {
    async fn open(&self, path: &str) {
        self.page.show_as(1280, false).await;
        self.page.open(&format!("{}{path}", self.demo.url())).await;
    }

    /// Has the page judged that came, which has to say something.
    async fn came(&mut self, name: &str, says: &str) {
        let text = self.page.text().await;
        assert!(text.contains(says), "{name} says no {says}: {text}");
        self.judge.judge(self.page, name).await;
        self.page.show_as(1280, false).await;
    }

    async fn refuse_what_is_not_filled_in(&mut self) {
        for path in UNFILLED {
            self.open(path).await;
            self.page.follow("main form[method=post] [data-main]").await;
            assert!(!self.page.all(".faults li").await.is_empty(), "{path}");
            self.came(&format!("{path}, refused"), "This needs another look")
                .await;
        }
    }

    async fn calibrate(&mut self) {
        let scales = &self.scales;
        let (name, code) = (
            |at: usize| {
                let word = |member: &str| scales[at][member].as_str().unwrap_or_default();
                format!("{} {}", word("maker"), word("name"))
            },
            |at: usize, code: usize| {
                let text = scales[at]["codes"][code]["code"].as_str();
                text.expect("a code").to_owned()
            },
        );
        let line = |one: usize, other: usize| {
            let (left, right) = (code(0, one), code(1, other));
            format!("{} {left} = {} {right}", name(0), name(1))
        };
        self.open("/heat-scales/calibration").await;
        self.page.choose("anchor_scale", &name(0)).await;
        let text = [line(0, 0), line(1, 1), line(2, 2), line(3, 0)].join("\n");
        self.page.fill("statements", &text).await;
        self.page.follow("[data-main]").await;
        self.came("calibration, looked at", "What comes out").await;
    }

    async fn look_over(&mut self, name: &str, lines: &str, says: &str) {
        self.open("/import").await;
        self.page.choose("kind", "Plugs").await;
        self.page.fill("lines", lines).await;
        self.page.follow("[data-main]").await;
        self.came(name, says).await;
    }

    async fn import(&mut self) {
        let faulty = "maker,part_number,reach_mm\nFerrowick,FW-9901,deep";
        self.look_over("table with faults", faulty, "One fault")
            .await;
        let fine = "maker,part_number,reach_mm\nFerrowick,FW-9901,19";
        self.look_over("table, looked over", fine, "What would change")
            .await;
        self.page.follow("[data-main]").await;
        self.came("table, booked", "Plugs: 1 row").await;
    }

    async fn admit(&mut self) {
        self.open("/people").await;
        self.page.fill("name", "Sela").await;
        self.page.choose("role", "clerk").await;
        self.page.follow("[data-main]").await;
        self.came("a new secret", "the only time").await;
        self.page.follow(".besides a.act").await;
        self.page.follow(".listing td a").await;
        self.page.follow("form[action$='/link'] button").await;
        self.came("a link that signs in", "signs in once").await;
    }

    async fn enter_a_webhook(&mut self) {
        self.open("/webhooks/new").await;
        self.page.press("#types summary").await;
        // Nobody is there: what is delivered fails.
        self.page.fill("url", "https://jobs.invalid/told").await;
        self.page.follow("[data-main]").await;
        self.came("the secret of a webhook", "the only time").await;
        self.page.follow("main a.act").await;
        self.came("a webhook", "Nothing has happened yet").await;
        self.page.follow("form[action$='/secrets'] button").await;
        self.came("one more secret", "retire the older").await;
        self.page.follow("main a.act").await;
        self.page.follow("form[action$='/sending'] button").await;
        self.came("a webhook that is off", "Nothing is sent to it")
            .await;
        self.page.follow("form[action$='/sending'] button").await;
        self.page.follow(".side a.act").await;
        self.came("the change of a webhook", "Change the webhook")
            .await;
    }

    /// What came of telling it of what was issued meanwhile.
    async fn look_at_deliveries(&mut self) {
        self.open("/webhooks").await;
        self.came("a list of webhooks", "jobs.invalid").await;
        self.page.follow(".listing td a").await;
        self.came("a log of deliveries", "Made out").await;
        self.page.follow(".listing td a").await;
        self.came("a delivery", "Attempts").await;
    }

    async fn issue(&mut self) {
        matched(self.page, self.demo).await;
        self.page.follow(".fit .act").await;
        self.page.fill("quantity", "100000").await;
        self.page.fill("job", "J-6300").await;
        self.page.fill("gap_mm", "wide").await;
        self.page.follow(".counter > button").await;
        self.came("issue, not understood", "Nothing has been booked")
            .await;
        self.page.fill("gap_mm", "").await;
        self.page.follow(".counter > button").await;
        self.came("issue of too many", "to be had").await;
        self.page.fill("quantity", "1").await;
        booked(self.page).await;
        self.came("booked", "As it stands in the books").await;
    }

    async fn ask(&mut self) {
        let build = self.build["id"].as_str().expect("an id").to_owned();
        let number = self.plug["part_number"]
            .as_str()
            .expect("a number")
            .to_owned();
        described(self.page, self.demo).await;
        self.came("what fits a build by hand", "What the plug must be")
            .await;
        self.open("/?cylinders=x&power_kw=y").await;
        self.came("a build that is not understood", "no whole number")
            .await;
        let told = format!("in_part={number}&in_dropped=1&symptoms=detonation");
        self.open(&format!("/check?asked=yes&build={}&{told}", build))
            .await;
        self.came("a second opinion", "What was found").await;
        self.open("/check?asked=yes&in_gap_mm=thin").await;
        self.came("a question that is not understood", "choose a stored build")
            .await;
        self.open("/name?major_diameter_mm=13.9&pitch_mm=1.25&reach_mm=19&seat=gasket")
            .await;
        self.came("an unmarked plug, named", "Measure next").await;
        self.open("/name?reach_mm=deep").await;
        self.came("a measurement that is none", "begin with a number")
            .await;
    }
}

#[test]
fn everybody_can_use_what_forms_answer() {
    let Some(axe) = axe() else { return };
    let demo = Demo::start();
    let scales = demo.items("/v1/heat-scales");
    let build = demo.items("/v1/builds?limit=1").remove(0);
    let plug = demo.items("/v1/plugs?limit=1").remove(0);
    visit(async |page| {
        page.bring(&axe).await;
        sign_in(&page, &demo, Who::Manager).await;
        let mut round = Round {
            page: &page,
            demo: &demo,
            scales,
            build,
            plug,
            judge: Judge::default(),
        };
        round.refuse_what_is_not_filled_in().await;
        round.calibrate().await;
        round.import().await;
        round.admit().await;
        round.enter_a_webhook().await;
        round.issue().await;
        round.look_at_deliveries().await;
        round.ask().await;
        round.judge.asks_nothing();
    });
}
