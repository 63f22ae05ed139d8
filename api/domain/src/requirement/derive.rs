//! From a build to what its plugs have to be.

use super::sentence::{length, list, short};
use super::{
    Basis, BasisKind, Context, Demand, Quantity, Requirement, Test, Unanswered, WhenUnknown, gap,
    heat, metal, suppression,
};
use crate::attribute::Attr;
use crate::build::{Engine, Head};
use crate::caution::{Caution, CautionCode};
use crate::conversion::{kpa_to_psi, kw_to_hp};
use crate::decimal::{Decimal, HeatIndex, Length};
use crate::fault::{Fault, FaultCode};
use crate::plug::{Plug, Shows};
use crate::policy::{Policy, Values};
use crate::torque;
use crate::words::{Fuel, Induction, Terminal};

/// What one part of the derivation after the other adds, in order.
#[derive(Debug, Default)]
pub(super) struct Findings {
    pub(super) demands: Vec<Demand>,
    pub(super) cautions: Vec<Caution>,
    pub(super) unanswered: Vec<Unanswered>,
}

impl Findings {
    /// Leaves a question open.
    pub(super) fn ask(&mut self, attribute: &str, ask: &str) {
        self.unanswered.push(Unanswered {
            attribute: attribute.to_owned(),
            ask: ask.to_owned(),
        });
    }

    /// Warns without further figures.
    pub(super) fn warn(&mut self, code: CautionCode) {
        self.cautions.push(Caution::of(code));
    }
}

/// The cautions that stand under every requirement.
pub(super) const ALWAYS: &[CautionCode] = &[
    CautionCode::ConfirmWithHeadMaker,
    CautionCode::MakersStandAbove,
    CautionCode::HowToGap,
    CautionCode::LubricatedThreads,
    CautionCode::ColdEngine,
    CautionCode::HighVoltage,
    CautionCode::LicensedPractice,
];

/// The heat that steps are counted from: the head's, else that of the plug that was in.
pub fn base_heat(head: &Head, base: Option<&Plug>) -> Option<HeatIndex> {
    head.heat_index
        .or_else(|| base?.shown(Attr::Heat).map(Decimal))
}

/// All that an engine needs of its plugs, `base` being the plug that was in.
///
/// Engine and head are taken to be free of faults.
///
/// # Errors
/// A [`Fault`] where neither head nor base plug gives a heat index: a requirement without one would
/// let every heat fit.
pub fn derive(
    engine: &Engine,
    head: &Head,
    base: Option<&Plug>,
    policy: &Policy,
) -> Result<Requirement, Fault> {
    let values = &policy.values;
    let base_index = base_heat(head, base).ok_or_else(|| {
        let detail = "neither the head nor the plug that was in gives a heat index that is more than assumed";
        Fault::at("head/heat_index", FaultCode::Missing, detail)
    })?;
    let mut found = Findings::default();
    thread_and_seat(head, &mut found);
    reach(head, values, &mut found);
    hex(head, values, &mut found);
    let window = projection(head, &mut found);
    terminal(head, base, &mut found);
    suppression::suppression(engine.electronics.as_deref(), &mut found);
    let heat = heat::heat(engine, base_index, values, &mut found);
    let gap = gap::gap(engine, head, values, &mut found);
    metal::metal(engine, values, &mut found);
    slips(engine, values, &mut found);
    fuel_and_nitrous(engine, &mut found);
    let context = Context {
        projection_twice: window
            .middle_twice
            .or_else(|| Some(2 * base?.shown(Attr::Projection)?)),
        unconfirmed: if window.whole {
            Vec::new()
        } else {
            vec![Attr::Projection]
        },
        own_gap: gap::own_gap(engine, &gap, values),
        nitrous_projected_from: (engine.induction == Induction::Nitrous)
            .then_some(values.projection_projected_from_mm.value),
    };
    ALWAYS.iter().for_each(|code| found.warn(*code));
    Ok(Requirement {
        policy_version: Some(policy.version),
        demands: found.demands,
        heat,
        gap,
        quantity: quantity(engine, values),
        torque_nm: torque::torque(head.thread, head.seat, head.material),
        cautions: found.cautions,
        unanswered: found.unanswered,
        context,
    })
}

fn thread_and_seat(head: &Head, found: &mut Findings) {
    let thread = format!(
        "The plug hole is tapped {}; no other thread seals in it.",
        head.thread
    );
    let seat = format!(
        "The head is cut for a {} seat: seal and datum of the reach differ from the other kind.",
        head.seat
    );
    for (attr, place, reason) in [
        (Attr::Thread, head.thread.position(), thread),
        (Attr::Seat, head.seat.position(), seat),
    ] {
        let test = Test::OneOf(vec![place]);
        found.demands.push(Demand::must(
            attr,
            test,
            WhenUnknown::Fails,
            reason,
            BasisKind::Head,
        ));
    }
}

fn reach(head: &Head, values: &Values, found: &mut Findings) {
    let tolerance = head
        .reach_tolerance_mm
        .unwrap_or(values.reach_tolerance_mm.value);
    let reason = format!(
        "The head's thread is {} deep, ± {}: too short bares thread that carbons up, too long stands in the way of piston or valve.",
        length(head.reach_mm),
        length(tolerance)
    );
    let test = around(head.reach_mm, tolerance);
    found.demands.push(Demand::must(
        Attr::Reach,
        test,
        WhenUnknown::Fails,
        reason,
        BasisKind::Head,
    ));
}

