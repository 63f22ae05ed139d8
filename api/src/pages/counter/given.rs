//! What follows from what stands in a form already: the part of a lot, the only bin, the order that
//! waits; and what a field offers.

mod arriving;

use plugwell_domain::ledger::{
    Condition, Level, Movement, PlaceKind, Reservation, Returned, ScrapReason,
};
use plugwell_store::LevelFilter;
use uuid::Uuid;

use crate::pages::counter::acts::Act;
use crate::pages::counter::given::arriving::{arriving, waiting};
use crate::pages::field::{Choice, Field};
use crate::pages::figures::instant;
use crate::pages::form;
use crate::pages::part::{self, Card, held, open_reservations};
use crate::pages::typed::Typed;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, catalogue, now, stock_lists};

/// Most lots of a part, jobs and issues that a form offers.
const OFFERED: i64 = 200;

/// Members that links carry, and the fields that show them by what they are called.
const SHOWN_BY_NAME: [(&str, &str); 5] = [
    ("place_id", "place"),
    ("from_place_id", "from_place"),
    ("to_place_id", "to_place"),
    ("lot_id", "lot"),
    ("build_id", "build"),
];

/// What was typed with ids as their fields show them, and with the part of the lot.
///
/// # Errors
/// An id that leads nowhere.
pub(super) fn named(shop: &Shop, act: Act, typed: &Typed) -> Result<Typed, Refusal> {
    let mut named = typed.clone();
    for (member, field) in SHOWN_BY_NAME {
        let text = typed.one(member);
        if text.is_empty() || !act.has(field) || !named.one(field).is_empty() {
            continue;
        }
        let id = |what| text.parse::<Uuid>().map_err(|_| Refusal::NotFound(what));
        let shown = match field {
            "lot" => stock_lists::lot(shop, id("lot")?)?.code,
            "build" => {
                crate::service::builds::get(shop, id("build")?)?;
                text.to_owned()
            }
            _ => stock_lists::place(shop, id("place")?)?.name,
        };
        named.set(field, shown);
    }
    if act.begins_with_part()
        && let Some(lot) = stock_lists::lot_coded(shop, named.one("lot"))?
    {
        named.set("plug_id", lot.plug_id.to_string());
    }
    if act == Act::Return {
        issue_of_query(shop, &mut named)?;
    }
    Ok(named)
}

/// An issue that a link names tells its job.
fn issue_of_query(shop: &Shop, typed: &mut Typed) -> Result<(), Refusal> {
    if let Ok(id) = typed.one("movement_id").parse::<Uuid>()
        && typed.one("job").is_empty()
    {
        let issue = stock_lists::movement(shop, id)?;
        typed.set("job", issue.job.unwrap_or_default());
    }
    Ok(())
}

/// Puts in what is taken for granted, wherever nothing stands yet; what a field is to say of it.
///
/// # Errors
/// Where the database fails.
pub(super) fn completed(
    shop: &Shop,
    act: Act,
    typed: &mut Typed,
    card: Option<&Card>,
) -> Result<Option<(&'static str, String)>, Refusal> {
    match act {
        Act::Receive => {
            put(typed, "condition", Condition::Sealed.word());
            match card {
                Some(card) => return arriving(shop, typed, card.id),
                None => return Ok(None),
            }
        }
        Act::Scrap => {
            put(typed, "reason", ScrapReason::Dropped.word());
            if typed.one("job").is_empty() {
                only_place(shop, typed, card, "place")?;
            }
        }
        Act::Move => only_place(shop, typed, card, "from_place")?,
        Act::Return => return coming_back(shop, typed),
        Act::Issue => {
            if let Some(card) = card {
                kept_for_job(shop, typed, card.id)?;
            }
        }
        Act::Reserve => {}
    }
    Ok(None)
}

