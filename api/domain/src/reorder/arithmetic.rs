//! The formulas, each on its own, so that every figure of a line can be recomputed from the others.

/// Numerator and denominator of the quantile's approximation about a half, lowest power first.
const MIDDLE: [[f64; 8]; 2] = [
    [
        3.387_132_872_796_366_5,
        133.141_667_891_784_38,
        1_971.590_950_306_551_3,
        13_731.693_765_509_46,
        45_921.953_931_549_87,
        67_265.770_927_008_7,
        33_430.575_583_588_13,
        2_509.080_928_730_122_7,
    ],
    [
        1.0,
        42.313_330_701_600_91,
        687.187_007_492_057_9,
        5_394.196_021_424_751,
        21_213.794_301_586_597,
        39_307.895_800_092_71,
        28_729.085_735_721_943,
        5_226.495_278_852_854,
    ],
];
/// The same towards the ends.
const ENDS: [[f64; 8]; 2] = [
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        0.241_780_725_177_450_6,
        0.022_723_844_989_269_184,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        0.689_767_334_985_1,
        0.148_103_976_427_480_08,
        0.015_198_666_563_616_457,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
];

/// The standard normal quantile of a service level from 0.5 to 0.9999, to some 16 digits: algorithm
/// AS 241 (Wichura, M. J. (1988), "The percentage points of the normal distribution", Applied
/// Statistics 37, 477-484), of which these levels need two of the three parts.
pub fn z(service_level: f64) -> f64 {
    let share = |powers: [[f64; 8]; 2], r: f64| {
        let [over, under] = powers.map(|p| p.iter().rev().fold(0.0, |sum, power| sum * r + power));
        over / under
    };
    let from_half = service_level - 0.5;
    if from_half <= 0.425 {
        from_half * share(MIDDLE, 0.180_625 - from_half * from_half)
    } else {
        share(ENDS, (-(1.0 - service_level).ln()).sqrt() - 1.6)
    }
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
