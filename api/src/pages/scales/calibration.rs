//! Calibrating scales: what was stated, what comes out, what contradicts what; applied by a manager, and
//! nothing else than what was looked at.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::calibration::{CalibrationRequest, Footing, ScaleCode};
use plugwell_domain::fault::Fault;
use plugwell_domain::heat_scale::HeatScale;
use plugwell_domain::words::Role;
use serde_json::{Value, json};

use super::name;
use super::statements::statements;
use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::form::{self, Declared, Form, Stored, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::scales::{self, Broken, CalibratedScale, Calibrating};
use crate::service::{Refusal, Shop};
use crate::shown::marked;

/// Most scales that are known by name.
const SCALES: i64 = 10_000;

const FORM: &[Declared] = &[
    needed(field(
        "anchor_scale",
        "scales-the-scale-that-stands",
        Form::Stored(Stored::HeatScale),
        "scales-the-scale-that-stands-hint",
    )),
    needed(field(
        "statements",
        "scales-statements",
        Form::Lines,
        "scales-statements-hint",
    )),
];

#[derive(Template)]
#[template(path = "scales/calibration.html")]
struct Page {
    frame: Frame,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
    found: Option<Found>,
    /// Whether whoever looks may apply it.
    may_apply: bool,
}

/// What a calibration found.
struct Found {
    in_short: String,
    /// What breaks the rest: what it says, and the chain of what the rest says.
    contradictions: Vec<(String, String)>,
    all_found: bool,
    scales: Vec<(String, Listing)>,
    statements: Listing,
    fingerprint: String,
    /// What was typed, to be sent again.
    anchor: String,
    text: String,
    /// How many codes would move.
    moved: usize,
}

/// The page at `/heat-scales/calibration`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        page(shop, frame, &typed, &[], None, StatusCode::OK)
    })
    .await
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    wrong: &[Wrong],
    found: Option<Found>,
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let mut fields = form::all_shown(shop, FORM, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let page = Page {
        may_apply: frame.may(Role::Manager),
        frame,
        fields,
        focus: first_wrong.unwrap_or_default(),
        faults,
        found,
    };
    Reply::page(status, &page)
}

/// Statements that were sent, to be looked at or applied.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Reader) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let known = scales::list(shop, None, SCALES)?;
        let (body, lines, mut wrong) = asked(shop, &typed, &known)?;
        let applies = !typed.one("fingerprint").is_empty();
        if applies && wrong.is_empty() {
            let mut body = body.clone();
            body["apply"] = true.into();
            body["fingerprint"] = typed.one("fingerprint").into();
            match calibrated(shop, who.actor.role, body) {
                Ok(found) => {
                    let scales = found.scales.len().saturating_sub(1);
                    return Ok(Reply::Elsewhere(format!("/heat-scales?applied={scales}")));
                }
                Err(Refusal::Conflict { detail, .. }) => wrong.push(Wrong::all(say_with(
                    "scales-nothing-applied-detail-look-comes",
                    &[("detail", &detail)],
                ))),
                Err(other) => return Err(other),
            }
        }
        let refused = wrong.iter().any(|one| !one.field.is_empty());
        let outcome = match refused {
            true => Err(Refusal::Faults(Vec::new())),
            false => calibrated(shop, Role::Reader, body),
        };
        let (found, status) = match outcome {
            Ok(found) => {
                let found = told(&found, &typed, &lines, &known);
                let status = match wrong.is_empty() {
                    true => StatusCode::OK,
                    false => StatusCode::CONFLICT,
                };
                (Some(found), status)
            }
            Err(Refusal::Faults(faults)) => {
                add(&mut wrong, &by_line(faults, &lines));
                (None, StatusCode::BAD_REQUEST)
            }
            Err(other) => return Err(other),
        };
        page(shop, frame, &typed, &wrong, found, status)
    })
    .await
}

fn calibrated(shop: &Shop, role: Role, body: Value) -> Result<Calibrating, Refusal> {
    let request = CalibrationRequest::check(body).map_err(Refusal::Faults)?;
    scales::calibrate(shop, role, &request)
}

/// The request that was typed, the line of each of its statements, and what is not understood.
fn asked(
    shop: &Shop,
    typed: &Typed,
    known: &[HeatScale],
) -> Result<(Value, Vec<usize>, Vec<Wrong>), Refusal> {
    let (map, mut wrong) = form::object(shop, FORM, typed)?;
    let (mut lines, mut stated) = (Vec::new(), Vec::new());
    match statements(typed.one("statements"), known) {
        Ok(read) => (lines, stated) = read.into_iter().unzip(),
        Err(all) => wrong.extend(all.into_iter().map(|why| Wrong::with("statements", why))),
    }
    let anchor = map.get("anchor_scale_id").cloned().unwrap_or_default();
    let body = json!({ "anchor_scale_id": anchor, "statements": stated });
    Ok((body, lines, wrong))
}

