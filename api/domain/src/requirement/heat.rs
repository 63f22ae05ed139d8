//! How much colder than the plug that the engine came with.

use super::derive::Findings;
use super::sentence::{boost, fine, power, steps};
use super::{Basis, BasisKind, Demand, HeatNeed, Test, WhenUnknown};
use crate::attribute::Attr;
use crate::build::Engine;
use crate::caution::{Caution, CautionCode};
use crate::decimal::{Decimal, HeatIndex};
use crate::policy::{Judged, Values};
use crate::words::{Induction, Use};

/// Tenths of the index in one usual step [own definition].
pub(crate) const STEP: i64 = 100;

/// The heat window of an engine over its base, and the demand for it.
pub(super) fn heat(
    engine: &Engine,
    base: HeatIndex,
    values: &Values,
    found: &mut Findings,
) -> HeatNeed {
    let gain = Gain::of(engine, values);
    let steps_asked = gain.steps();
    let cap = cap(engine, values);
    let by_rule = by_rule(engine, steps_asked, values);
    let (taken, capped, basis, why) = match engine.heat_steps {
        Some(asked) => (
            asked,
            false,
            BasisKind::Caller.into(),
            format!("you asked for {}", steps(asked)),
        ),
        None if by_rule > cap.value => {
            let why = format!(
                "{}, cut to {}, the cap of {} use",
                gain.sentence(by_rule, values),
                steps(cap.value),
                engine.purpose
            );
            (cap.value, true, Basis::from(cap), why)
        }
        None => (
            by_rule,
            false,
            gain.basis(values),
            gain.sentence(by_rule, values),
        ),
    };
    if capped {
        found.cautions.push(cut(by_rule, cap.value, engine.purpose));
    }
    if gain == Gain::Unknown && engine.heat_steps.is_none() {
        found.ask(Attr::Heat.word(), GAINED);
    }
    let target: HeatIndex = Decimal(base.0 + i64::from(taken) * STEP);
    let (min, max) = window(base, target, cap.value, values);
    let reason = format!(
        "From the base of {base}, {why}: {target}. Never hotter (within {}), and at most {max} on the cold side: too hot lights \
         the mixture by itself, too cold fouls; a step is some {} to {} K at the tip.",
        values.heat_tolerance.value, values.tip_step_min_k.value, values.tip_step_max_k.value
    );
    let test = Test::Range {
        min: Some(min.0),
        max: Some(max.0),
    };
    found.demands.push(Demand::must(
        Attr::Heat,
        test,
        WhenUnknown::Fails,
        reason,
        basis,
    ));
    HeatNeed {
        base_index: Some(base),
        steps_asked,
        steps: Some(taken),
        target_index: Some(target),
        capped,
    }
}

/// What to ask where neither power nor boost tells what the engine has gained.
const GAINED: &str = "How much power, or else boost, has the engine gained? Measure it, or ask the kit's maker; \
                      give power_kw and base_power_kw, or boost_kpa and base_boost_kpa.";

/// The caution that the cap of a use cut the rule's figure.
fn cut(by_rule: u32, cap: u32, purpose: Use) -> Caution {
    let rule = steps(by_rule);
    let detail = format!("The rule alone asks for {rule}, {purpose} use takes at most {cap}.");
    Caution::of(CautionCode::HeatCapApplied).with(detail)
}

/// What the engine has gained over its base.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Gain {
    /// Nothing: naturally aspirated.
    None,
    /// Power from, to, and what it comes to in steps.
    Power { from: f64, to: f64, steps: f64 },
    /// Boost from, to, and what it comes to in steps.
    Boost { from: f64, to: f64, steps: f64 },
    /// Nobody can tell.
    Unknown,
}

impl Gain {
    fn of(engine: &Engine, values: &Values) -> Self {
        if engine.induction == Induction::NaturallyAspirated {
            return Self::None;
        }
        match (
            engine.base_power_kw,
            engine.power_kw,
            engine.base_boost_kpa,
            engine.boost_kpa,
        ) {
            (Some(from), Some(to), ..) => Self::Power {
                from,
                to,
                steps: (to - from) / values.heat_kw_per_step.value,
            },
            (.., Some(from), Some(to)) => Self::Boost {
                from,
                to,
                steps: (to - from) / values.heat_kpa_per_step.value,
            },
            _ => Self::Unknown,
        }
    }

