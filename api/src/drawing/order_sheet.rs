//! An order as a sheet for print: what the supplier is asked for.

use std::str::FromStr;

use askama::Template;
use plugwell_domain::ledger::Money;
use plugwell_domain::order::{Order, OrderLine, OrderState};
use plugwell_domain::wording::counted;
use plugwell_domain::words::NotInList;

use crate::shown::{day, money};

/// The one stylesheet of the sheet; it stands in it.
pub const STYLE: &str = concat!(
    include_str!("../../templates/sheet.css"),
    include_str!("../../templates/order_sheet.css")
);

/// Paper that an order is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum OrderPaper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl OrderPaper {
    /// The words, in the order of the list.
    pub const WORDS: &'static [&'static str] = &["a4", "letter"];

    fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }
}

impl FromStr for OrderPaper {
    type Err = NotInList;

    fn from_str(text: &str) -> Result<Self, NotInList> {
        [Self::A4, Self::Letter]
            .into_iter()
            .find(|paper| paper.word() == text)
            .ok_or_else(|| NotInList {
                what: "paper",
                found: text.to_owned(),
                words: Self::WORDS,
            })
    }
}

/// What stands on the sheet.
#[derive(Debug)]
pub struct Ordered<'a> {
    /// The order.
    pub order: &'a Order,
    /// What the part of each line is called.
    pub parts: Vec<String>,
    /// Whom it goes to, as far as the shop knows.
    pub contact: Option<String>,
    /// What all of it costs; `None` where that is not said of every line.
    pub total: Option<String>,
}

#[derive(Template)]
#[template(path = "order_sheet.html")]
struct Sheet<'a> {
    style: &'static str,
    paper: &'static str,
    of: &'a Ordered<'a>,
    /// Of which day it is.
    day: String,
    /// Why it is no order yet, or no more; empty where it is one.
    beware: &'static str,
    expected: String,
    /// Part, plugs, boxes, cost.
    rows: Vec<(&'a str, i64, String, String)>,
    in_short: String,
}

/// Writes an order on paper.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn order_sheet(of: &Ordered<'_>, paper: OrderPaper) -> Result<String, askama::Error> {
    let order = of.order;
    let rows = of.parts.iter().zip(&order.lines);
    let plugs: i64 = order.lines.iter().map(|line| line.quantity).sum();
    Sheet {
        style: STYLE,
        paper: paper.word(),
        day: day(order.sent_at.unwrap_or(order.updated_at)),
        beware: match order.state {
            OrderState::Drafted => "A draft: not yet ordered.",
            OrderState::Withdrawn => "Withdrawn: nothing is to be delivered.",
            OrderState::Sent | OrderState::PartlyIn | OrderState::Closed => "",
        },
        expected: order
            .expected_on
            .map_or_else(String::new, |on| on.format("%-d %b %Y").to_string()),
        rows: rows.map(|(part, line)| row(part, line)).collect(),
        in_short: format!(
            "{} in {}",
            counted(plugs, "plug"),
            counted(order.lines.len(), "line")
        ),
        of,
    }
    .render()
}

fn row<'a>(part: &'a str, line: &OrderLine) -> (&'a str, i64, String, String) {
    let boxes = line.pack_size.map_or_else(String::new, |size| {
        match (line.quantity / size, line.quantity % size) {
            (boxes, 0) => format!("{boxes} of {size}"),
            (boxes, over) => format!("{boxes} of {size}, and {over}"),
        }
    });
    let cost = |cost: &Money| money(cost.minor, &cost.currency);
    let cost = line.total_cost.as_ref().map(cost).unwrap_or_default();
    (part, line.quantity, boxes, cost)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }

    #[test]
    fn papers_are_named_by_their_words() {
        assert_eq!("letter".parse(), Ok(OrderPaper::Letter));
        assert!("a5".parse::<OrderPaper>().is_err());
    }
}
