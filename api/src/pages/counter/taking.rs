//! The line at the top feeds the form: what a scan does to what stands there. It never books, but for
//! the word that says so.

mod of_part;
pub(super) mod unknown;

use plugwell_domain::ledger::{Lot, Place, PlaceKind};
use plugwell_domain::order::OrderLine;
use plugwell_domain::plug::Plug;
use plugwell_domain::words::Role;

use crate::pages::counter::acts::Act;
use crate::pages::counter::taking::of_part::with_part;
pub(super) use crate::pages::counter::taking::of_part::{in_field, noted_in_field};
use crate::pages::counter::taking::unknown::unknown;
use crate::pages::field::Wrong;
use crate::pages::line::commanded;
use crate::pages::part::{self, Meant};
use crate::pages::typed::Typed;
use crate::pages::words::{say, say_with};
use crate::service::scanning::{self, Scan};
use crate::service::{Refusal, Shop, orders, stock_lists};
use crate::shown::marked;

/// The word that presses the form's button.
pub(super) const BOOK: &str = "ok";
/// The longest number of plugs that is no number of anything else.
const DIGITS: usize = 4;

/// What a scan comes to.
pub(super) enum Taken {
    /// The form is shown again.
    Shown(Typed, Heard),
    /// The form is booked.
    Booked(Typed),
    /// Another page was named.
    There(String),
}

/// What was understood.
#[derive(Debug, Default)]
pub(super) struct Heard {
    /// In a sentence; empty where nothing was scanned.
    pub said: String,
    /// What was not.
    pub wrong: Vec<Wrong>,
    /// Parts that can be meant.
    pub parts: Vec<Plug>,
    /// What can be done with a number that nobody knows: path and words.
    pub ways: Vec<(String, String)>,
    /// Whether the form is shown for a last look, with its button next.
    pub is_last_look: bool,
}

impl Heard {
    fn said(text: impl Into<String>) -> Self {
        Self {
            said: text.into(),
            ..Self::default()
        }
    }

    fn wrong(text: impl Into<String>) -> Self {
        Self {
            wrong: vec![Wrong::all(text)],
            ..Self::default()
        }
    }
}

/// Takes a scan in.
///
/// # Errors
/// Where database or index fail.
pub(super) fn take(shop: &Shop, act: Act, role: Role, typed: &Typed) -> Result<Taken, Refusal> {
    let text = typed.one("scan").to_owned();
    let mut typed = typed.without(&["scan", "look"]);
    if text.is_empty() {
        let heard = Heard {
            is_last_look: typed.one("part").is_empty(),
            ..Heard::default()
        };
        return Ok(Taken::Shown(typed, heard));
    }
    if text.eq_ignore_ascii_case(BOOK) {
        return Ok(Taken::Booked(typed));
    }
    if let Some((field, word)) = act.word(&text) {
        typed.set(field, word);
        let said = format!("{}: {}.", label(act, field), word.replace('_', " "));
        return Ok(Taken::Shown(typed, Heard::said(said)));
    }
    if let Some(there) = commanded(&text, role) {
        return Ok(Taken::There(there));
    }
    if text.len() <= DIGITS && text.bytes().all(|sign| sign.is_ascii_digit()) {
        let plugs = text.trim_start_matches('0');
        let heard = if plugs.is_empty() {
            Heard::wrong(say("counter-0-no-number-plugs-book"))
        } else {
            typed.set("quantity", plugs);
            Heard::said(format!("{}.", so_many(plugs.parse().unwrap_or_default())))
        };
        return Ok(Taken::Shown(typed, heard));
    }
    let heard = scanned(shop, act, role, &mut typed, &text)?;
    Ok(Taken::Shown(typed, heard))
}

/// `1 plug`, `8 plugs`.
fn so_many(plugs: i64) -> String {
    say_with("pages-so-many-plugs", &[("plugs", &plugs)])
}

fn label(act: Act, field: &str) -> &'static str {
    let declared = act.declared().iter().find(|one| one.name == field);
    declared.map_or("", |one| one.label.say())
}

fn scanned(
    shop: &Shop,
    act: Act,
    role: Role,
    typed: &mut Typed,
    text: &str,
) -> Result<Heard, Refusal> {
    let scan = match scanning::read(shop, text) {
        Ok(scan) => scan,
        // A text that says itself to be a bar code and is none.
        Err(Refusal::Faults(faults)) => {
            let said: Vec<_> = faults
                .into_iter()
                .map(|fault| marked(fault.detail))
                .collect();
            return Ok(Heard::wrong(format!("{text:?}: {}.", said.join("; "))));
        }
        Err(other) => return Err(other),
    };
    if let Some(plug) = &scan.plug {
        return match act {
            Act::Return => issued(shop, typed, plug, scan.lot.as_ref()),
            _ => Ok(with_part(act, typed, plug, &scan)),
        };
    }
    if scan.place.is_some() {
        return with_place(shop, act, typed, text);
    }
    if scan.order_id.is_some() {
        return with_order(shop, act, typed, &scan);
    }
    // A number that was typed with other signs between is that number all the same.
    if act.begins_with_part()
        && scan.gtin.is_none()
        && let Meant::This(plug) = part::meant(shop, text)?
    {
        return Ok(with_part(act, typed, &plug, &scan));
    }
    unknown(shop, act, role, typed, &scan)
}

