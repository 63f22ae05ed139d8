//! What the lines of a spark picture mean, and what could not be drawn.

use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::decimal::Length;
use plugwell_domain::requirement::Curve;
use plugwell_domain::words::Induction;

use crate::drawing::key::{Row, Sample, rows};
use crate::drawing::spark::{Spark, boost_label, style};
use crate::shown::{boost, gap, label, marked, short, two_figures};

/// Every row: a sample and the lines that explain it.
pub(super) fn key(spark: &Spark<'_>) -> Vec<Row> {
    let known = spark.curves;
    let mut told: Vec<(Option<Sample>, String)> = beware(spark)
        .into_iter()
        .map(|text| (Some(Sample::Beware), text))
        .collect();
    for curve in &known.curves {
        told.push((Some(Sample::Line(style(curve))), needed(spark, curve)));
        if curve.more == 0.0 {
            let text = "what real plugs may need there";
            told.push((Some(Sample::Ground("band")), text.to_owned()));
        }
    }
    told.extend(gaps(spark));
    told.extend(coil(spark));
    let assumed = known.gap.spark.iter().flat_map(|s| &s.assumed);
    let assumed: Vec<String> = assumed.map(|member| member_told(member)).collect();
    if !assumed.is_empty() {
        let text = format!("Assumed by the policy: {}.", assumed.join(", "));
        told.push((None, text));
    }
    for open in &known.unanswered {
        told.push((None, marked(format!("Not known: {}", open.ask))));
    }
    rows(told)
}

/// What the physics asks for, in words: the member's name without its unit.
fn member_told(member: &str) -> String {
    match member {
        "coil_kv" => "the coil's voltage".to_owned(),
        "boost_kpa" => "boost".to_owned(),
        "stroke_mm" => "stroke".to_owned(),
        "rod_mm" => "rod length".to_owned(),
        "intake_close_deg_abdc" => "intake closing".to_owned(),
        "spark_advance_deg" => "spark advance".to_owned(),
        "charge_temp_c" => "charge temperature".to_owned(),
        "altitude_m" => "altitude".to_owned(),
        other => label(other).replace('_', " "),
    }
}

/// What to beware of, in few words.
fn beware(spark: &Spark<'_>) -> Vec<String> {
    let known = spark.curves;
    let mut told: Vec<String> = known.cautions.iter().map(in_few_words).collect();
    if let Some((curve, kv)) = known.beyond_the_coil() {
        told.push(format!(
            "at {} boost the set gap needs {} kV, more than the usable {} kV",
            boost_label(curve),
            two_figures(kv),
            two_figures(known.coil.available_kv)
        ));
    }
    told
}

fn in_few_words(caution: &Caution) -> String {
    match caution.code {
        CautionCode::CoilTooWeak => "the coil is too weak: no usable gap always fires, none is set",
        CautionCode::BelowPracticeBand => "the coil fires less than practice sets",
        CautionCode::AbovePhysicalLimit => {
            "the gap asked for is more than the coil fires with its reserve: expect misfire under load"
        }
        CautionCode::MayMisfireAtTheHighEnd => {
            "may misfire: some plugs need more at the set gap than the whole coil gives"
        }
        _ => return marked(&caution.text),
    }
    .to_owned()
}

/// Whether there is no gap because the coil is too weak.
fn too_weak(spark: &Spark<'_>) -> bool {
    let mut codes = spark.curves.cautions.iter().map(|c| c.code);
    codes.any(|code| code == CautionCode::CoilTooWeak)
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
    } else if spark.engine.induction == Induction::NaturallyAspirated && !too_weak(spark) {
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
        let text = marked(format!("practice {when}, {min} to {max} mm"));
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
