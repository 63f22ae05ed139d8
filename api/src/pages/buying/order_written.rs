//! What a form of orders writes: a new order, what it says besides its lines, or one of its lines.

use plugwell_domain::order::{Order, OrderData, OrderState};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{id_of, part_name};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::typed::Typed;
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, orders};

const SUPPLIER: Declared = needed(field(
    "supplier",
    "buying-supplier",
    Form::Supplier,
    "buying-supplier-hint",
));
const EXPECTED: Declared = field("expected_on", "buying-expected", Form::Day, "");
const REFERENCE: Declared = field(
    "reference",
    "buying-their-number",
    Form::Words,
    "buying-their-number-hint",
);
const NOTE: Declared = field("note", "buying-note", Form::Lines, "");
const PART: Declared = needed(field("part", "buying-part", Form::Part, "buying-part-hint"));
const QUANTITY: Declared = needed(field(
    "quantity",
    "buying-plugs",
    Form::Counted(""),
    "buying-plugs-hint",
));
const COST: Declared = field("total_cost", "buying-cost-of-all", Form::Money, "");
const PACK: Declared = field("pack_size", "buying-plugs-in-a-box", Form::Counted(""), "");

/// What a form writes.
pub(super) enum Written {
    /// A new order with its first line.
    New,
    /// What an order says besides its lines.
    Head(Box<Order>),
    /// One more line of a draft.
    Add(Box<Order>),
    /// The line at this place.
    Line(Box<Order>, usize),
}

impl Written {
    /// What the form at a path writes: `id` names the order, `line` one of its lines.
    ///
    /// # Errors
    /// `NotFound`.
    pub fn at(shop: &Shop, id: Option<&str>, line: Option<&str>) -> Result<Self, Refusal> {
        let Some(id) = id else {
            return Ok(Self::New);
        };
        let order = Box::new(orders::get(shop, id_of(id, "order")?)?);
        let Some(line) = line else {
            return Ok(Self::Head(order));
        };
        if line == "new" {
            return Ok(Self::Add(order));
        }
        let line = id_of(line, say("buying-line-of-an-order"))?;
        let place = order.lines.iter().position(|own| own.id == line);
        let place = place.ok_or(Refusal::NotFound(say("buying-line-of-an-order")))?;
        Ok(Self::Line(order, place))
    }

    /// The order, where there is one already.
    pub fn order(&self) -> Option<&Order> {
        match self {
            Self::New => None,
            Self::Head(order) | Self::Add(order) | Self::Line(order, _) => Some(order),
        }
    }

