//! A match laid out for a page: what the plug must be and why, what fits, what nearly does.

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::fit::Verdict;
use plugwell_domain::requirement::{Demand, Requirement, Strength};
use uuid::Uuid;

use crate::pages::figures::{self, of_record};
use crate::pages::find::engine_fields::label;
use crate::pages::find::engine_text;
use crate::pages::part;
use crate::pages::words::{say, say_with};
use crate::service::matching::{Fit, Judged, Matched, NearMiss};
use crate::service::{Refusal, Shop, new_id, stock_lists};
use crate::shown::{marked, test};

/// How a match was asked for.
#[derive(Debug)]
pub(super) struct Asking<'a> {
    /// The build.
    pub build: Option<&'a Build>,
    /// Its record, where it is a stored one.
    pub stored: Option<Uuid>,
    /// Whether who asks may issue plugs.
    pub may_issue: bool,
    /// What of the question says which build it is for, for a form that lets a job wait.
    pub carried: Vec<(String, String)>,
    /// Where the picture of its spark is.
    pub picture: String,
    /// Where the picture of a plug in its head is, but for the part.
    pub section: String,
    /// Where the whole catalogue is asked; nothing where this was it.
    pub whole: Option<String>,
}

/// A match, laid out.
#[derive(Debug)]
pub(super) struct Shown {
    pub name: String,
    pub build: String,
    /// The record of the build; empty where it is not a stored one.
    pub stored: String,
    /// What it comes to: name, figure, a word on it.
    pub figures: Vec<(&'static str, String, String)>,
    pub demands: Vec<DemandLine>,
    pub assumed: String,
    pub quantity: i64,
    pub in_catalogue: u64,
    /// How many of those that fit are there.
    pub there: String,
    /// Where parts are shown that are not there in the number that is needed; empty where none was
    /// left out.
    pub whole: String,
    pub fits: Vec<FitLine>,
    /// Whether more would fit than are shown.
    pub more: bool,
    pub misses: Vec<MissLine>,
    /// What nobody answered, and what to ask whom.
    pub unanswered: Vec<(String, String)>,
    pub cautions: Vec<String>,
    pub may_issue: bool,
    /// What a form carries that lets a job wait; nothing where it need not, or who asks may not.
    pub wait: Option<Wait>,
    /// Where the picture of the spark is.
    pub picture: String,
}

/// A form that lets a job wait.
#[derive(Debug)]
pub(super) struct Wait {
    /// Makes a form that is sent twice the same.
    pub once: Uuid,
    /// Which build it is for, field by field.
    pub carried: Vec<(String, String)>,
}

/// One demand.
#[derive(Debug)]
pub(super) struct DemandLine {
    pub label: &'static str,
    pub must: bool,
    pub test: String,
    pub reason: String,
    pub basis: String,
}

/// One part that fits.
#[derive(Debug)]
pub(super) struct FitLine {
    pub name: String,
    pub description: String,
    /// Name and value.
    pub facts: Vec<(&'static str, String)>,
    pub gap: String,
    pub available: i64,
    pub on_hand: i64,
    /// Where to take the plugs from.
    pub picks: Vec<PickLine>,
    /// What nobody has established.
    pub unconfirmed: String,
    /// Preferences that it misses.
    pub missed: String,
    pub cautions: Vec<String>,
    /// The form that issues it, filled in.
    pub issue: String,
    /// The form that reserves it, filled in.
    pub reserve: String,
    /// Where the part stands.
    pub path: String,
    /// Where the picture of it in its head is.
    pub section: String,
    /// The card for whoever fits it; empty where the build is not stored.
    pub card: String,
}

/// Plugs of one lot in one bin.
#[derive(Debug)]
pub(super) struct PickLine {
    pub quantity: i64,
    pub place: String,
    pub place_path: String,
    pub lot: String,
    pub lot_path: String,
}

/// One part that a single must rules out.
#[derive(Debug)]
pub(super) struct MissLine {
    pub name: String,
    /// Where the part stands.
    pub path: String,
    pub available: i64,
    pub why: String,
    pub caution: String,
}

fn there(matched: &Matched) -> String {
    let (there, all) = (matched.fits_in_stock, matched.fits_in_catalogue);
    say_with("find-parts-fit", &[("there", &there), ("all", &all)])
}

/// Lays a match out.
pub(super) fn shown(shop: &Shop, matched: &Matched, asking: &Asking<'_>) -> Result<Shown, Refusal> {
    let requirement = &matched.requirement;
    let could_be_shown = if asking.whole.is_some() {
        matched.fits_in_stock
    } else {
        matched.fits_in_catalogue
    };
    let spark = requirement.gap.spark.as_ref();
    let assumed = spark
        .map_or(&[][..], |spark| &spark.assumed)
        .iter()
        .map(|member| label(member).to_lowercase());
    let fits = matched
        .fits
        .iter()
        .map(|fit| fit_line(shop, fit, matched, asking));
    Ok(Shown {
        name: asking
            .build
            .and_then(|build| build.name.clone())
            .unwrap_or_default(),
        build: asking.build.map(engine_text::in_short).unwrap_or_default(),
        stored: asking.stored.map_or(String::new(), |id| id.to_string()),
        figures: summed_up(requirement, matched.quantity),
        demands: requirement.demands.iter().map(demand_line).collect(),
        assumed: assumed.collect::<Vec<_>>().join(", "),
        quantity: matched.quantity,
        in_catalogue: matched.fits_in_catalogue,
        there: there(matched),
        whole: asking
            .whole
            .clone()
            .filter(|_| matched.fits_in_catalogue > matched.fits_in_stock)
            .unwrap_or_default(),
        fits: fits.collect::<Result<_, _>>()?,
        more: could_be_shown > matched.fits.len() as u64,
        misses: matched.near_misses.iter().map(miss_line).collect(),
        unanswered: requirement
            .unanswered
            .iter()
            .map(|u| (label(&u.attribute), marked(u.ask.clone())))
            .collect(),
        cautions: requirement
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        may_issue: asking.may_issue,
        wait: (asking.may_issue && matched.fits_in_stock == 0).then(|| Wait {
            once: new_id(),
            carried: asking.carried.clone(),
        }),
        picture: asking.picture.clone(),
    })
}

/// How many fit, in a sentence.
pub(super) fn how_many_fit(matched: &Matched) -> String {
    match matched.fits_in_catalogue {
        0 => say("find-no-part-catalogue-fits").to_owned(),
        parts => say_with(
            "find-so-many-parts-fit",
            &[("parts", &parts), ("in_stock", &matched.fits_in_stock)],
        ),
    }
}

fn summed_up(requirement: &Requirement, wanted: i64) -> Vec<(&'static str, String, String)> {
    let gap = &requirement.gap;
    let set = match (gap.set_mm, gap.practice_min_mm.zip(gap.practice_max_mm)) {
        (Some(set), Some((min, max))) => (
            figures::gap(set),
            say_with(
                "find-all-alike-within-tolerance-mm",
                &[
                    ("tolerance_mm", &gap.tolerance_mm),
                    ("min", &min),
                    ("max", &max),
                ],
            ),
        ),
        (Some(set), None) => (
            figures::gap(set),
            say_with(
                "find-all-alike-within-tolerance-mm-mm",
                &[("tolerance_mm", &gap.tolerance_mm)],
            ),
        ),
        (None, _) if requirement.context.own_gap.is_some() => (
            say("find-each-plug-own").into(),
            say("find-see-what-fits").into(),
        ),
        (None, _) => (
            say("pages-open").into(),
            say("find-see-not-answered-cautions").into(),
        ),
    };
    let mut summed = vec![(say("find-gap-to-set"), set.0, set.1)];
    let (target, against) = figures::heat(&requirement.heat);
    summed.push((say("find-heat-index"), target, against));
    let (plugs, what_for) = figures::quantity(&requirement.quantity, wanted);
    summed.push((say("find-plugs"), plugs, what_for));
    if let Some(torque) = &requirement.torque_nm {
        let (nm, more) = figures::torque(torque);
        summed.push((say("find-torque"), nm, more));
    }
    if let Some(spark) = &gap.spark {
        let (needed, more) = figures::spark(spark);
        summed.push((say("find-at-the-spark-estimated"), needed, more));
    }
    summed
}

fn demand_line(demand: &Demand) -> DemandLine {
    let attr = demand.attribute;
    let source = demand
        .basis
        .source
        .as_ref()
        .map_or(String::new(), |source| format!(": {source}"));
    DemandLine {
        label: attr.declared().label,
        must: demand.strength == Strength::Must,
        test: test(attr.word(), &demand.test.to_json(attr)),
        reason: marked(demand.reason.clone()),
        basis: format!("{}{source}", demand.basis.kind.word().replace('_', " ")),
    }
}

fn picks(shop: &Shop, fit: &Fit) -> Result<Vec<PickLine>, Refusal> {
    let mut picks = Vec::new();
    for pick in &fit.picks {
        let (lot, place) = (
            stock_lists::lot(shop, pick.lot_id)?,
            stock_lists::place(shop, pick.place.id)?,
        );
        picks.push(PickLine {
            quantity: pick.quantity,
            place: place.name,
            place_path: format!("/places/{}", place.id),
            lot: lot.code,
            lot_path: format!("/lots/{}", lot.id),
        });
    }
    Ok(picks)
}

fn fit_line(
    shop: &Shop,
    fit: &Fit,
    matched: &Matched,
    asking: &Asking<'_>,
) -> Result<FitLine, Refusal> {
    let (data, quantity) = (&fit.plug.data, matched.quantity);
    let own_gap = matched.requirement.context.own_gap.is_some();
    let facts = [
        Attr::Heat,
        Attr::Projection,
        Attr::Electrode,
        Attr::Resistor,
    ]
    .map(|attr| (attr.declared().label, of_record(data, attr)));
    let missed = fit
        .verdicts
        .iter()
        .filter(|j| j.demand.strength == Strength::Prefer && j.verdict != Verdict::Meets);
    let missed: Vec<_> = missed.map(Judged::told).collect();
    let unconfirmed: Vec<_> = fit
        .unconfirmed
        .iter()
        .map(|attr| attr.declared().label.to_lowercase())
        .collect();
    let gap = fit
        .set_gap_mm
        .map_or(String::new(), |gap| format!("&gap_mm={gap}"));
    let build = asking
        .stored
        .map_or(String::new(), |id| format!("&build_id={id}"));
    let filled_in = format!("plug_id={}&quantity={quantity}{gap}{build}", fit.plug.id);
    Ok(FitLine {
        name: part::name(&fit.plug),
        description: data.description.clone().unwrap_or_default(),
        facts: facts.into(),
        gap: match fit.set_gap_mm {
            Some(gap) => figures::gap(gap),
            None if own_gap => say("find-leave-it-as-it-is").into(),
            None => say("pages-open").into(),
        },
        available: fit.available,
        on_hand: fit.on_hand,
        picks: picks(shop, fit)?,
        unconfirmed: unconfirmed.join(", "),
        missed: missed.join("; "),
        cautions: fit
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        issue: format!("/issue?{filled_in}"),
        reserve: format!("/reserve?{filled_in}"),
        path: format!("/parts/{}", fit.plug.id),
        section: format!("{}plug_id={}", asking.section, fit.plug.id),
        card: asking.stored.map_or(String::new(), |id| {
            format!("/builds/{id}/fitting-card?plug_id={}", fit.plug.id)
        }),
    })
}

fn miss_line(miss: &NearMiss) -> MissLine {
    MissLine {
        name: part::name(&miss.plug),
        path: format!("/parts/{}", miss.plug.id),
        available: miss.available,
        why: miss
            .fails
            .iter()
            .map(Judged::told)
            .collect::<Vec<_>>()
            .join("; "),
        caution: miss
            .caution
            .as_ref()
            .map_or(String::new(), |caution| marked(caution.text.clone())),
    }
}