    /// Unrounded steps colder; `None` where they are unknown.
    fn steps(self) -> Option<f64> {
        match self {
            Self::None => Some(0.0),
            Self::Power { steps, .. } | Self::Boost { steps, .. } => Some(steps),
            Self::Unknown => None,
        }
    }

    fn basis(self, values: &Values) -> Basis {
        match self {
            Self::None | Self::Power { .. } => (&values.heat_kw_per_step).into(),
            Self::Boost { .. } => (&values.heat_kpa_per_step).into(),
            Self::Unknown => (&values.heat_steps_when_unknown).into(),
        }
    }

    fn sentence(self, by_rule: u32, values: &Values) -> String {
        let taken = steps(by_rule);
        let so = match self.steps() {
            Some(asked) if asked <= 0.0 && by_rule > 0 => {
                format!("but boost has grown, so {taken}")
            }
            _ => format!("so {taken}"),
        };
        match self {
            Self::None => format!("an engine without boost asks for no step colder, {so}"),
            Self::Power { from, to, steps } => {
                let (from, to, per) = (power(from), power(to), values.heat_kw_per_step.value);
                format!("{from} to {to} at {per} kW a step is {}, {so}", fine(steps))
            }
            Self::Boost { from, to, steps } => {
                let (from, to, per) = (boost(from), boost(to), values.heat_kpa_per_step.value);
                format!(
                    "{from} to {to} at {per} kPa a step is {}, {so}",
                    fine(steps)
                )
            }
            Self::Unknown => format!("neither power nor boost gained is known, {so}"),
        }
    }
}

/// Whole steps by the rule [from memory].
fn by_rule(engine: &Engine, steps_asked: Option<f64>, values: &Values) -> u32 {
    match steps_asked {
        None => values.heat_steps_when_unknown.value,
        Some(asked) if asked <= 0.0 => u32::from(boost_has_grown(engine)),
        // At most 3000 kW in steps of at least 1 kW: far inside the type.
        Some(asked) => ((asked + 0.5).floor() as u32).max(1),
    }
}

fn boost_has_grown(engine: &Engine) -> bool {
    matches!((engine.base_boost_kpa, engine.boost_kpa), (Some(from), Some(to)) if to > from)
}

/// The most steps that the use of the car takes.
fn cap<'v>(engine: &Engine, values: &'v Values) -> &'v Judged<u32> {
    match engine.purpose {
        Use::Track => &values.heat_cap_track,
        Use::Strip => &values.heat_cap_strip,
        Use::Street
            if engine
                .power_kw
                .is_some_and(|kw| kw >= values.heat_cap_high_power_from_kw.value) =>
        {
            &values.heat_cap_street_high_power
        }
        Use::Street => &values.heat_cap_street,
    }
}

/// `min = target − tolerance`, `max = max(target + least slack, min(target + 10 · slack, base + 10 · cap))`.
fn window(base: HeatIndex, target: HeatIndex, cap: u32, values: &Values) -> (HeatIndex, HeatIndex) {
    let slack = target.0 + i64::from(values.heat_slack_steps.value) * STEP;
    let end = slack
        .min(base.0 + i64::from(cap) * STEP)
        .max(target.0 + values.heat_least_slack.value.0);
    (
        Decimal(target.0 - values.heat_tolerance.value.0),
        Decimal(end),
    )
}

/// The window of an equivalent part: from its own index, within the tolerance, to so many steps colder.
pub(super) fn equivalent_window(own: HeatIndex, values: &Values) -> (HeatIndex, HeatIndex) {
    let end = own.0 + i64::from(values.equivalent_slack_steps.value) * STEP;
    (Decimal(own.0 - values.heat_tolerance.value.0), Decimal(end))
}
