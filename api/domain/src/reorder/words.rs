//! A line in words, from its own figures.

use super::arithmetic::{exact_reorder_point, z};
use super::expected::Chosen;
use super::{Known, LeadDays, LeadSource, MinMax, ReorderLine, ReorderNote, ReorderNoteCode};
use crate::forecast::{DemandClass, ForecastMethod};
use crate::ledger::Money;
use crate::money::decimal;
use crate::wording::{agreeing, counted};

/// How one line came about, in one paragraph.
pub(super) fn arithmetic(line: &ReorderLine, lead: &LeadDays, chosen: Chosen) -> String {
    let told = [
        expected(line, chosen),
        lead_time(line, lead),
        point(line),
        order(line),
    ];
    told.join(" ")
}

/// At most two decimals.
fn figure(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0 + 0.0)
}

fn sum(money: &Money) -> String {
    format!(
        "{} {}",
        decimal(money.minor, &money.currency),
        money.currency
    )
}

fn plugs(quantity: i64) -> String {
    counted(quantity, "plug")
}

fn expected(line: &ReorderLine, chosen: Chosen) -> String {
    let (period, count) = (line.demand.period, line.demand.series.len());
    let asked: i64 = line.demand.series.iter().sum();
    let forecast = figure(line.forecast_per_period);
    let history = match chosen {
        Chosen::LittleHistory { periods, least } => format!(
            "Too little history for a forecast ({periods} whole {period}{}, of {least} that it takes by the policy), so a \
             start of {count} {period}s, as the note says",
            if periods == 1 { "" } else { "s" }
        ),
        _ => format!("{} in {count} {period}s", plugs(asked)),
    };
    let class = match (line.class, line.average_interval, line.squared_variation) {
        (Some(class), Some(interval), Some(variation)) => format!(
            ", {class} (some every {}, squared variation of the sizes {})",
            counted(figure(interval), period.word()),
            figure(variation)
        ),
        _ => String::new(),
    };
    let parameters = match (line.method_parameters.alpha, line.method_parameters.beta) {
        (Some(alpha), Some(beta)) => format!(" with alpha {alpha} and beta {beta}"),
        (Some(alpha), None) => format!(" with alpha {alpha}"),
        _ => String::new(),
    };
    let method = match line.method {
        ForecastMethod::Croston => "Croston's method",
        ForecastMethod::Sba => "the Syntetos-Boylan method",
        ForecastMethod::Tsb => "the Teunter-Syntetos-Babai method",
        ForecastMethod::Mean | ForecastMethod::Given => "the mean",
    };
    format!(
        "{history}{class}: {method}{parameters} expects {forecast} a {period}; they deviate by {}.{}",
        figure(line.demand_sd),
        why(chosen, &period.to_string())
    )
}

/// Which rule chose the method; nothing where the history says it already.
fn why(chosen: Chosen, period: &str) -> String {
    let several = |count: usize| match count {
        1 => format!("1 {period}"),
        more => format!("{more} {period}s"),
    };
    match chosen {
        Chosen::LittleHistory { .. } => String::new(),
        Chosen::NoDemand => " The mean, since without demand there is nothing else.".to_owned(),
        Chosen::Silent { periods, intervals } => format!(
            " That method, since nothing was asked for in the last {}, more than {intervals} average intervals: the policy \
             names it for demand that has fallen silent.",
            several(periods)
        ),
        Chosen::FewSizes { sizes, least } => format!(
            " The mean, since there was demand in only {}: by the policy the methods for bursts take {least}.",
            several(sizes)
        ),
        Chosen::OfClass(class) => {
            format!(" That method, since the policy names it for {class} demand.")
        }
    }
}

fn lead_time(line: &ReorderLine, lead: &LeadDays) -> String {
    let from = match lead.source {
        LeadSource::ByHand => "as given by hand".to_owned(),
        LeadSource::PastOrders => format!("from {}", counted(lead.deliveries, "delivery")),
        LeadSource::Promised => "as the supplier promises".to_owned(),
        LeadSource::Policy => "by the shop's policy".to_owned(),
    };
    let LeadDays { mean, sd, .. } = lead;
    let days = |days: f64| counted(figure(days), "day");
    let periods = |periods: f64| counted(figure(periods), line.demand.period.word());
    let of = line.lead_time_periods;
    format!(
        "Delivery takes {} ({}), {from}, ± {} ({}).",
        days(*mean),
        periods(of.mean),
        days(*sd),
        periods(of.sd)
    )
}

fn point(line: &ReorderLine) -> String {
    let (forecast, lead) = (line.forecast_per_period, line.lead_time_periods);
    let z = z(line.service_level);
    let exact = exact_reorder_point(forecast, lead.mean, line.safety_stock);
    let [f, l, sd_l, sd] = [forecast, lead.mean, lead.sd, line.demand_sd].map(figure);
    let computed = format!(
        "Service level {} %, so z = {z:.3}: safety stock {z:.3} × √({l} × {sd}² + {f}² × {sd_l}²) = {}; \
         reorder point {f} × {l} + {} = {}, rounded up {}.",
        figure(line.service_level * 100.0),
        figure(line.safety_stock),
        figure(line.safety_stock),
        figure(exact),
        exact.ceil()
    );
    match line.by_hand {
        None => computed,
        Some(given) => format!(
            "{computed} By hand: order at {} or fewer, up to {}.",
            given.min_quantity, given.max_quantity
        ),
    }
}

