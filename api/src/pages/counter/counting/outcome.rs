//! What a count came to: what does not agree, and how much that is.

use plugwell_domain::ledger::counting::{ShownCount, ShownCountLine};

use super::Known;
use crate::pages::figures::cost as cost_of;
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, stock_lists};

/// What does not agree, with what it costs.
pub(super) fn differences(
    shop: &Shop,
    count: &ShownCount,
    known: &Known,
) -> Result<Listing, Refusal> {
    let mut rows = Vec::new();
    for line in &count.lines {
        let difference = line.difference.unwrap_or(0);
        if difference == 0 && !line.recount {
            continue;
        }
        let number = |value: Option<i64>| value.map_or(String::new(), |v| v.to_string());
        let cost = line
            .cost
            .as_ref()
            .map_or(say("pages-unknown").into(), cost_of);
        let lot = Cell::to(format!("/lots/{}", line.lot_id), &line.lot_code)
            .noted(known.parts.get(&line.plug_id).cloned().unwrap_or_default());
        let movement = line
            .movement_id
            .map_or(Cell::of(format!("{difference:+}")), |id| {
                Cell::to(format!("/movements/{id}"), format!("{difference:+}"))
            });
        rows.push(vec![
            lot,
            Cell::of(stock_lists::place(shop, line.place_id)?.name),
            Cell::of(number(line.counted)).noted(beyond(line, known)),
            Cell::of(number(line.expected)),
            movement.noted(if line.recount {
                say("counter-to-be-counted-again")
            } else {
                ""
            }),
            Cell::of(cost),
        ]);
    }
    Ok(Listing {
        caption: say("counter-what-does-not-agree").into(),
        columns: vec![
            words("counter-lot"),
            words("counter-bin"),
            figures("counter-counted"),
            figures("counter-in-the-books"),
            figures("counter-difference"),
            figures("counter-cost"),
        ],
        rows,
        empty: say("counter-every-line-agrees-books"),
        more: String::new(),
    })
}

/// What is to be said of more plugs than their lot ever had: somebody counted another lot's.
fn beyond(line: &ShownCountLine, known: &Known) -> String {
    let lot = known.lots.get(&line.lot_id);
    let received = lot.map(|lot| lot.quantity_received);
    match received.filter(|received| line.counted.is_some_and(|counted| counted > *received)) {
        Some(received) => say_with("counter-more-than-lot-ever-had", &[("received", &received)]),
        None => String::new(),
    }
}

/// What a count comes to, in sentences.
pub(super) fn sums(count: &ShownCount) -> Vec<(&'static str, String)> {
    let Some(totals) = &count.totals else {
        return Vec::new();
    };
    let side = |side: &plugwell_domain::ledger::counting::CountSide| {
        let (quantity, cost) = (&side.quantity, cost_of(&side.cost));
        match side.quantity_without_cost {
            0 => say_with("counter-sum", &[("quantity", quantity), ("cost", &cost)]),
            unknown => say_with(
                "counter-sum-and-unknown-cost",
                &[
                    ("quantity", quantity),
                    ("cost", &cost),
                    ("unknown", &unknown),
                ],
            ),
        }
    };
    vec![
        (
            say("counter-lines-that-agree"),
            say_with(
                "counter-exact-lines-of-lines",
                &[
                    ("exact_lines", &totals.exact_lines),
                    ("lines", &totals.lines),
                ],
            ),
        ),
        (say("counter-missing"), side(&totals.missing)),
        (say("counter-found"), side(&totals.found)),
    ]
}
