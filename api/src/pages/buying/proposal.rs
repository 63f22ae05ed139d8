//! The proposal as its page shows it: by supplier, each line with its figures, and what was typed.

use std::collections::HashSet;
use std::sync::Arc;

use plugwell_domain::reorder::{LeftOut, ReorderLine, ReorderNoteCode};
use uuid::Uuid;

use crate::pages::figures::{day, instant, money};
use crate::pages::typed::Typed;
use crate::pages::words::say_with;
use crate::service::reordering::{self, Asked, SupplierSum};
use crate::service::{Refusal, Shop};
use crate::shown::marked;

/// Lines of one page.
const LINES: usize = 50;

/// The whole proposal, or a page of it.
pub(super) struct Proposed {
    /// When it was made.
    pub at: String,
    pub suppliers: Vec<Group>,
    /// Parts that are due and cannot be ordered, by the reason.
    pub left_out: Vec<(String, Vec<(Uuid, String)>)>,
    /// Where the rest stands; empty where this is all.
    pub more: String,
}

/// What to order of one supplier.
pub(super) struct Group {
    /// Its place on the page.
    pub place: usize,
    /// Who; `None` where nobody knows.
    pub supplier: Option<String>,
    /// What its lines come to.
    pub sum: String,
    /// Whether an order can be made of them.
    pub can_order: bool,
    pub lines: Vec<Line>,
}

/// A part to order.
pub(super) struct Line {
    pub id: Uuid,
    pub part: String,
    /// Whether it is ticked.
    pub chosen: bool,
    /// Plugs to order, as typed.
    pub quantity: String,
    /// What is wrong with that; empty where nothing is.
    pub fault: String,
    pub packs: String,
    pub cost: String,
    pub available: i64,
    pub on_order: i64,
    pub reorder_point: i64,
    /// The arithmetic in words.
    pub text: String,
    /// What should be known besides.
    pub notes: Vec<String>,
    /// What lies unsold and does the same: part, name, how many since when, how near it comes.
    pub first: Vec<(Uuid, String, String, String)>,
}

/// The field of a part's quantity.
pub(super) fn quantity_field(id: Uuid) -> String {
    format!("quantity-{id}")
}

/// What to order, with what was typed where a form comes back.
pub(super) fn proposed(
    shop: &Shop,
    typed: &Typed,
    faults: &[(Uuid, String)],
) -> Result<Proposed, Refusal> {
    let found = reordering::propose(shop, &Asked::default())?;
    let from: usize = typed.one("from").parse().unwrap_or(0);
    let behind = from.saturating_add(LINES);
    let more = if found.lines.len() > behind {
        format!("/reorder?from={behind}")
    } else {
        String::new()
    };
    let back = typed.one("once").is_empty().then_some(());
    let chosen: HashSet<&str> = typed.all("plug_id").collect();
    let mut suppliers: Vec<Group> = Vec::new();
    for line in found.lines.iter().skip(from).take(LINES) {
        let known = suppliers
            .last()
            .is_some_and(|group| same(group.supplier.as_deref(), line.supplier.as_deref()));
        if !known {
            suppliers.push(group(suppliers.len(), line, &found.suppliers));
        }
        let Some(group) = suppliers.last_mut() else {
            continue;
        };
        let mut shown = told(line);
        shown.chosen = group.can_order
            && match back {
                Some(()) => !waits(line),
                None => chosen.contains(shown.id.to_string().as_str()),
            };
        match typed.one(&quantity_field(shown.id)) {
            "" => {}
            text => text.clone_into(&mut shown.quantity),
        }
        let fault = faults.iter().find(|(id, _)| *id == shown.id);
        shown.fault = fault.map(|(_, why)| why.clone()).unwrap_or_default();
        group.lines.push(shown);
    }
    Ok(Proposed {
        at: instant(found.at),
        suppliers,
        left_out: reasons(&found.left_out),
        more,
    })
}

/// Whether two lines have one supplier: case-blind, as names of suppliers are compared.
fn same(one: Option<&str>, other: Option<&str>) -> bool {
    one.map(str::to_lowercase) == other.map(str::to_lowercase)
}

fn group(place: usize, line: &Arc<ReorderLine>, sums: &[SupplierSum]) -> Group {
    let sum = sums
        .iter()
        .find(|sum| same(sum.supplier.as_deref(), line.supplier.as_deref()));
    Group {
        place,
        supplier: line.supplier.clone(),
        sum: sum.map(|sum| marked(sum.text.clone())).unwrap_or_default(),
        can_order: line.supplier.is_some() && sum.is_none_or(|sum| !sum.retired),
        lines: Vec::new(),
    }
}

/// Whether something that lies unsold should be used up first.
fn waits(line: &ReorderLine) -> bool {
    line.has(ReorderNoteCode::UseEquivalentFirst) && line.use_first.iter().any(|f| f.certain)
}

fn told(line: &ReorderLine) -> Line {
    let packs = match line.pack_size {
        1 => String::new(),
        size => format!("{} × {size}", line.packs),
    };
    let first = line.use_first.iter().map(|first| {
        let lies = say_with(
            "buying-available-lie-unsold-since-day",
            &[
                ("available", &first.available),
                ("day", &day(first.unsold_since)),
            ],
        );
        let name = format!("{} {}", first.plug.maker, first.plug.part_number);
        (first.plug.id, name, lies, marked(first.text.clone()))
    });
    Line {
        id: line.plug_id,
        part: format!("{} {}", line.maker, line.part_number),
        chosen: false,
        quantity: line.order_quantity.to_string(),
        fault: String::new(),
        packs,
        cost: money(line.cost.minor, &line.cost.currency),
        available: line.on_hand - line.reserved,
        on_order: line.on_order,
        reorder_point: line.reorder_point,
        text: marked(line.text.clone()),
        notes: line
            .notes
            .iter()
            .map(|note| marked(note.text.clone()))
            .collect(),
        first: first.collect(),
    }
}

/// Parts that are left out for one reason together, in the order in which reasons first come.
fn reasons(left_out: &[LeftOut]) -> Vec<(String, Vec<(Uuid, String)>)> {
    let mut reasons: Vec<(String, Vec<(Uuid, String)>)> = Vec::new();
    for part in left_out {
        let named = (part.plug_id, format!("{} {}", part.maker, part.part_number));
        let why = marked(part.text.clone());
        match reasons.iter_mut().find(|(text, _)| *text == why) {
            Some((_, parts)) => parts.push(named),
            None => reasons.push((why, vec![named])),
        }
    }
    reasons
}
