//! A line of the proposal: every figure that it is made of, and the same in words.

use serde::Serialize;
use uuid::Uuid;

use super::arithmetic::{
    economic_quantity, exact_reorder_point, is_due, order_quantity, safety_stock, up, up_to, z,
};
use super::expected::Expected;
use super::words::{arithmetic, notes};
use super::{Known, LeadTimePeriods, Reordering, UseFirst};
use crate::forecast::{
    DemandClass, DemandSeries, ForecastMethod, MethodParameters, sample_deviation,
};
use crate::ledger::Money;
use crate::policy::{Policy, Values};
use crate::words::closed_list;

closed_list! {
    /// What should be known of a line besides its figures; other programs branch on it.
    ReorderNoteCode, "code of a note" {
        /// Too little history: what the part begins with.
        NoHistory = "no_history",
        /// Nothing has been asked for lately.
        DemandSilent = "demand_silent",
        /// Demand comes in bursts of which the normal distribution tells too little.
        BurstsMissed = "bursts_missed",
        /// The lead time, or its spread, was not measured.
        LeadTimeAssumed = "lead_time_assumed",
        /// Nobody has said what a plug costs.
        UnitCostAssumed = "unit_cost_assumed",
        /// Least and greatest stock are given by hand.
        GivenByHand = "given_by_hand",
        /// Nobody knows who supplies it.
        SupplierUnknown = "supplier_unknown",
        /// An equivalent lies unsold.
        UseEquivalentFirst = "use_equivalent_first",
    }
}

/// What should be known of a line besides its figures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReorderNote {
    /// Which one.
    pub code: ReorderNoteCode,
    /// In a sentence.
    pub text: String,
}

/// Least and greatest stock as the shop gives them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MinMax {
    /// At this many or fewer it is ordered: stands in `reorder_point`.
    pub min_quantity: i64,
    /// Up to this many, in whole packs.
    pub max_quantity: i64,
}

impl MinMax {
    fn of(hand: &Reordering) -> Option<Self> {
        let given = hand.min_quantity.zip(hand.max_quantity);
        given.map(|(min_quantity, max_quantity)| Self {
            min_quantity,
            max_quantity,
        })
    }
}

/// What to order of one part, with every figure that it is made of.
///
/// `safety_stock` = z(`service_level`) · √(L · `demand_sd`² + f² · sd_L²), with f the forecast per
/// period, L and sd_L the lead time in periods; `reorder_point` = f · L + `safety_stock`, rounded up;
/// `economic_quantity` = √(2 · f · `periods_per_year` · `order_cost` / (`holding_rate` · `unit_cost`));
/// `position` = `on_hand` − `reserved` + `on_order`; `order_quantity` = 0 above the reorder point, else
/// the greater of `economic_quantity` and `reorder_point` − `position`, rounded up to whole packs. With
/// `by_hand` the reorder point is its `min_quantity`, and what is ordered reaches up to its
/// `max_quantity`, in whole packs.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReorderLine {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number.
    pub part_number: String,
    /// Who it is ordered from; null where nobody knows.
    pub supplier: Option<String>,
    /// Its demand, ending with the last whole period.
    pub demand: DemandSeries,
    /// The class of it; null where there is too little history, or no demand in it.
    pub class: Option<DemandClass>,
    /// Periods from one with demand to the next, on average; null with the class.
    pub average_interval: Option<f64>,
    /// Squared coefficient of variation of the sizes; null with the class.
    pub squared_variation: Option<f64>,
    /// How demand is forecast.
    pub method: ForecastMethod,
    /// With which parameters.
    pub method_parameters: MethodParameters,
    /// Plugs per period that are expected.
    pub forecast_per_period: f64,
    /// Sample deviation of the series.
    pub demand_sd: f64,
    /// From order to delivery.
    pub lead_time_periods: LeadTimePeriods,
    /// The share of deliveries before which the shelf is not to run empty.
    pub service_level: f64,
    /// Plugs that are kept against chance.
    pub safety_stock: f64,
    /// At this position or below it is ordered.
    pub reorder_point: i64,
    /// Periods that make a year: 52 weeks or 12 months.
    pub periods_per_year: f64,
    /// What one order costs.
    pub order_cost: Money,
    /// What a year on the shelf costs, as a share of the value.
    pub holding_rate: f64,
    /// What a plug costs.
    pub unit_cost: Money,
    /// Plugs that cost least to order and to hold.
    pub economic_quantity: f64,
    /// Plugs in a box.
    pub pack_size: i64,
    /// Plugs in bins, all lots.
    pub on_hand: i64,
    /// Plugs reserved and not yet issued.
    pub reserved: i64,
    /// Plugs ordered and not yet in, drafts among them.
    pub on_order: i64,
    /// On hand − reserved + on order.
    pub position: i64,
    /// Whether the position is at the reorder point or below it.
    pub due: bool,
    /// Plugs to order.
    pub order_quantity: i64,
    /// The same in boxes.
    pub packs: i64,
    /// What they cost.
    pub cost: Money,
    /// Least and greatest stock where they are given by hand.
    pub by_hand: Option<MinMax>,
    /// Equivalents that lie unsold.
    pub use_first: Vec<UseFirst>,
    /// The arithmetic in words.
    pub text: String,
    /// What should be known besides.
    pub notes: Vec<ReorderNote>,
}

