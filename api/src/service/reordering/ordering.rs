//! Draft orders made of the proposal.

use std::collections::{BTreeMap, HashSet};
use std::sync::Arc;

use chrono::{DateTime, Days, Utc};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::Money;
use plugwell_domain::order::{AskedLine, LINES, Order, OrderData};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{
    CountedOn, LeftOut, LeftOutCode, OrderChoice, ReorderLine, ReorderNoteCode,
};
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::left_out::{told, unorderable};
use super::{Asked, Proposal, Whole};
use crate::service::shop::Touched;
use crate::service::stock::By;
use crate::service::{Refusal, Shop, orders};

/// What became of the proposal.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct OrderedProposal {
    /// The draft orders, one for each supplier; a long one is split.
    pub orders: Vec<Order>,
    /// Parts that were not ordered, with the reason.
    pub left_out: Vec<LeftOut>,
}

/// Makes draft orders of the proposal, or of the lines that are chosen. What lies unsold holds orders
/// back in the order of the proposal, and no plug more than one.
///
/// # Errors
/// Suppliers and parts that there are not; those of [`orders::write`].
pub fn order(
    shop: &Shop,
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    choice: &OrderChoice,
) -> Result<(OrderedProposal, Vec<Touched>), Refusal> {
    // Whoever comes second sees the drafts of the first, and orders nothing twice.
    session.lock_proposal()?;
    let named = named(session, choice)?;
    let asked = Asked {
        all: choice.plug_ids.is_some(),
        ..Asked::default()
    };
    let Proposal {
        lines,
        mut left_out,
        suppliers,
        ..
    } = Whole::of(shop, session, policy, None, by.at)?.asked(&asked, policy);
    left_out.retain(|part| choice.takes_part(part.plug_id) && choice.suppliers.is_none());
    let retired = suppliers
        .into_iter()
        .filter(|sum| sum.retired)
        .filter_map(|sum| sum.supplier);
    let retired: Vec<String> = retired.collect();
    let mut seen: HashSet<Uuid> = left_out.iter().map(|part| part.plug_id).collect();
    let mut by_supplier: BTreeMap<String, Vec<Wanted>> = BTreeMap::new();
    // Over all lines, whichever are chosen: a part is held back by the same plugs in every call.
    let mut counted_on = CountedOn::default();
    for line in lines {
        let covered = !choice.names_part(line.plug_id) && counted_on.cover(&line);
        let taken =
            choice.takes_part(line.plug_id) && choice.takes_supplier(line.supplier.as_deref());
        if !taken {
            continue;
        }
        seen.insert(line.plug_id);
        let chosen = choice.quantity_of(line.plug_id);
        let quantity = chosen.unwrap_or(line.order_quantity);
        match kept_back(&line, quantity, covered, &retired) {
            Some(part) => left_out.push(part),
            None => {
                let supplier = line.supplier.clone().unwrap_or_default();
                let wanted = by_supplier.entry(supplier).or_default();
                wanted.push(Wanted { line, quantity });
            }
        }
    }
    for plug in named.iter().filter(|plug| !seen.contains(&plug.id)) {
        left_out.push(not_proposed(session, plug)?);
    }
    let mut made = Vec::new();
    for (supplier, lines) in by_supplier {
        for lines in lines.chunks(*LINES.end()) {
            let data = draft(&supplier, lines, by.at);
            made.push(orders::write(session, policy, &data, by.at)?);
        }
    }
    Ok((
        OrderedProposal {
            orders: made,
            left_out,
        },
        Vec::new(),
    ))
}

/// A line that becomes one of an order, and how many plugs of it.
struct Wanted {
    line: Arc<ReorderLine>,
    quantity: i64,
}

