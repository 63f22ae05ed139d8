//! The formulas, each on its own, so that every figure of a line can be recomputed from the others.

use statrs::distribution::{ContinuousCDF, Normal};

/// The standard normal quantile of a service level, above 0 and below 1.
pub fn z(service_level: f64) -> f64 {
    Normal::standard().inverse_cdf(service_level)
}

/// Safety stock for demand that varies and a lead time that does: z·√(L·σ² + f²·σ_L²), from any
/// textbook of inventory.
pub fn safety_stock(z: f64, lead: f64, lead_sd: f64, forecast: f64, demand_sd: f64) -> f64 {
    z * (lead * demand_sd.powi(2) + forecast.powi(2) * lead_sd.powi(2)).sqrt()
}

/// Expected demand in the lead time and safety stock, not rounded.
pub fn exact_reorder_point(forecast: f64, lead: f64, safety_stock: f64) -> f64 {
    forecast * lead + safety_stock
}

/// The economic order quantity √(2·D·K/h): demand in a year, cost of an order, cost of holding one
/// for a year (Harris, F. W. (1913), "How many parts to make at once", Factory 10, 135-136, 152).
pub fn economic_quantity(yearly_demand: f64, order_cost: f64, holding_cost: f64) -> f64 {
    (2.0 * yearly_demand * order_cost / holding_cost).sqrt()
}

/// Whether a position (on hand − reserved + on order) is at its reorder point or below it: what a
/// shop wants to be told of.
pub const fn is_due(position: i64, reorder_point: i64) -> bool {
    position <= reorder_point
}

/// What to order: nothing above the reorder point, else the economic quantity or what is missing to
/// the reorder point, whichever is more, rounded up to whole packs.
pub fn order_quantity(position: i64, reorder_point: i64, economic: f64, pack: i64) -> i64 {
    if !is_due(position, reorder_point) {
        return 0;
    }
    let missing = (reorder_point - position) as f64;
    in_packs(up(economic.max(missing)), pack)
}

/// What to order where least and greatest stock are given: up to the greatest, in whole packs.
pub fn up_to(position: i64, least: i64, greatest: i64, pack: i64) -> i64 {
    if is_due(position, least) {
        in_packs(greatest - position, pack)
    } else {
        0
    }
}

/// The next whole number.
pub fn up(value: f64) -> i64 {
    value.ceil() as i64
}

fn in_packs(quantity: i64, pack: i64) -> i64 {
    quantity.max(0).div_euclid(pack) * pack
        + if quantity.max(0).rem_euclid(pack) > 0 {
            pack
        } else {
            0
        }
}
