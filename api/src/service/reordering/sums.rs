//! What the lines of each supplier come to.

use std::collections::BTreeMap;

use plugwell_domain::ledger::Money;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::ReorderLine;
use plugwell_domain::wording::counted;
use serde::Serialize;
use utoipa::ToSchema;

use super::gathered::Suppliers;
use super::key;

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

/// The sums of some lines, in the order of the proposal.
pub(super) fn sums<'a>(
    lines: impl Iterator<Item = &'a ReorderLine>,
    suppliers: &Suppliers,
    policy: &Policy,
) -> Vec<SupplierSum> {
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
                retired: suppliers.is_retired(line.supplier.as_deref()),
                least_order: suppliers.least_order(line.supplier.as_deref()),
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