/// The parts that are named; a fault for every name and part that there is not.
fn named(session: &mut Session, choice: &OrderChoice) -> Result<Vec<Plug>, Refusal> {
    let mut faults = Vec::new();
    for (place, name) in choice.suppliers.iter().flatten().enumerate() {
        if session
            .list_suppliers(Some(name.trim()), None, 1)?
            .is_empty()
        {
            let at = format!("suppliers/{place}");
            faults.push(Fault::at(
                &at,
                FaultCode::NotFound,
                "there is no such supplier",
            ));
        }
    }
    let ids: &[Uuid] = choice.plug_ids.as_deref().unwrap_or_default();
    let found = session.plugs_by_id(ids)?;
    for (place, id) in ids.iter().enumerate() {
        if found.iter().all(|plug| plug.id != *id) {
            let at = format!("plug_ids/{place}");
            faults.push(Fault::at(&at, FaultCode::NotFound, "there is no such part"));
        }
    }
    if faults.is_empty() {
        Ok(found)
    } else {
        Err(Refusal::Faults(faults))
    }
}

/// A line that does not become one of an order, with the reason.
fn kept_back(
    line: &ReorderLine,
    quantity: i64,
    covered: bool,
    retired: &[String],
) -> Option<LeftOut> {
    let supplier = line.supplier.as_ref();
    let (code, text) = if quantity == 0 {
        let text = format!(
            "Nothing to order: its position is {}, above its reorder point of {}.",
            line.position, line.reorder_point
        );
        (LeftOutCode::NotDue, text)
    } else if supplier.is_none() {
        let text = "Nobody knows who supplies it: name a supplier for it.".to_owned();
        (LeftOutCode::SupplierUnknown, text)
    } else if supplier.is_some_and(|name| retired.contains(name)) {
        let text = "Nothing more is ordered from its supplier: name another one for it.".to_owned();
        (LeftOutCode::SupplierRetired, text)
    } else if covered {
        let notes = line
            .notes
            .iter()
            .filter(|note| note.code == ReorderNoteCode::UseEquivalentFirst);
        let told: Vec<&str> = notes.map(|note| note.text.as_str()).collect();
        let text = format!("{} Name the part to order it all the same.", told.join(" "));
        (LeftOutCode::UseEquivalentFirst, text)
    } else {
        return None;
    };
    Some(LeftOut {
        plug_id: line.plug_id,
        maker: line.maker.clone(),
        part_number: line.part_number.clone(),
        code,
        text,
    })
}

/// A part that was named and of which there is no line.
fn not_proposed(session: &mut Session, plug: &Plug) -> Result<LeftOut, Refusal> {
    if let Some(code) = unorderable(plug) {
        let equals = || "Look for an equivalent in the catalogue.".to_owned();
        return told(session, plug, code, equals);
    }
    let text = "The shop never had it, ordered it or gave anything by hand for it, or its supplier was not chosen: \
                there is no line of it.";
    Ok(LeftOut {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        code: LeftOutCode::NotDue,
        text: text.to_owned(),
    })
}

/// The draft of some lines of one supplier, expected when the slowest of them is.
fn draft(supplier: &str, lines: &[Wanted], at: DateTime<Utc>) -> OrderData {
    let days = lines.iter().map(|Wanted { line, .. }| {
        let periods = line.lead_time_periods.mean;
        (periods * line.demand.period.days()).ceil() as u64
    });
    let expected_on = at
        .date_naive()
        .checked_add_days(Days::new(days.max().unwrap_or(0)));
    OrderData {
        supplier: supplier.to_owned(),
        state: None,
        expected_on,
        reference: None,
        note: Some("Made of the reorder proposal.".to_owned()),
        lines: lines.iter().map(asked_line).collect(),
    }
}

fn asked_line(Wanted { line, quantity }: &Wanted) -> AskedLine {
    // What is only assumed does not go to the supplier.
    let assumed = line.has(ReorderNoteCode::UnitCostAssumed);
    let cost = || Money {
        minor: quantity.saturating_mul(line.unit_cost.minor),
        currency: line.unit_cost.currency.clone(),
    };
    AskedLine {
        id: None,
        plug_id: line.plug_id,
        quantity: *quantity,
        total_cost: (!assumed).then(cost),
        pack_size: (line.pack_size > 1).then_some(line.pack_size),
    }
}
