//! What lies dead, what is tied up in it, and whether something that does the same is wanted.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::fits;
use plugwell_domain::instant::{self, Period};
use plugwell_domain::ledger::Money;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::report::dead_stock::InStock;
use plugwell_domain::report::usage::by_key;
use plugwell_domain::requirement::of_part;
use plugwell_domain::stand_in::PartName;
use plugwell_domain::valuation::{Amount, Books, Method};
use plugwell_domain::wording::counted;
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop, now};

/// What a part's stock is worth.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct TiedUp {
    /// Plugs in bins and quarantine.
    pub quantity: i64,
    /// What those cost by FIFO of which that is known.
    pub value: Money,
    /// Plugs of which nobody knows the cost; the value is without them.
    #[schema(minimum = 0)]
    pub quantity_without_cost: i64,
}

/// A part that does the same and is wanted.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SellingEquivalent {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// Plugs of it that were used in the same days.
    pub used: i64,
}

/// A part that lies dead.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DeadStockLine {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// Plugs in bins.
    pub on_hand: i64,
    /// The last issue that stands; null where there is none.
    #[serde(serialize_with = "instant::serialize_option")]
    pub last_issue_at: Option<DateTime<Utc>>,
    /// When the oldest lot of what lies there came.
    #[serde(serialize_with = "instant::serialize")]
    pub received_at: DateTime<Utc>,
    /// Whole days since the later of both.
    pub idle_days: i64,
    /// What is tied up in it.
    pub tied_up: TiedUp,
    /// Of the parts that pass all that an equivalent has to, by their attributes, the one that was
    /// used most in the same days; null where none was used, or where the part's own record lacks what
    /// equivalents are found by.
    pub selling_equivalent: Option<SellingEquivalent>,
    /// How many such parts were used.
    pub selling_equivalents: usize,
}

/// What lies dead.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DeadStockReport {
    /// Up to when.
    #[serde(serialize_with = "instant::serialize")]
    pub as_of: DateTime<Utc>,
    /// After how many days without an issue stock is called dead.
    pub days: u32,
    /// What counts, in words.
    pub text: String,
    /// The dearest first.
    pub items: Vec<DeadStockLine>,
    /// All of it.
    pub total: TiedUp,
}

/// The report; `days` as the policy has it where nobody says.
///
/// # Errors
/// Where the database fails.
pub fn report(shop: &Shop, days: Option<u32>) -> Result<DeadStockReport, Refusal> {
    let policy = shop.policy();
    let days = days.unwrap_or(policy.values.dead_stock_days.value);
    let now = now();
    let looked = shop
        .store
        .read(|session| look(session, &policy, days, now))?;
    let currency = &policy.values.currency.value;
    let selling = Selling::of(&looked);
    let mut total = Amount::default();
    let mut lines: Vec<DeadStockLine> = Vec::with_capacity(looked.dead.len());
    for part in &looked.dead {
        let Some(plug) = looked.plugs.get(&part.plug_id) else {
            continue;
        };
        let amount = looked.worth.get(&part.plug_id).copied();
        let amount = amount.unwrap_or_default();
        total += amount;
        let (selling_equivalents, best) = selling.like(plug, &policy);
        lines.push(DeadStockLine {
            plug_id: plug.id,
            maker: plug.data.maker.clone(),
            part_number: plug.data.part_number.clone(),
            on_hand: part.on_hand,
            last_issue_at: part.last_issue_at,
            received_at: part.received_at,
            idle_days: part.idle_days(now),
            tied_up: tied_up(amount, currency),
            selling_equivalent: best,
            selling_equivalents,
        });
    }
    lines.sort_by(|a, b| {
        let worth = |line: &DeadStockLine| (line.tied_up.value.minor, line.on_hand);
        worth(b).cmp(&worth(a)).then(a.plug_id.cmp(&b.plug_id))
    });
    Ok(DeadStockReport {
        as_of: now,
        days,
        text: format!(
            "Dead: in bins for {} or longer, and nothing of it issued in that time. An issue that was put \
             right is none.",
            counted(days, "day")
        ),
        items: lines,
        total: tied_up(total, currency),
    })
}

fn tied_up(amount: Amount, currency: &str) -> TiedUp {
    TiedUp {
        quantity: amount.quantity,
        value: Money {
            minor: amount.minor,
            currency: currency.to_owned(),
        },
        quantity_without_cost: amount.without_cost,
    }
}

/// What the database says of all that lies dead.
struct Looked {
    dead: Vec<InStock>,
    worth: HashMap<Uuid, Amount>,
    /// Parts that were used in the same days, and how much, the most used first.
    used: Vec<(Uuid, i64)>,
    /// Records of both.
    plugs: HashMap<Uuid, Plug>,
}

fn look(
    session: &mut Session,
    policy: &Policy,
    days: u32,
    now: DateTime<Utc>,
) -> Result<Looked, Refusal> {
    let parts = session.parts_in_stock()?.into_iter();
    let dead: Vec<InStock> = parts.filter(|part| part.is_dead(days, now)).collect();
    let ids: Vec<Uuid> = dead.iter().map(|part| part.plug_id).collect();
    let mut worth = HashMap::new();
    session.each_part(&ids, &policy.values.currency.value, |part| {
        let mut books = Books::of(Method::Fifo, &part.lots);
        for entry in &part.entries {
            books.book(entry);
        }
        worth.insert(part.plug_id, books.stands());
    })?;
    let period = Period {
        from: now.checked_sub_signed(TimeDelta::days(days.into())),
        to: None,
    };
    let flows = match dead.is_empty() {
        true => Vec::new(),
        false => session.flows_by_part(period)?,
    };
    let used: Vec<(Uuid, i64)> = by_key(flows)
        .into_iter()
        .map(|(id, used)| (id, used.used))
        .filter(|(_, used)| *used > 0)
        .collect();
    let all: Vec<Uuid> = ids
        .into_iter()
        .chain(used.iter().map(|(id, _)| *id))
        .collect();
    let plugs = session.plugs_by_id(&all)?;
    Ok(Looked {
        dead,
        worth,
        used,
        plugs: plugs.into_iter().map(|plug| (plug.id, plug)).collect(),
    })
}

/// Parts that are wanted, by their thread: no other can be an equivalent.
struct Selling<'a> {
    by_thread: HashMap<Option<i64>, Vec<(&'a Plug, i64)>>,
}

impl<'a> Selling<'a> {
    fn of(looked: &'a Looked) -> Self {
        let mut by_thread: HashMap<_, Vec<_>> = HashMap::new();
        for (id, used) in &looked.used {
            if let Some(plug) = looked.plugs.get(id) {
                let same = by_thread.entry(plug.shown(Attr::Thread)).or_default();
                same.push((plug, *used));
            }
        }
        Self { by_thread }
    }

    /// How many of them are equivalents of a part, and the most used of those.
    fn like(&self, plug: &Plug, policy: &Policy) -> (usize, Option<SellingEquivalent>) {
        let (Ok(requirement), Some(same)) = (
            of_part(plug, policy),
            self.by_thread.get(&plug.shown(Attr::Thread)),
        ) else {
            return (0, None);
        };
        let like = same
            .iter()
            .filter(|(other, _)| other.id != plug.id && fits(&requirement, *other));
        let all: Vec<_> = like.collect();
        let best = all.first().map(|(other, used)| {
            let PartName { maker, part_number } =
                PartName::new(&other.data.maker, &other.data.part_number);
            SellingEquivalent {
                plug_id: other.id,
                maker,
                part_number,
                used: *used,
            }
        });
        (all.len(), best)
    }
}