/// What is kept for the job is what is issued to it, for the build that it was kept for, also where the
/// form names no reservation: it would else go on keeping as many.
///
/// # Errors
/// Where the database fails.
pub(super) fn kept_for_job(shop: &Shop, typed: &mut Typed, plug_id: Uuid) -> Result<(), Refusal> {
    let (job, own, at) = (typed.one("job"), typed.one("reservation_id"), now());
    let mut kept = open_reservations(shop, plug_id)?;
    kept.retain(|r| r.job.to_lowercase() == job.to_lowercase() && r.holds(at));
    kept.retain(|r| own.is_empty() || r.id.to_string() == own);
    if let [only] = kept.as_slice() {
        put(typed, "reservation_id", &only.id.to_string());
        let build = only.build_id.map(|id| id.to_string());
        put(typed, "build", &build.unwrap_or_default());
    }
    Ok(())
}

fn put(typed: &mut Typed, name: &str, value: &str) {
    if typed.one(name).is_empty() && !value.is_empty() {
        typed.set(name, value);
    }
}

/// Where the part or lot lies in one bin only, that is the one meant; where the part has one lot only
/// there, that is the lot meant.
fn only_place(
    shop: &Shop,
    typed: &mut Typed,
    card: Option<&Card>,
    field: &str,
) -> Result<(), Refusal> {
    let Some(card) = card else { return Ok(()) };
    let lot = stock_lists::lot_coded(shop, typed.one("lot"))?.map(|lot| lot.id);
    let said = typed.one(field).to_lowercase();
    let mut lies = Vec::new();
    for level in in_bins(shop, card.id, lot)? {
        let place = stock_lists::place(shop, level.place_id)?;
        if said.is_empty() || said == place.name.to_lowercase() || said == place.code.to_lowercase()
        {
            lies.push((level, place.name));
        }
    }
    let Some((first, name)) = lies.first() else {
        return Ok(());
    };
    if lies
        .iter()
        .all(|(level, _)| level.place_id == first.place_id)
    {
        put(typed, field, name);
    }
    if field == "from_place" && lies.iter().all(|(level, _)| level.lot_id == first.lot_id) {
        let code = stock_lists::lot(shop, first.lot_id)?.code;
        put(typed, "lot", &code);
    }
    Ok(())
}

/// What lies in bins of a part, or of one lot of it.
fn in_bins(shop: &Shop, plug_id: Uuid, lot_id: Option<Uuid>) -> Result<Vec<Level>, Refusal> {
    let filter = LevelFilter {
        plug_id: Some(plug_id),
        lot_id,
        kind: Some(PlaceKind::Bin),
        ..LevelFilter::default()
    };
    stock_lists::levels(shop, &filter, None, OFFERED)
}

/// The only issue of the job, the bin that it came out of, and what becomes of plugs that look so.
fn coming_back(shop: &Shop, typed: &mut Typed) -> Result<Option<(&'static str, String)>, Refusal> {
    if typed.one("job").is_empty() {
        return Ok(None);
    }
    let issues = stock_lists::returnable(shop, typed.one("job"), OFFERED)?;
    if let [(only, _)] = issues.as_slice() {
        put(typed, "movement_id", &only.id.to_string());
    }
    let chosen = typed.one("movement_id");
    let issue = issues
        .iter()
        .find(|(issue, _)| issue.id.to_string() == chosen);
    if let Some((issue, _)) = issue
        && goes_back(typed)
    {
        put(
            typed,
            "place",
            &stock_lists::place(shop, issue.from_place_id)?.name,
        );
    }
    Ok(None)
}

/// Whether plugs that look so go back on the shelf.
pub(super) fn goes_back(typed: &Typed) -> bool {
    [Returned::Sealed, Returned::Gapped]
        .iter()
        .any(|looks| looks.word() == typed.one("condition"))
}