    /// The fields: of what the supplier has, parts and quantities stand.
    pub fn declared(&self) -> &'static [Declared] {
        let is_draft = self.is_draft();
        match self {
            Self::New => &[
                SUPPLIER, PART, QUANTITY, COST, PACK, EXPECTED, REFERENCE, NOTE,
            ],
            Self::Head(_) if is_draft => &[SUPPLIER, EXPECTED, REFERENCE, NOTE],
            Self::Head(_) => &[EXPECTED, REFERENCE, NOTE],
            Self::Add(_) => &[PART, QUANTITY, COST, PACK],
            Self::Line(..) if is_draft => &[QUANTITY, COST, PACK],
            Self::Line(..) => &[COST, PACK],
        }
    }

    /// Whether nobody has been asked for anything yet.
    pub fn is_draft(&self) -> bool {
        self.order()
            .is_none_or(|order| order.state == OrderState::Drafted)
    }

    /// Whether the form can take the line away.
    pub fn can_remove(&self) -> bool {
        matches!(self, Self::Line(order, _) if self.is_draft() && order.lines.len() > 1)
    }

    /// Where the form stands.
    pub fn path(&self) -> String {
        match self {
            Self::New => "/orders/new".to_owned(),
            Self::Head(order) => format!("/orders/{}/change", order.id),
            Self::Add(order) => format!("/orders/{}/lines/new", order.id),
            Self::Line(order, place) => {
                format!("/orders/{}/lines/{}", order.id, order.lines[*place].id)
            }
        }
    }

    /// What the page is called.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn heading(&self, shop: &Shop) -> Result<String, Refusal> {
        Ok(match self {
            Self::New => say("buying-draft-an-order").to_owned(),
            Self::Head(order) => say_with(
                "buying-change-code-to-supplier",
                &[("code", &order.code), ("supplier", &order.supplier)],
            ),
            Self::Add(order) => say_with("buying-one-more-part-for-code", &[("code", &order.code)]),
            Self::Line(order, place) => {
                let part = part_name(shop, order.lines[*place].plug_id)?;
                say_with(
                    "buying-part-of-code",
                    &[("part", &part), ("code", &order.code)],
                )
            }
        })
    }

    /// What the button says.
    pub fn button(&self) -> &'static str {
        match self {
            Self::New => say("buying-draft-the-order"),
            Self::Head(_) => say("buying-change-the-order"),
            Self::Add(_) => say("buying-add-the-part"),
            Self::Line(..) => say("buying-change-the-line"),
        }
    }

    /// What stands there now, as it would be typed.
    ///
    /// # Errors
    /// Where the order cannot be written as JSON.
    pub fn stands(&self) -> Result<Typed, Refusal> {
        let written = |value: serde_json::Result<Value>| {
            value.map_err(|e| Refusal::Fault(format!("an order cannot be shown: {e}")))
        };
        Ok(match self {
            Self::New | Self::Add(_) => Typed::default(),
            Self::Head(order) => {
                form::as_typed(self.declared(), &written(serde_json::to_value(order))?)
            }
            Self::Line(order, place) => {
                let line = &order.lines[*place];
                form::as_typed(self.declared(), &written(serde_json::to_value(line))?)
            }
        })
    }

    /// The body that was typed: a whole order, or a merge patch, in which what was left open is null.
    pub fn body(&self, mut typed: Map<String, Value>, removes: bool) -> Value {
        if let Some(part) = typed.remove("part_id") {
            typed.insert("plug_id".into(), part);
        }
        match self {
            Self::New => {
                let of_line = ["plug_id", "quantity", "total_cost", "pack_size"].into_iter();
                let line: Map<String, Value> = of_line
                    .filter_map(|name| typed.remove_entry(name))
                    .collect();
                typed.insert("lines".into(), json!([line]));
                Value::Object(typed)
            }
            Self::Head(_) => {
                for declared in self.declared().iter().filter(|one| !one.needed) {
                    typed.entry(declared.member()).or_insert(Value::Null);
                }
                Value::Object(typed)
            }
            Self::Add(order) => {
                let mut lines = asked(order);
                lines.push(Value::Object(typed));
                json!({ "lines": lines })
            }
            Self::Line(order, place) => {
                let mut lines = asked(order);
                if removes {
                    lines.remove(*place);
                    return json!({ "lines": lines });
                }
                for declared in self.declared() {
                    let member = declared.member();
                    let value = typed.remove(&member);
                    // A quantity that was not understood is named, and stays as it was here.
                    if value.is_some() || !declared.needed {
                        lines[*place][member] = value.unwrap_or_default();
                    }
                }
                json!({ "lines": lines })
            }
        }
    }

    /// The line that the form is about, among those of its body.
    pub fn place(&self) -> Option<usize> {
        match self {
            Self::New => Some(0),
            Self::Head(_) => None,
            Self::Add(order) => Some(order.lines.len()),
            Self::Line(_, place) => Some(*place),
        }
    }
}

/// The lines of an order as they were asked for.
fn asked(order: &Order) -> Vec<Value> {
    let lines = OrderData::of(order).lines;
    let written = lines.iter().map(|line| {
        json!({
            "id": line.id, "plug_id": line.plug_id, "quantity": line.quantity,
            "total_cost": line.total_cost, "pack_size": line.pack_size,
        })
    });
    written.collect()
}

/// The order that a form wrote, where to see it.
pub(super) fn seen(id: Uuid, done: &str) -> String {
    format!("/orders/{id}?done={done}")
}