/// From so much below to so much above.
pub(super) fn around(middle: Length, tolerance: Length) -> Test {
    Test::Range {
        min: Some(middle.0 - tolerance.0),
        max: Some(middle.0 + tolerance.0),
    }
}

fn hex(head: &Head, values: &Values, found: &mut Findings) {
    let Some(max) = head.hex_max_mm else { return };
    let tolerance = values.hex_tolerance_mm.value;
    let reason = format!(
        "The plug well takes a hexagon of {}; {} more in name still enter.",
        length(max),
        length(tolerance)
    );
    let test = Test::Range {
        min: None,
        max: Some(max.0 + tolerance.0),
    };
    found.demands.push(Demand::must(
        Attr::Hex,
        test,
        WhenUnknown::Fails,
        reason,
        BasisKind::Head,
    ));
}

/// What is known of the window in which the spark has to stand.
struct Window {
    middle_twice: Option<i64>,
    whole: bool,
}

fn projection(head: &Head, found: &mut Findings) -> Window {
    let (min, max) = (head.projection_min_mm, head.projection_max_mm);
    let whole = min.is_some() && max.is_some();
    if !whole {
        let ask = "Between which projections does the spark have to stand? Ask the head's maker; give projection_min_mm \
                   and projection_max_mm.";
        found.ask(Attr::Projection.word(), ask);
        found.warn(CautionCode::ProjectionUnconfirmed);
    }
    let ends = match (min, max) {
        (None, None) => {
            return Window {
                middle_twice: None,
                whole,
            };
        }
        (Some(min), Some(max)) => format!("from {} to {}", length(min), length(max)),
        (Some(min), None) => format!("from {} on, its other end being unknown", length(min)),
        (None, Some(max)) => format!("up to {}, its other end being unknown", length(max)),
    };
    let reason = format!(
        "The head wants the spark {ends}: behind it the plug fouls and misfires, before it the tip can be hit."
    );
    let test = Test::Range {
        min: min.map(|m| m.0),
        max: max.map(|m| m.0),
    };
    let middle_twice = test.middle_twice();
    found.demands.push(Demand::must(
        Attr::Projection,
        test,
        WhenUnknown::Fails,
        reason,
        BasisKind::Head,
    ));
    Window {
        middle_twice,
        whole,
    }
}

fn terminal(head: &Head, base: Option<&Plug>, found: &mut Findings) {
    let lent = || Terminal::at(base?.shown(Attr::Terminal)?);
    let (terminal, basis, whose) = match (head.terminal, lent()) {
        (Some(own), _) => (
            own,
            Basis::from(BasisKind::Head),
            "lead or coil boot of this head ask for it",
        ),
        (None, Some(lent)) => {
            let basis = Basis {
                kind: BasisKind::Head,
                source: Some("the plug that was in".to_owned()),
            };
            (
                lent,
                basis,
                "the plug that was in had it, and lead or coil boot stay",
            )
        }
        (None, None) => return,
    };
    let reason = format!(
        "The terminal is a {}: {whose}.",
        list(&[terminal.word()], "")
    );
    let test = Test::OneOf(vec![terminal.position()]);
    found.demands.push(Demand::must(
        Attr::Terminal,
        test,
        WhenUnknown::Allowed,
        reason,
        basis,
    ));
}

fn quantity(engine: &Engine, values: &Values) -> Quantity {
    let fitted = engine.cylinders * engine.plugs_per_cylinder.unwrap_or(1);
    let spares = engine.spares.unwrap_or(values.spares_per_set.value);
    Quantity {
        fitted: Some(fitted),
        spares: Some(spares),
        total: Some(fitted + spares),
    }
}

/// Figures that look as if typed in another unit.
fn slips(engine: &Engine, values: &Values, found: &mut Findings) {
    let blown = matches!(
        engine.induction,
        Induction::Supercharged | Induction::Turbocharged
    );
    if let Some(boost) = engine
        .boost_kpa
        .filter(|kpa| blown && *kpa < values.slip_boost_kpa.value)
    {
        let detail = format!("{} kPa is {} psi.", short(boost), short(kpa_to_psi(boost)));
        found
            .cautions
            .push(Caution::of(CautionCode::BoostLooksLikePsi).with(detail));
    }
    if let (Some(kw), Some(cc)) = (engine.power_kw, engine.displacement_cc) {
        let kw_per_l = kw / (cc / 1000.0);
        if kw_per_l > values.slip_power_kw_per_l.value {
            let detail = format!(
                "{} kW is {:.0} hp, {kw_per_l:.0} kW to the litre.",
                short(kw),
                kw_to_hp(kw)
            );
            found
                .cautions
                .push(Caution::of(CautionCode::PowerLooksLikeHp).with(detail));
        }
    }
}

fn fuel_and_nitrous(engine: &Engine, found: &mut Findings) {
    if matches!(engine.fuel, Some(Fuel::E85 | Fuel::Methanol)) {
        found.warn(CautionCode::AlcoholFuel);
    }
    if engine.induction == Induction::Nitrous {
        found.warn(CautionCode::NitrousTip);
    }
}
