//! Finding plugs for a build: the form, what the plug must be, and what is on the shelf.

pub(super) mod engine_fields;
pub(super) mod engine_form;
pub(super) mod engine_text;
mod result;
mod wait;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Build;
use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::QUANTITY_MAX;
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::drawing;
use crate::http::body::Body;
use crate::http::etag::IfNoneMatch;
use crate::http::prefer::preference;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::find::engine_form::Group;
use crate::pages::find::result::{Asking, Shown, how_many_fit, shown};
use crate::pages::part;
use crate::pages::typed::{Typed, count};
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::pages::{at, form as form_at};
use crate::service::matching::{self, Asked, Subject};
use crate::service::{Refusal, Shop, builds, catalogue, spark, waiting_jobs};

/// Most stored builds, and heads, that a list offers.
const STORED: i64 = 1_000;

#[derive(Template)]
#[template(path = "find/find.html")]
struct Page {
    frame: Frame,
    /// Stored builds: id, name, whether it is the one that was asked for.
    builds: Vec<(Uuid, String, bool)>,
    groups: Vec<Group>,
    /// Whether the form by hand lies open.
    by_hand: bool,
    /// The field to begin with: none, since the answer is to be read first.
    focus: &'static str,
    faults: Vec<Line>,
    /// What the page is about.
    heading: String,
    /// Whether who asks may store builds.
    may_store: bool,
    /// How many waiting jobs can have their plugs.
    possible: String,
    /// How many fit, in a sentence.
    count: String,
    /// What is still to be said before there is an answer.
    still_open: Vec<String>,
    found: Option<Shown>,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/", show))
        .service(form_at(wait::PATH, wait::show, wait::send))
        .service(at("/spark.svg", picture));
}

/// The page at `/`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    // What was left open is left out, so that the address can be kept and read.
    if let Some(shorter) = without_empty(request.query_string()) {
        return Reply::Elsewhere(format!("/{shorter}")).into();
    }
    let query = request.query_string().to_owned();
    let lenient = is_lenient(&request);
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &query, frame, lenient)
    })
    .await
}

/// Whether what is incomplete counts as asked rightly (`Prefer: handling=lenient`, RFC 7240): so does a page
/// whose reader is still typing.
fn is_lenient(request: &HttpRequest) -> bool {
    preference(request.headers(), "handling") == Some("lenient")
}

/// The picture at `/spark.svg` of the build that the query of a match names or describes.
pub(super) async fn picture(
    shop: web::Data<Shop>,
    request: HttpRequest,
    known: IfNoneMatch,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, _| {
        let build = build(shop, &typed)?;
        let curves = spark::curves(shop, &build)?;
        Ok(Reply::Picture(
            drawing::spark::spark(&build, &curves),
            known,
        ))
    })
    .await
}

/// The build that the query of a match names or describes.
///
/// # Errors
/// `NotFound` where it does neither, or not rightly.
pub(super) fn build(shop: &Shop, typed: &Typed) -> Result<Build, Refusal> {
    let asked = understood(shop, typed)?;
    let build = asked.build.filter(|_| asked.wrong.is_empty());
    build.ok_or(Refusal::NotFound("build"))
}

/// A query without the fields that were left open; nothing where there are none.
fn without_empty(query: &str) -> Option<String> {
    let filled: Vec<_> = query
        .split('&')
        .filter(|pair| !pair.is_empty() && !pair.ends_with('='))
        .collect();
    let shorter = filled.join("&");
    (shorter != query).then(|| {
        if shorter.is_empty() {
            String::new()
        } else {
            format!("?{shorter}")
        }
    })
}

/// The address of the same question with parts that are not on the shelf.
fn whole_catalogue(query: &str) -> String {
    format!("/?{}&stock=ignore", without(query, "stock="))
}

/// A query without a field.
fn without(query: &str, field: &str) -> String {
    let rest = query.split('&').filter(|pair| !pair.starts_with(field));
    rest.collect::<Vec<_>>().join("&")
}

