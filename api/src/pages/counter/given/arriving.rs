//! The order that what comes in is for: a line that waits, or one that is named and has all already.

use plugwell_domain::attribute::Attr;
use plugwell_domain::order::{Order, OrderState};
use plugwell_domain::plug::Shows;
use plugwell_domain::scan::ProposedBin;
use uuid::Uuid;

use super::put;
use crate::pages::field::Choice;
use crate::pages::typed::Typed;
use crate::pages::words::say_with;
use crate::service::scanning::{self, WaitingLine};
use crate::service::{Refusal, Shop, catalogue, orders};
use crate::shown::marked;

/// The order that waits, its supplier, the bin where the part lies.
pub(super) fn arriving(
    shop: &Shop,
    typed: &mut Typed,
    plug_id: Uuid,
) -> Result<Option<(&'static str, String)>, Refusal> {
    let (bin, waiting) = lines(shop, typed, plug_id)?;
    let order = typed.one("order_id");
    let meant = match waiting.as_slice() {
        lines if !order.is_empty() => lines.iter().find(|w| w.order_id.to_string() == order),
        [only] if typed.one("supplier").is_empty() => Some(only),
        _ => None,
    };
    let meant = meant.map(|line| line.order_line_id.to_string());
    put(typed, "order_line_id", &meant.unwrap_or_default());
    let chosen = typed.one("order_line_id");
    let line = waiting
        .iter()
        .find(|line| line.order_line_id.to_string() == chosen);
    if let Some(line) = line {
        put(typed, "supplier", &line.supplier);
    }
    let pack = catalogue::get(shop, plug_id)?.shown(Attr::PackSize);
    put(
        typed,
        "pack_size",
        &pack.map_or(String::new(), |size| size.to_string()),
    );
    let Some(bin) = bin else { return Ok(None) };
    put(typed, "place", &bin.name);
    let is_it = typed.one("place").to_lowercase() == bin.name.to_lowercase();
    Ok(is_it.then(|| {
        (
            "place",
            say_with("counter-proposed-why", &[("why", &marked(bin.why.clone()))]),
        )
    }))
}

/// Where more of a part goes, and the lines that wait for it. The line that the form names is among them
/// even where all of it is in: what comes beyond what was ordered is booked on it and named, not refused.
fn lines(
    shop: &Shop,
    typed: &Typed,
    plug_id: Uuid,
) -> Result<(Option<ProposedBin>, Vec<WaitingLine>), Refusal> {
    let (bin, mut lines) = scanning::arriving(shop, plug_id)?;
    if let Ok(id) = typed.one("order_line_id").parse::<Uuid>() {
        if lines.iter().all(|line| line.order_line_id != id) {
            let order = there(orders::of_line(shop, id))?;
            let own = order.and_then(|order| line_of(&order, plug_id, Some(id)));
            lines.extend(own);
        }
    } else if let Ok(id) = typed.one("order_id").parse::<Uuid>()
        && lines.iter().all(|line| line.order_id != id)
    {
        let order = there(orders::get(shop, id))?;
        lines.extend(order.and_then(|order| line_of(&order, plug_id, None)));
    }
    Ok((bin, lines))
}

/// An order, where there is one: what a form names may be anything.
fn there(order: Result<Order, Refusal>) -> Result<Option<Order>, Refusal> {
    match order {
        Ok(order) => Ok(Some(order)),
        Err(Refusal::NotFound(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

/// The line of an order for a part, or that very line of it, where something can come in for the order.
fn line_of(order: &Order, plug_id: Uuid, id: Option<Uuid>) -> Option<WaitingLine> {
    if matches!(order.state, OrderState::Drafted | OrderState::Withdrawn) {
        return None;
    }
    let mut lines = order.lines.iter();
    let line =
        lines.find(|line| line.plug_id == plug_id && id.is_none_or(|meant| line.id == meant))?;
    Some(WaitingLine {
        order_id: order.id,
        order_code: order.code.clone(),
        order_line_id: line.id,
        supplier: order.supplier.clone(),
        missing: line.missing,
    })
}

/// Lines of orders that what comes in of a part can be for.
pub(super) fn waiting(shop: &Shop, plug_id: Uuid, typed: &Typed) -> Result<Vec<Choice>, Refusal> {
    let chosen = typed.one("order_line_id");
    let choice = |line: WaitingLine| Choice {
        words: say_with(
            "counter-order-code-supplier-missing-come",
            &[
                ("order_code", &line.order_code),
                ("supplier", &line.supplier),
                ("missing", &line.missing),
            ],
        ),
        value: line.order_line_id.to_string(),
        note: "",
        chosen: line.order_line_id.to_string() == chosen,
    };
    let (_, lines) = lines(shop, typed, plug_id)?;
    Ok(lines.into_iter().map(choice).collect())
}
