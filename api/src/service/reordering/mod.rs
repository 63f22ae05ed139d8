//! What to order: the proposal over all parts, from one consistent state, what is given by hand for
//! single parts, and the orders that are made of it.

mod beginning;
mod gathered;
mod ordering;

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::Money;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Known, LeftOut, LeftOutCode, ReorderLine, Reordering, use_first};
use plugwell_domain::wording::counted;
use plugwell_domain::words::Status;
use plugwell_store::{Session, Stored};
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::heads::patched;
use crate::service::{Refusal, Shop, now, supersession};
use beginning::Beginnings;
use gathered::Gathered;
pub use ordering::{OrderedProposal, order};

/// Which lines are asked for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Asked {
    /// Only this supplier's, by name, case-blind.
    pub supplier: Option<String>,
    /// Only this part's, whether or not there is anything to order.
    pub plug_id: Option<Uuid>,
    /// Also lines with nothing to order.
    pub all: bool,
}

/// What to order.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// When it was made.
    pub at: DateTime<Utc>,
    /// The lines, by supplier (nobody's last), maker, part number and id.
    pub lines: Vec<ReorderLine>,
    /// Parts that are due and cannot be ordered.
    pub left_out: Vec<LeftOut>,
    /// What they come to, by supplier.
    pub suppliers: Vec<SupplierSum>,
}

/// What all lines of one supplier come to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SupplierSum {
    /// The supplier; null for parts of which nobody knows who supplies them.
    pub supplier: Option<String>,
    /// Its lines, those with nothing to order among them.
    pub lines: usize,
    /// Plugs to order.
    pub quantity: i64,
    /// What they cost, where costs are known or assumed.
    pub cost: Money,
    /// Nothing more is ordered from it.
    pub retired: bool,
    /// What an order has to come to before it delivers; null where nobody has said it.
    pub least_order: Option<Money>,
    /// The same in a sentence.
    pub text: String,
}

/// Where a line stands in the proposal: by supplier, nobody's last.
pub type LineKey = (bool, String, String, String, Uuid);

/// The key that lines are ordered by.
pub fn key(line: &ReorderLine) -> LineKey {
    let supplier = line.supplier.as_deref().unwrap_or_default().to_lowercase();
    let (maker, number) = (line.maker.to_lowercase(), line.part_number.to_lowercase());
    (
        line.supplier.is_none(),
        supplier,
        maker,
        number,
        line.plug_id,
    )
}

/// What to order, as the shop stands now.
///
/// # Errors
/// `NotFound` for a part that there is not; where database or index fail.
pub fn propose(shop: &Shop, asked: &Asked) -> Result<Proposal, Refusal> {
    let policy = shop.policy();
    shop.store
        .read(|s| proposed(shop, s, &policy, asked, now()))
}

/// The line of one part, whatever there is to order.
///
/// # Errors
/// `NotFound` for a part that there is not, or that nothing is ordered of.
pub fn line_of(shop: &Shop, plug_id: Uuid) -> Result<ReorderLine, Refusal> {
    let asked = Asked {
        plug_id: Some(plug_id),
        ..Asked::default()
    };
    let mut found = propose(shop, &asked)?;
    found
        .lines
        .pop()
        .ok_or(Refusal::NotFound("line to reorder"))
}

/// What to order, within a transaction.
fn proposed(
    shop: &Shop,
    session: &mut Session,
    policy: &Policy,
    asked: &Asked,
    at: DateTime<Utc>,
) -> Result<Proposal, Refusal> {
    let gathered = Gathered::of(shop, session, policy, asked.plug_id, at)?;
    let unsold = gathered.unsold();
    let beginnings = Beginnings::of(session, &gathered, policy)?;
    let (mut lines, mut left_out) = (Vec::new(), Vec::new());
    for plug in gathered.asked_for() {
        let mut known = gathered.known(plug, policy);
        if beginnings.lacks_history(plug) {
            known.start = Some(beginnings.of_part(plug, known.history, policy));
        }
        let mut line = ReorderLine::of(known.clone(), policy);
        if !asked.takes(&line) {
            continue;
        }
        if let Some(code) = unorderable(plug) {
            if line.due || asked.plug_id.is_some() {
                left_out.push(said(session, plug, code)?);
            }
            continue;
        }
        if line.order_quantity > 0 {
            let first = use_first(plug, &unsold, policy);
            if !first.is_empty() {
                line = ReorderLine::of(
                    Known {
                        use_first: first,
                        ..known
                    },
                    policy,
                );
            }
        }
        if line.order_quantity > 0 || asked.all || asked.plug_id.is_some() {
            lines.push(line);
        }
    }
    lines.sort_by_cached_key(key);
    let suppliers = sums(&lines, &gathered, policy);
    Ok(Proposal {
        at,
        lines,
        left_out,
        suppliers,
    })
}