/// What comes back is named by its part or lot: the issue of it is the one meant.
fn issued(
    shop: &Shop,
    typed: &mut Typed,
    plug: &Plug,
    lot: Option<&Lot>,
) -> Result<Heard, Refusal> {
    let job = typed.one("job");
    if job.is_empty() {
        return Ok(Heard::wrong(say("counter-scan-job-first-plugs-come")));
    }
    let mut issues = stock_lists::returnable(shop, job, 200)?;
    issues.retain(|(issue, _)| {
        issue.plug_id == plug.id && lot.is_none_or(|lot| lot.id == issue.lot_id)
    });
    let name = part::name(plug);
    Ok(match issues.as_slice() {
        [] => Heard::wrong(say_with(
            "counter-nothing-name-went-job-can",
            &[("name", &name), ("job", &job)],
        )),
        [(issue, left)] => {
            typed.set("movement_id", issue.id.to_string());
            *typed = typed.without(&["place"]);
            Heard::said(say_with(
                "counter-name-up-to-plugs-come-back",
                &[("name", &name), ("plugs", left)],
            ))
        }
        several => Heard::wrong(say_with(
            "counter-name-went-job-several-times",
            &[("name", &name), ("job", &job), ("several", &several.len())],
        )),
    })
}

/// A place: the field that takes one of its kind.
fn with_place(shop: &Shop, act: Act, typed: &mut Typed, text: &str) -> Result<Heard, Refusal> {
    let mut called = stock_lists::places_called(shop, text)?;
    if let Some(coded) = stock_lists::places(shop, None, Some(&text.to_uppercase()), None, 1)?.pop()
    {
        called.insert(0, coded);
    }
    called.retain(|place| !place.retired);
    for place in &called {
        if let Some(field) = field_for(act, typed, place) {
            typed.set(field, place.name.as_str());
            match field {
                "job" => *typed = typed.without(&["movement_id"]),
                "place" if act == Act::Scrap => *typed = typed.without(&["job"]),
                _ => {}
            }
            if act == Act::Scrap && field == "job" {
                *typed = typed.without(&["place"]);
            }
            return Ok(Heard::said(format!(
                "{}: {}.",
                label(act, field),
                place.name
            )));
        }
    }
    let kinds: Vec<_> = called.iter().map(|place| place.kind.word()).collect();
    Ok(Heard::wrong(say_with(
        "counter-text-kinds-has-no-place",
        &[
            ("text", &format!("{text:?}")),
            ("kinds", &kinds.join(say("counter-and-a"))),
            ("takes", &act.takes()),
        ],
    )))
}

fn field_for(act: Act, typed: &Typed, place: &Place) -> Option<&'static str> {
    match (act, place.kind) {
        (Act::Move, PlaceKind::Bin | PlaceKind::Quarantine) => {
            let from = typed.one("from_place").to_lowercase();
            let is_it = from == place.name.to_lowercase() || from == place.code.to_lowercase();
            let first = from.is_empty() || (is_it && typed.one("to_place").is_empty());
            Some(if first { "from_place" } else { "to_place" })
        }
        (Act::Receive, PlaceKind::Supplier) => Some("supplier"),
        (Act::Receive | Act::Issue | Act::Return | Act::Scrap, PlaceKind::Bin)
        | (Act::Scrap, PlaceKind::Quarantine) => Some("place"),
        (Act::Issue | Act::Return | Act::Scrap | Act::Reserve, PlaceKind::Job) => Some("job"),
        _ => None,
    }
}

/// An order: its line that waits for the part, now or once the part is known.
fn with_order(shop: &Shop, act: Act, typed: &mut Typed, scan: &Scan) -> Result<Heard, Refusal> {
    let Some(id) = scan.order_id.filter(|_| act == Act::Receive) else {
        return Ok(Heard::wrong(say_with(
            "counter-text-order-orders-come-under",
            &[("text", &scan.text)],
        )));
    };
    let order = orders::get(shop, id)?;
    let plug_id = typed.one("plug_id").to_owned();
    // Of several the one that waits; what comes beyond what was ordered is booked on the order, too.
    let own = |line: &&OrderLine| line.plug_id.to_string() == plug_id;
    let mut lines = order.lines.iter().filter(own);
    let line = lines
        .clone()
        .find(|line| line.missing > 0)
        .or_else(|| lines.next());
    // An order without a line of this part changes nothing of the form.
    if line.is_some() || plug_id.is_empty() {
        *typed = typed.without(&["order_line_id", "supplier"]);
        typed.set("order_id", id.to_string());
    }
    Ok(match line {
        Some(line) => {
            typed.set("order_line_id", line.id.to_string());
            Heard::said(say_with(
                "counter-order-code-supplier-missing-come-2",
                &[
                    ("code", &order.code),
                    ("supplier", &order.supplier),
                    ("missing", &line.missing),
                ],
            ))
        }
        None if plug_id.is_empty() => Heard::said(say_with(
            "counter-order-code-supplier-scan-came",
            &[("code", &order.code), ("supplier", &order.supplier)],
        )),
        None => Heard::wrong(say_with(
            "counter-order-code-has-no-line",
            &[("code", &order.code)],
        )),
    })
}