fn order(line: &ReorderLine) -> String {
    let ReorderLine {
        on_hand,
        reserved,
        on_order,
        position,
        reorder_point,
        ..
    } = line;
    let position_told =
        format!("{on_hand} on hand − {reserved} reserved + {on_order} on order = {position}");
    if !line.due {
        return format!("{position_told}, above {reorder_point}: nothing to order.");
    }
    let wanted = match line.by_hand {
        Some(given) => format!("up to {}", given.max_quantity),
        None => format!(
            "the greater of the economic quantity √(2 × {} × {} × {} / ({} × {})) = {} and what is missing, {}",
            figure(line.forecast_per_period),
            line.periods_per_year,
            sum(&line.order_cost),
            line.holding_rate,
            sum(&line.unit_cost),
            figure(line.economic_quantity),
            reorder_point - position
        ),
    };
    let packs = match line.pack_size {
        1 => String::new(),
        size => format!(
            ", in packs of {size} ({}{})",
            line.packs,
            line.by_hand
                .map_or_else(String::new, |given| rounded(line, given))
        ),
    };
    format!(
        "{position_told}, at {reorder_point} or below: order {wanted}{packs}: {}, about {}.",
        plugs(line.order_quantity),
        sum(&line.cost)
    )
}

/// How far whole packs go above the greatest stock that is given by hand.
fn rounded(line: &ReorderLine, given: MinMax) -> String {
    match line.position + line.order_quantity - given.max_quantity {
        above if above > 0 => format!(", rounded up: {above} above the greatest"),
        _ => String::new(),
    }
}

/// What should be known besides.
pub(super) fn notes(
    line: &ReorderLine,
    known: &Known<'_>,
    silent: bool,
    start: Option<String>,
) -> Vec<ReorderNote> {
    let note = |code, text: String| ReorderNote { code, text };
    let mut notes: Vec<ReorderNote> = start
        .into_iter()
        .map(|text| note(ReorderNoteCode::NoHistory, text))
        .collect();
    if silent {
        let text = "Nothing has been asked for lately, for longer than usual: the forecast falls from here on. \
                    Look whether the part is still wanted before ordering.";
        notes.push(note(ReorderNoteCode::DemandSilent, text.to_owned()));
    }
    notes.extend(bursts(line.class).map(|text| note(ReorderNoteCode::BurstsMissed, text)));
    notes
        .extend(assumed_lead(&known.lead).map(|text| note(ReorderNoteCode::LeadTimeAssumed, text)));
    if known.unit_cost.is_none() {
        let text = format!(
            "Nobody has said what a plug costs: {} is assumed.",
            sum(&line.unit_cost)
        );
        notes.push(note(ReorderNoteCode::UnitCostAssumed, text));
    }
    if line.by_hand.is_some() {
        let text = match known.hand.note.as_deref() {
            Some(why) => format!("Least and greatest stock are given by hand: {why}"),
            None => "Least and greatest stock are given by hand.".to_owned(),
        };
        notes.push(note(ReorderNoteCode::GivenByHand, text));
    }
    if line.supplier.is_none() {
        let text = "No receipt and no order says who supplies it: name a supplier for it.";
        notes.push(note(ReorderNoteCode::SupplierUnknown, text.to_owned()));
    }
    notes.extend(line.use_first.iter().map(|other| {
        let text = format!(
            "Use {} {} first: {} lie unsold since {}; {}.",
            other.plug.maker,
            other.plug.part_number,
            plugs(other.available),
            other.unsold_since.format("%-d %b %Y"),
            other.text.trim_end_matches('.')
        );
        note(ReorderNoteCode::UseEquivalentFirst, text)
    }));
    notes
}

/// By how much the service level is missed where sets jump over the reorder point; the test of the
/// simulation holds the figures.
fn bursts(class: Option<DemandClass>) -> Option<String> {
    let points = match class? {
        DemandClass::Intermittent => "7 to 10",
        DemandClass::Lumpy => "14 to 20",
        DemandClass::Smooth | DemandClass::Erratic => return None,
    };
    Some(format!(
        "Demand comes in bursts, which the formula takes for normally distributed: in a simulation the service level \
         was missed by some {points} points of a hundred. Where that matters, raise it for this part, or give least and \
         greatest stock by hand."
    ))
}

fn assumed_lead(lead: &LeadDays) -> Option<String> {
    match (lead.source, lead.spread_assumed) {
        (LeadSource::Policy, _) => Some(format!(
            "No delivery of this supplier tells how long it takes: {} {} assumed.",
            counted(figure(lead.mean), "day"),
            agreeing(figure(lead.mean), "is", "are")
        )),
        (_, true) => Some(format!(
            "Too few deliveries tell how much the lead time varies: ± {} {} assumed.",
            counted(figure(lead.sd), "day"),
            agreeing(figure(lead.sd), "is", "are")
        )),
        (_, false) => None,
    }
}