impl Asked {
    fn takes(&self, line: &ReorderLine) -> bool {
        let wanted = |name: &String| {
            let own = line.supplier.as_deref().map(str::to_lowercase);
            own == Some(name.trim().to_lowercase())
        };
        self.supplier.as_ref().is_none_or(wanted)
    }
}

/// Why nobody can order a part.
fn unorderable(plug: &Plug) -> Option<LeftOutCode> {
    if plug.retired {
        Some(LeftOutCode::Retired)
    } else if plug.data.superseded_by.is_some() {
        Some(LeftOutCode::Superseded)
    } else if plug.data.status == Status::Discontinued {
        Some(LeftOutCode::Discontinued)
    } else {
        None
    }
}

/// A part that is left out, with what to do about it.
fn said(session: &mut Session, plug: &Plug, code: LeftOutCode) -> Result<LeftOut, Refusal> {
    let text = match code {
        LeftOutCode::Superseded => {
            let line = supersession::line(session, plug.data.superseded_by)?;
            let last = line.last().map(|next| {
                format!(
                    "{} {} took its place: order that one.",
                    next.data.maker, next.data.part_number
                )
            });
            last.unwrap_or_else(|| "Another part took its place: order that one.".to_owned())
        }
        LeftOutCode::Discontinued => {
            "Its maker no longer supplies it: look for an equivalent.".to_owned()
        }
        _ => "Its record is retired: bring it back before ordering more of it.".to_owned(),
    };
    Ok(LeftOut {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        code,
        text,
    })
}

fn sums(lines: &[ReorderLine], gathered: &Gathered, policy: &Policy) -> Vec<SupplierSum> {
    let mut by_supplier: BTreeMap<(bool, String), SupplierSum> = BTreeMap::new();
    for line in lines {
        let (nobody, name, ..) = key(line);
        let sum = by_supplier
            .entry((nobody, name))
            .or_insert_with(|| SupplierSum {
                supplier: line.supplier.clone(),
                lines: 0,
                quantity: 0,
                cost: Money {
                    minor: 0,
                    currency: policy.values.currency.value.clone(),
                },
                retired: line
                    .supplier
                    .as_deref()
                    .is_some_and(|name| gathered.is_retired(name)),
                least_order: gathered.least_order(line.supplier.as_deref()),
                text: String::new(),
            });
        sum.lines += 1;
        sum.quantity += line.order_quantity;
        sum.cost.minor = sum.cost.minor.saturating_add(line.cost.minor);
    }
    by_supplier.into_values().map(SupplierSum::told).collect()
}

impl SupplierSum {
    fn told(mut self) -> Self {
        let name = self
            .supplier
            .as_deref()
            .unwrap_or("Nobody knows the supplier");
        let money = |money: &Money| {
            let sum = plugwell_domain::money::decimal(money.minor, &money.currency);
            format!("{sum} {}", money.currency)
        };
        self.text = format!(
            "{name}: {}, {}, about {}.",
            counted(self.lines, "line"),
            counted(self.quantity, "plug"),
            money(&self.cost)
        );
        if let Some(least) = &self.least_order {
            let enough = if self.cost.minor >= least.minor {
                "reached"
            } else {
                "not reached"
            };
            self.text
                .push_str(&format!(" It delivers from {} on: {enough}.", money(least)));
        }
        if self.retired {
            self.text.push_str(" Nothing more is ordered from it.");
        }
        self
    }
}

/// What is given by hand for a part; at version 1 and empty where nobody has given anything.
///
/// # Errors
/// `NotFound`.
pub fn given(shop: &Shop, plug_id: Uuid) -> Result<Stored<Reordering>, Refusal> {
    shop.store.read(|s| given_in(s, plug_id))
}

fn given_in(session: &mut Session, plug_id: Uuid) -> Result<Stored<Reordering>, Refusal> {
    let plug = session.plug(plug_id)?.ok_or(Refusal::NotFound("plug"))?;
    Ok(session.reordering(plug_id, plug.created_at)?)
}

/// Changes what is given by hand for a part.
///
/// # Errors
/// `NotFound`, every fault of it as it would become, `Stale`.
pub fn give(
    shop: &Shop,
    plug_id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Stored<Reordering>, Refusal> {
    shop.write(|s| {
        let old = given_in(s, plug_id)?;
        let data = patched(&old.data, patch)?;
        expected(old.version)?;
        let next = Stored {
            data,
            version: old.version + 1,
            updated_at: now(),
            ..old
        };
        s.put_reordering(&next)?;
        Ok(next)
    })
}