/// Faults of statements, said of the line that each stands in.
fn by_line(faults: Vec<Fault>, lines: &[usize]) -> Vec<Fault> {
    let of_field = |fault: Fault| {
        let place = fault.pointer.strip_prefix("#/statements/");
        let place = place.and_then(|rest| rest.split('/').next()?.parse::<usize>().ok());
        let line = place.and_then(|place| lines.get(place));
        let detail = match line {
            Some(line) => say_with(
                "scales-line-line-detail",
                &[("line", &line), ("detail", &marked(fault.detail.clone()))],
            ),
            None => marked(fault.detail.clone()),
        };
        let pointer = match fault.pointer.as_str() {
            "#/anchor_scale_id" => "#/anchor_scale".to_owned(),
            _ if line.is_some() => "#/statements".to_owned(),
            other => other.to_owned(),
        };
        Fault {
            pointer,
            detail,
            ..fault
        }
    };
    faults.into_iter().map(of_field).collect()
}

fn told(found: &Calibrating, typed: &Typed, lines: &[usize], known: &[HeatScale]) -> Found {
    let scale_name = |id| known.iter().find(|scale| scale.id == id).map(name);
    let text = typed.one("statements");
    let codes = found.scales.iter().flat_map(|scale| &scale.codes);
    let moved = codes.filter(|code| code.would_be != code.now).count();
    let linked = found.statements.iter().filter(|s| s.residual.is_some());
    let in_short = say_with(
        "scales-count-statements-reach-scale-stands",
        &[
            ("count", &linked.count()),
            ("statements", &found.statements.len()),
            ("moved", &moved),
        ],
    );
    let scales = found.scales.iter().filter(|s| {
        let anchor = typed.one("anchor_scale");
        s.scale_id.to_string() != anchor
    });
    Found {
        in_short,
        contradictions: found
            .contradictions
            .iter()
            .map(|broken| contradiction(broken, lines, &scale_name))
            .collect(),
        all_found: found.all_found,
        scales: scales
            .map(|scale| {
                let name = scale_name(scale.scale_id).unwrap_or_default();
                (name.clone(), codes_of(scale, &name))
            })
            .collect(),
        statements: residuals(found, lines, text),
        fingerprint: found.fingerprint.clone(),
        anchor: typed.one("anchor_scale").to_owned(),
        text: text.to_owned(),
        moved,
    }
}

/// What breaks the rest, and the chain that it breaks.
fn contradiction(
    broken: &Broken,
    lines: &[usize],
    scale_name: &dyn Fn(uuid::Uuid) -> Option<String>,
) -> (String, String) {
    let code = |of: &ScaleCode| {
        let scale = scale_name(of.scale_id).unwrap_or_default();
        format!("{scale} {}", of.code)
    };
    let line = |place: usize| lines.get(place).copied().unwrap_or(place + 1);
    let steps = broken.chain.iter().map(|link| {
        let because = match link.statement {
            Some(place) => say_with("scales-by-line-line", &[("line", &line(place))]),
            None => say("scales-order-scale").to_owned(),
        };
        format!("{} → {} ({because})", code(&link.from), code(&link.to))
    });
    let chain = steps.collect::<Vec<_>>().join("; ");
    (
        say_with(
            "scales-line-line-text",
            &[
                ("line", &line(broken.index)),
                ("text", &marked(broken.text.clone())),
            ],
        ),
        chain,
    )
}

fn codes_of(scale: &CalibratedScale, name: &str) -> Listing {
    let rows = scale.codes.iter().map(|code| {
        let rests = match code.footing {
            Footing::Fitted => say_with(
                "scales-so-many-statements",
                &[("statements", &code.determined_by)],
            ),
            Footing::Interpolated => say("scales-its-place-between-fitted-neighbours").to_owned(),
            Footing::Kept => say("scales-nothing-it-stays").to_owned(),
            Footing::Pushed => say("scales-nothing-order-moves-look").to_owned(),
        };
        let moves = match code.would_be == code.now {
            true => "",
            false => say("scales-moves"),
        };
        vec![
            Cell::of(&code.code),
            Cell::of(marked(code.now.to_string())),
            Cell::of(marked(code.would_be.to_string())).noted(moves),
            Cell::of(rests),
        ]
    });
    Listing {
        caption: say_with("scales-codes-of-name", &[("name", &name)]),
        columns: vec![
            words("scales-code"),
            figures("scales-index-now"),
            figures("scales-would-be"),
            words("scales-rests-on"),
        ],
        rows: rows.collect(),
        empty: say("scales-it-has-no-code"),
        ..Listing::default()
    }
}

fn residuals(found: &Calibrating, lines: &[usize], text: &str) -> Listing {
    let said: Vec<&str> = text.lines().map(str::trim).collect();
    let rows = found.statements.iter().map(|one| {
        let line = lines.get(one.index).copied().unwrap_or_default();
        let missed = match one.residual {
            Some(residual) => marked(residual.to_string()),
            None => say("scales-tells-nothing-no-chain-links").to_owned(),
        };
        let breaks = match found.contradictory.contains(&one.index) {
            true => say("scales-breaks-the-rest"),
            false => "",
        };
        let words = said
            .get(line.saturating_sub(1))
            .copied()
            .unwrap_or_default();
        vec![
            Cell::of(line),
            Cell::of(words.replace('\t', " ")),
            Cell::of(missed).noted(breaks),
        ]
    });
    Listing {
        caption: say("scales-how-far-each-statement-misses").into(),
        columns: vec![
            figures("scales-line"),
            words("scales-said"),
            figures("scales-misses-by"),
        ],
        rows: rows.collect(),
        empty: say("scales-nothing-was-stated"),
        ..Listing::default()
    }
}