/// What was asked, and the form that asks it again.
struct Understood {
    subject: Option<Subject>,
    build: Option<Build>,
    stored: Option<Uuid>,
    form: Typed,
    wrong: Vec<Wrong>,
}

fn answer(shop: &Shop, query: &str, frame: Frame, lenient: bool) -> Result<Reply, Refusal> {
    let typed = Typed::of_query(query);
    let mut asked = understood(shop, &typed)?;
    let may_issue = frame.may(Role::Tuner);
    let (count, found) = matched(shop, query, &typed, &mut asked, may_issue)?.unzip();
    let named = |name: Option<String>| name.unwrap_or_else(|| say("find-without-a-name").into());
    let builds = builds::list(shop, None, STORED)?.into_iter();
    let mut groups = engine_form::groups(shop, &asked.form)?;
    let mut fields: Vec<&mut Field> = groups
        .iter_mut()
        .flat_map(|group| &mut group.fields)
        .collect();
    let faults = put(&asked.wrong, &mut fields);
    let status = if faults.is_empty() || lenient {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let name = asked.build.as_ref().and_then(|build| build.name.clone());
    let page = Page {
        frame,
        builds: builds
            .map(|b| (b.id, named(b.data.name), Some(b.id) == asked.stored))
            .collect(),
        groups,
        by_hand: asked.stored.is_none() || !faults.is_empty(),
        focus: "",
        still_open: still_open(&faults),
        faults,
        heading: name.unwrap_or_else(|| say("find-find-plugs-for-a-build").into()),
        may_store: may_issue,
        possible: possible(shop)?,
        count: count.unwrap_or_default(),
        found,
    };
    Reply::page(status, &page)
}

/// How many waiting jobs can have their plugs, in a sentence; empty where none can.
fn possible(shop: &Shop) -> Result<String, Refusal> {
    Ok(match waiting_jobs::possible(shop, STORED)? {
        0 => String::new(),
        some => say_with("find-waiting-jobs-can-have", &[("jobs", &some)]),
    })
}

/// What fits, in a sentence and laid out; nothing where nothing was asked or something is wrong.
fn matched(
    shop: &Shop,
    query: &str,
    typed: &Typed,
    asked: &mut Understood,
    may_issue: bool,
) -> Result<Option<(String, Shown)>, Refusal> {
    let (quantity, stock) = wanted(typed, &mut asked.wrong);
    let Some(subject) = asked.subject.take().filter(|_| asked.wrong.is_empty()) else {
        return Ok(None);
    };
    let question = Asked {
        quantity,
        stock,
        ..Asked::of(subject)
    };
    let matched = match matching::find(shop, &question) {
        Ok(matched) => matched,
        Err(Refusal::Faults(faults)) => {
            add(&mut asked.wrong, &faults);
            return Ok(None);
        }
        Err(other) => return Err(other),
    };
    let asking = Asking {
        build: asked.build.as_ref(),
        stored: asked.stored,
        may_issue,
        carried: wait::carried(typed),
        picture: format!("/spark.svg?{query}"),
        section: match asked.stored {
            Some(id) => format!("/builds/{id}/section.svg?"),
            None => format!("/section.svg?{query}&"),
        },
        whole: Some(whole_catalogue(query)).filter(|_| stock != StockMode::Ignore),
    };
    Ok(Some((
        how_many_fit(&matched),
        shown(shop, &matched, &asking)?,
    )))
}

/// What stands where the answer will stand: what is open yet, and what is wrong.
fn still_open(faults: &[Line]) -> Vec<String> {
    let missing = |line: &&Line| line.text == Wrong::missing();
    let open: Vec<_> = faults
        .iter()
        .filter(missing)
        .map(|line| line.label)
        .collect();
    let mut told = Vec::new();
    if faults.is_empty() {
        told.push(say("find-choose-stored-build-describe-needs").into());
    }
    if !open.is_empty() {
        told.push(say_with(
            "find-still-filled-open",
            &[("open", &open.join(", "))],
        ));
    }
    let wrong = faults.iter().filter(|line| !missing(line));
    told.extend(wrong.map(|line| match line.label {
        "" => line.text.clone(),
        label => format!("{label}: {}.", line.text),
    }));
    told
}

fn understood(shop: &Shop, typed: &Typed) -> Result<Understood, Refusal> {
    let mut form = typed.clone();
    let stored = match typed.one("build") {
        "" => None,
        id => Some(id.parse::<Uuid>().map_err(|_| Refusal::NotFound("build"))?),
    };
    let typed_too = engine_form::is_typed(typed);
    let Some(id) = stored else {
        if !typed_too {
            return Ok(Understood {
                subject: None,
                build: None,
                stored,
                form,
                wrong: Vec::new(),
            });
        }
        let (value, mut wrong) = engine_form::build(shop, typed)?;
        let checked = Build::check(value);
        let build = match checked {
            Ok(build) => Some(build),
            Err(faults) => {
                add(&mut wrong, &faults);
                None
            }
        };
        let subject = build.clone().map(|build| Subject::Build(Box::new(build)));
        return Ok(Understood {
            subject,
            build,
            stored,
            form,
            wrong,
        });
    };
    let build = builds::get(shop, id)?.data;
    let mut wrong = Vec::new();
    if typed_too {
        wrong.push(Wrong::all(say("find-either-stored-build-hand-not")));
    } else {
        let base = build
            .engine
            .base_plug_id
            .map(|id| catalogue::get(shop, id))
            .transpose()?;
        form = engine_text::typed(&build, base.as_ref().map(part::name).as_deref());
        for name in ["quantity", "stock"] {
            form.put(name, typed.one(name));
        }
    }
    Ok(Understood {
        subject: Some(Subject::Stored(id)),
        build: Some(build),
        stored,
        form,
        wrong,
    })
}

/// How many plugs, and how much of that has to be there.
fn wanted(typed: &Typed, wrong: &mut Vec<Wrong>) -> (Option<i64>, StockMode) {
    let quantity = match typed.one("quantity") {
        "" => None,
        text => match count(text) {
            Ok(quantity) if (1..=QUANTITY_MAX).contains(&quantity) => Some(quantity),
            Ok(quantity) => {
                wrong.push(Wrong::with(
                    "quantity",
                    say_with(
                        "find-from-one-to-most-plugs",
                        &[("most", &QUANTITY_MAX), ("quantity", &quantity)],
                    ),
                ));
                None
            }
            Err(why) => {
                wrong.push(Wrong::with("quantity", why));
                None
            }
        },
    };
    let stock = match typed.one("stock") {
        "" => StockMode::Enough,
        word => word.parse().unwrap_or_else(|_| {
            wrong.push(Wrong::with("stock", say("find-choose-one-from-the-list")));
            StockMode::Enough
        }),
    };
    (quantity, stock)
}

#[cfg(test)]
mod tests {
    use super::{whole_catalogue, without_empty};

    #[test]
    fn what_was_left_open_is_left_out_of_the_address() {
        assert_eq!(without_empty("a=1&b=&c=2&d="), Some("?a=1&c=2".into()));
        assert_eq!(without_empty("a=&b="), Some(String::new()));
        assert_eq!(without_empty("a=1&c=2"), None);
        assert_eq!(without_empty(""), None);
        assert_eq!(
            without_empty("a=%3D"),
            None,
            "a value that is an equals sign"
        );
    }

    #[test]
    fn the_same_question_is_asked_of_the_whole_catalogue() {
        assert_eq!(
            whole_catalogue("build=1&stock=some&quantity=9"),
            "/?build=1&quantity=9&stock=ignore"
        );
    }
}