/// The fields of a form with what they offer.
///
/// # Errors
/// Where the database fails.
pub(super) fn fields(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    card: Option<&Card>,
) -> Result<Vec<Field>, Refusal> {
    let mut fields = form::all_shown(shop, act.declared(), typed)?;
    for field in &mut fields {
        let chosen = typed.one(field.name);
        match (act, field.name, card) {
            (_, "reservation_id", Some(card)) => field.choices = kept(shop, card.id, chosen)?,
            (_, "order_line_id", Some(card)) => field.choices = waiting(shop, card.id, typed)?,
            (_, "movement_id", _) => {
                field.choices = issues(shop, typed.one("job"), chosen)?;
                if field.choices.is_empty() && !typed.one("job").is_empty() {
                    field.hint = say("counter-nothing-can-come-back").to_owned();
                }
            }
            (_, "lot", Some(card)) => field.choices = lots(shop, card.id)?,
            (Act::Scrap, "job", Some(card)) => {
                let jobs = held(shop, card.id, PlaceKind::Job)?.into_iter();
                field.choices = jobs.map(|(name, _)| Choice::offer(name)).collect();
            }
            (Act::Return, "job", _) => field.choices = jobs(shop)?,
            _ => {}
        }
    }
    // There is nothing to choose where nothing is reserved or ordered.
    let is_open = |field: &Field| {
        !matches!(field.name, "reservation_id" | "order_line_id") || !field.choices.is_empty()
    };
    fields.retain(is_open);
    Ok(fields)
}

/// What is kept for jobs of a part.
fn kept(shop: &Shop, plug_id: Uuid, chosen: &str) -> Result<Vec<Choice>, Refusal> {
    let choice = |r: Reservation| Choice {
        value: r.id.to_string(),
        words: say_with(
            "counter-job-open-quantity-kept",
            &[("job", &r.job), ("open_quantity", &r.open_quantity)],
        ),
        note: "",
        chosen: r.id.to_string() == chosen,
    };
    Ok(open_reservations(shop, plug_id)?
        .into_iter()
        .map(choice)
        .collect())
}

/// Lots of a part that lie in bins.
fn lots(shop: &Shop, plug_id: Uuid) -> Result<Vec<Choice>, Refusal> {
    let mut ids: Vec<Uuid> = in_bins(shop, plug_id, None)?
        .iter()
        .map(|level| level.lot_id)
        .collect();
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter()
        .map(|id| Ok(Choice::offer(stock_lists::lot(shop, id)?.code)))
        .collect()
}

/// Jobs that have plugs.
fn jobs(shop: &Shop) -> Result<Vec<Choice>, Refusal> {
    let filter = LevelFilter {
        kind: Some(PlaceKind::Job),
        ..LevelFilter::default()
    };
    let levels = stock_lists::levels(shop, &filter, None, OFFERED)?;
    let mut ids: Vec<Uuid> = levels.iter().map(|level| level.place_id).collect();
    ids.sort_unstable();
    ids.dedup();
    // The newest first: places get their ids in the order they are made.
    ids.into_iter()
        .rev()
        .map(|id| Ok(Choice::offer(stock_lists::place(shop, id)?.name)))
        .collect()
}

/// Issues of a job of which something can come back.
fn issues(shop: &Shop, job: &str, chosen: &str) -> Result<Vec<Choice>, Refusal> {
    if job.is_empty() {
        return Ok(Vec::new());
    }
    let told = |(issue, left): (Movement, i64)| {
        let plug = catalogue::get(shop, issue.plug_id)?;
        let lot = stock_lists::lot(shop, issue.lot_id)?.code;
        Ok(Choice {
            words: say_with(
                "counter-left-of-lot-issued-at",
                &[
                    ("left", &left),
                    ("name", &part::name(&plug)),
                    ("lot", &lot),
                    ("at", &instant(issue.created_at)),
                ],
            ),
            value: issue.id.to_string(),
            note: "",
            chosen: issue.id.to_string() == chosen,
        })
    };
    stock_lists::returnable(shop, job, OFFERED)?
        .into_iter()
        .map(told)
        .collect()
}
