//! What the lines of a spark picture mean, and what could not be drawn.

use plugwell_domain::decimal::Length;
use plugwell_domain::requirement::Curve;
use plugwell_domain::words::Induction;

use crate::drawing::lettering::folded;
use crate::drawing::spark::{Spark, boost_label, style};
use crate::drawing::svg::{Svg, circle, line, rect};
use crate::shown::{boost, gap, short, two_figures};

/// Room for a line with a sample before it, and without.
const ROOM: [f64; 2] = [302.0, 336.0];

/// A piece of what is explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sample {
    /// A line of a style.
    Line(&'static str),
    /// A ground of a style.
    Ground(&'static str),
    /// A mark of a style.
    Mark(&'static str),
}

impl Sample {
    /// Draws it, its left end here.
    pub(super) fn draw(self, svg: &mut Svg, (x, y): (f64, f64)) {
        match self {
            Self::Line(class) => svg.put(line((x, y), (x + 28.0, y)).class(class)),
            Self::Ground(class) => svg.put(rect((x, y - 6.0), 28.0, 11.0).class(class)),
            Self::Mark(class) => svg.put(circle((x + 14.0, y), 4.5).class(class)),
        }
    }
}

/// Every row: a sample and the lines that explain it.
pub(super) fn key(spark: &Spark<'_>) -> Vec<(Option<Sample>, Vec<String>)> {
    let known = spark.curves;
    let mut rows: Vec<(Option<Sample>, String)> = Vec::new();
    for curve in &known.curves {
        rows.push((Some(Sample::Line(style(curve))), needed(spark, curve)));
        if curve.more == 0.0 {
            let text = "what real plugs may need there";
            rows.push((Some(Sample::Ground("band")), text.to_owned()));
        }
    }
    rows.extend(gaps(spark));
    rows.extend(coil(spark));
    let assumed = known.gap.spark.as_ref().map_or(0, |s| s.assumed.len());
    if assumed > 0 {
        let figures = if assumed == 1 { "figure" } else { "figures" };
        rows.push((
            None,
            format!("{assumed} {figures} of the build assumed by the policy."),
        ));
    }
    for open in &known.unanswered {
        rows.push((None, format!("Not known: {}", open.ask)));
    }
    rows.into_iter()
        .map(|(sample, text)| {
            let room = ROOM[usize::from(sample.is_none())];
            (sample, folded(&text, 12.0, room))
        })
        .collect()
}

fn needed(spark: &Spark<'_>, curve: &Curve) -> String {
    if spark.engine.induction == Induction::NaturallyAspirated {
        return "needed; naturally aspirated, so one curve".to_owned();
    }
    if spark.curves.curves.len() == 1 {
        return "needed; no boost to vary, so one curve".to_owned();
    }
    let at = boost(curve.boost_kpa);
    if curve.more == 0.0 {
        format!("needed at the boost as built, {at}")
    } else {
        format!("{} boost, {at}", boost_label(curve))
    }
}

fn gaps(spark: &Spark<'_>) -> Vec<(Option<Sample>, String)> {
    let (known, need) = (spark.curves, &spark.curves.gap);
    let mut rows = Vec::new();
    if let Some(set) = need.set_mm {
        let kv = known.curves.first().map(|curve| curve.need(set.get()));
        let needs = kv.map_or(String::new(), |need| {
            let [least, most] = need.band_kv.map(two_figures);
            format!(
                ": about {} kV, {least} to {most}",
                two_figures(need.needed_kv)
            )
        });
        let sample = if known.curves.is_empty() {
            Sample::Line("set")
        } else {
            Sample::Mark("dot")
        };
        rows.push((Some(sample), format!("set gap {}{needs}", gap(set))));
    } else if spark.engine.induction == Induction::NaturallyAspirated {
        rows.push((
            None,
            "No one gap is set: each plug keeps its own.".to_owned(),
        ));
    }
    if let Some(limit) = need.physical_max_mm {
        let text = format!("largest gap that the coil fires, {}", gap(limit));
        let sample = (Some(limit) != need.set_mm).then_some(Sample::Mark("ring"));
        rows.push((sample, text));
    }
    if let Some((min, max)) = need.practice_min_mm.zip(need.practice_max_mm) {
        let [min, max] = [min, max].map(Length::get);
        let when = match spark.engine.induction {
            Induction::NaturallyAspirated => "without boost",
            _ => "at this power",
        };
        let text = format!("practice {when}, {min} to {max} mm");
        rows.push((Some(Sample::Ground("hatched")), text));
    }
    rows
}

fn coil(spark: &Spark<'_>) -> Vec<(Option<Sample>, String)> {
    let coil = &spark.curves.coil;
    let assumed = match spark.engine.coil_kv {
        Some(_) => "",
        None => ", assumed",
    };
    let kept = (1.0 - coil.available_kv / coil.kv) * 100.0;
    let usable = format!(
        "usable, {} kV: a reserve of {} % is kept",
        two_figures(coil.available_kv),
        short(kept)
    );
    let whole = format!("the coil's whole voltage, {} kV{assumed}", short(coil.kv));
    vec![
        (Some(Sample::Line("usable")), usable),
        (Some(Sample::Line("coil")), whole),
    ]
}
