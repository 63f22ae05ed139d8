//! A line of the proposal, put together anew from its own members, with nothing of the service's code.

use serde_json::Value;

/// A number of a line.
#[track_caller]
pub fn number(line: &Value, path: &str) -> f64 {
    let found = line.pointer(path).and_then(Value::as_f64);
    found.unwrap_or_else(|| panic!("no number at {path} of {line}"))
}

pub fn series(line: &Value) -> Vec<f64> {
    let series = line["demand"]["series"].as_array().expect("a series");
    series
        .iter()
        .map(|n| n.as_i64().expect("a whole number") as f64)
        .collect()
}

/// The share below so many deviations: the series of Φ about 0 (Abramowitz and Stegun 26.2.11).
fn share_below(x: f64) -> f64 {
    let (mut term, mut sum) = (x, x);
    for k in 1..400 {
        term *= x * x / f64::from(2 * k + 1);
        sum += term;
    }
    0.5 + sum * (-x * x / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// The quantile, by halving.
fn z(level: f64) -> f64 {
    let (mut low, mut high) = (-6.0, 6.0);
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if share_below(middle) < level {
            low = middle
        } else {
            high = middle
        }
    }
    (low + high) / 2.0
}

/// Croston's forecast as the paper words it: sizes and intervals, each smoothed by itself.
fn croston(series: &[f64], alpha: f64) -> f64 {
    let places: Vec<usize> = (0..series.len()).filter(|n| series[*n] > 0.0).collect();
    let Some(first) = places.first() else {
        return 0.0;
    };
    let (mut size, mut interval) = (series[*first], (first + 1) as f64);
    for pair in places.windows(2) {
        size = alpha * series[pair[1]] + (1.0 - alpha) * size;
        interval = alpha * (pair[1] - pair[0]) as f64 + (1.0 - alpha) * interval;
    }
    size / interval
}

fn tsb(series: &[f64], alpha: f64, beta: f64) -> f64 {
    let sold: Vec<f64> = series.iter().copied().filter(|n| *n > 0.0).collect();
    let smooth = |values: &[f64], weight: f64| {
        let mut values = values.iter();
        let first = values.next().copied().unwrap_or(0.0);
        values.fold(first, |level, value| {
            weight * value + (1.0 - weight) * level
        })
    };
    let any: Vec<f64> = series
        .iter()
        .map(|n| f64::from(u8::from(*n > 0.0)))
        .collect();
    smooth(&sold, alpha) * smooth(&any, beta)
}

fn near(name: &str, found: f64, wanted: f64, line: &Value) {
    assert!(
        (found - wanted).abs() <= 1e-9 * (1.0 + wanted.abs()),
        "{name}: {found} for {wanted} of {line}"
    );
}

/// Checks every figure of a line against the others.
#[track_caller]
pub fn recompute(line: &Value) {
    let demand = series(line);
    assert!(
        !demand.is_empty() && demand.iter().all(|n| *n >= 0.0),
        "{line}"
    );
    let count = demand.len() as f64;
    let mean = demand.iter().sum::<f64>() / count;
    let squares: f64 = demand.iter().map(|n| (n - mean).powi(2)).sum();
    let sd = (squares / (count - 1.0)).sqrt();
    near("demand_sd", number(line, "/demand_sd"), sd, line);
    let parameter = |name: &str| number(line, &format!("/method_parameters/{name}"));
    let forecast = match line["method"].as_str().expect("a method") {
        "croston" => croston(&demand, parameter("alpha")),
        "sba" => croston(&demand, parameter("alpha")) * (1.0 - parameter("alpha") / 2.0),
        "tsb" => tsb(&demand, parameter("alpha"), parameter("beta")),
        "mean" | "given" => mean,
        other => panic!("{other} is no method"),
    };
    near(
        "forecast",
        number(line, "/forecast_per_period"),
        forecast,
        line,
    );
    let (lead, lead_sd) = (
        number(line, "/lead_time_periods/mean"),
        number(line, "/lead_time_periods/sd"),
    );
    let f = number(line, "/forecast_per_period");
    let safety =
        z(number(line, "/service_level")) * (lead * sd * sd + f * f * lead_sd * lead_sd).sqrt();
    near("safety_stock", number(line, "/safety_stock"), safety, line);
    let yearly = f * number(line, "/periods_per_year");
    let holding = number(line, "/holding_rate") * number(line, "/unit_cost/minor");
    let economic = (2.0 * yearly * number(line, "/order_cost/minor") / holding).sqrt();
    near(
        "economic_quantity",
        number(line, "/economic_quantity"),
        economic,
        line,
    );
    let position = number(line, "/on_hand") - number(line, "/reserved") + number(line, "/on_order");
    assert_eq!(number(line, "/position"), position);
    let (point, pack) = (number(line, "/reorder_point"), number(line, "/pack_size"));
    let wanted = if line["by_hand"].is_null() {
        assert_eq!(
            point,
            (f * lead + number(line, "/safety_stock")).ceil(),
            "{line}"
        );
        number(line, "/economic_quantity").max(point - position)
    } else {
        assert_eq!(point, number(line, "/by_hand/min_quantity"), "{line}");
        number(line, "/by_hand/max_quantity") - position
    };
    let ordered = if position <= point {
        (wanted / pack).ceil() * pack
    } else {
        0.0
    };
    assert_eq!(number(line, "/order_quantity"), ordered, "{line}");
    assert_eq!(line["due"], position <= point, "{line}");
    let text = line["text"].as_str().expect("words");
    for shown in [position, point, ordered].map(|n| n.to_string()) {
        assert!(text.contains(&shown), "{shown} stands in {text}");
    }
}