impl ReorderLine {
    /// The line of a part.
    pub fn of(known: Known<'_>, policy: &Policy) -> Self {
        let values = &policy.values;
        let period = values.demand_period.value;
        let money = |minor| money(minor, values);
        let expected = Expected::of(&known, values);
        let forecast = expected.per_period;
        let demand_sd = sample_deviation(&expected.series);
        let lead = known.lead.periods(period);
        let service_level = known.hand.service_level;
        let service_level = service_level.unwrap_or(values.service_level.value);
        let safety = safety_stock(z(service_level), lead.mean, lead.sd, forecast, demand_sd);
        let by_hand = MinMax::of(known.hand);
        let computed = up(exact_reorder_point(forecast, lead.mean, safety));
        let reorder_point = by_hand.map_or(computed, |given| given.min_quantity);
        let (unit_cost, order_cost) = (unit_cost(&known, values), values.order_cost_minor.value);
        let holding_rate = values.holding_rate.value;
        let economic = economic_quantity(
            forecast * period.per_year(),
            f64::from(order_cost),
            holding_rate * unit_cost as f64,
        );
        let pack_size = known.pack_size.unwrap_or(1).max(1);
        let position = known.position.total();
        let order_quantity = match by_hand {
            Some(given) => up_to(position, given.min_quantity, given.max_quantity, pack_size),
            None => order_quantity(position, reorder_point, economic, pack_size),
        };
        let mut line = Self {
            plug_id: known.plug.id,
            maker: known.plug.data.maker.clone(),
            part_number: known.plug.data.part_number.clone(),
            supplier: known.supplier.clone(),
            demand: DemandSeries::ending(period, known.last_period, expected.series),
            class: expected.pattern.map(|p| p.class),
            average_interval: expected.pattern.map(|p| p.average_interval),
            squared_variation: expected.pattern.map(|p| p.squared_variation),
            method: expected.method,
            method_parameters: expected.parameters,
            forecast_per_period: forecast,
            demand_sd,
            lead_time_periods: lead,
            service_level,
            safety_stock: safety,
            reorder_point,
            periods_per_year: period.per_year(),
            order_cost: money(i64::from(order_cost)),
            holding_rate,
            unit_cost: money(unit_cost),
            economic_quantity: economic,
            pack_size,
            on_hand: known.position.on_hand,
            reserved: known.position.reserved,
            on_order: known.position.on_order,
            position,
            due: is_due(position, reorder_point),
            order_quantity,
            packs: order_quantity / pack_size,
            cost: money(order_quantity.saturating_mul(unit_cost)),
            by_hand,
            use_first: known.use_first.clone(),
            text: String::new(),
            notes: Vec::new(),
        };
        line.text = arithmetic(&line, &known.lead, expected.chosen);
        line.notes = notes(&line, &known, expected.chosen.is_silent(), expected.start);
        line
    }

    /// Whether a note is among those of the line.
    pub fn has(&self, code: ReorderNoteCode) -> bool {
        self.notes.iter().any(|note| note.code == code)
    }
}

fn money(minor: i64, values: &Values) -> Money {
    Money {
        minor,
        currency: values.currency.value.clone(),
    }
}

/// What a plug is taken to cost: at least one minor unit, or holding it would cost nothing.
fn unit_cost(known: &Known<'_>, values: &Values) -> i64 {
    let assumed = i64::from(values.assumed_unit_cost_minor.value);
    known.unit_cost.unwrap_or(assumed).max(1)
}
