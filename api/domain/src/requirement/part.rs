//! What an equivalent of a part has to be: the part's own attributes.

use super::derive::{ALWAYS, Findings, around};
use super::heat::equivalent_window;
use super::sentence::{length, list};
use super::{
    Basis, BasisKind, Context, Demand, GapNeed, HeatNeed, Quantity, Requirement, Test, WhenUnknown,
};
use crate::attribute::Attr;
use crate::caution::CautionCode;
use crate::decimal::{Decimal, HeatIndex, Length};
use crate::plug::{Plug, Shows};
use crate::policy::{Policy, Values};

/// What an equivalent of a part has to be.
///
/// Values that are only assumed count as unknown. What the part leaves open of hexagon, projection,
/// terminal and gap makes no must and stays unconfirmed.
///
/// # Errors
/// The attributes without which a part has no equivalents: thread, seat, reach, heat.
pub fn of_part(plug: &Plug, policy: &Policy) -> Result<Requirement, Vec<Attr>> {
    let values = &policy.values;
    let needed = [Attr::Thread, Attr::Seat, Attr::Reach, Attr::Heat];
    let [Some(thread), Some(seat), Some(reach), Some(heat)] = needed.map(|attr| plug.shown(attr))
    else {
        return Err(needed
            .into_iter()
            .filter(|attr| plug.shown(*attr).is_none())
            .collect());
    };
    let part = Part {
        plug,
        source: format!("{} {}", plug.data.maker, plug.data.part_number),
    };
    let mut found = Findings::default();
    for (attr, place) in [(Attr::Thread, thread), (Attr::Seat, seat)] {
        let reason = format!(
            "The part's own {}: {}.",
            attr.declared().label.to_lowercase(),
            attr.show(place)
        );
        found
            .demands
            .push(part.must(attr, Test::OneOf(vec![place]), WhenUnknown::Fails, reason));
    }
    let tolerance = values.equivalent_reach_tolerance_mm.value;
    let reason = format!(
        "The part's own reach is {}, ± {}.",
        length(Decimal(reach)),
        length(tolerance)
    );
    found.demands.push(part.must(
        Attr::Reach,
        around(Decimal(reach), tolerance),
        WhenUnknown::Fails,
        reason,
    ));

    let mut context = Context::default();
    part.hex(values, &mut found, &mut context);
    part.projection(values, &mut found, &mut context);
    part.terminal(&mut found, &mut context);
    part.resistor(&mut found);
    let heat = part.heat(Decimal(heat), values, &mut found);
    let gap = part.gap(values, &mut found, &mut context);
    part.metal(&mut found);
    ALWAYS.iter().for_each(|code| found.warn(*code));
    Ok(Requirement {
        policy_version: Some(policy.version),
        demands: found.demands,
        heat,
        gap,
        quantity: Quantity {
            fitted: None,
            spares: None,
            total: Some(1),
        },
        torque_nm: None,
        cautions: found.cautions,
        unanswered: found.unanswered,
        context,
    })
}

/// The part, and what its demands rest on.
struct Part<'p> {
    plug: &'p Plug,
    source: String,
}

impl Part<'_> {
    fn basis(&self) -> Basis {
        Basis {
            kind: BasisKind::PlugMaker,
            source: Some(self.source.clone()),
        }
    }

    fn must(&self, attr: Attr, test: Test, unknown: WhenUnknown, reason: String) -> Demand {
        Demand::must(attr, test, unknown, reason, self.basis())
    }

    fn hex(&self, values: &Values, found: &mut Findings, context: &mut Context) {
        let Some(own) = self.plug.shown(Attr::Hex) else {
            return open(Attr::Hex, CautionCode::HexUnconfirmed, found, context);
        };
        let max = Decimal(own + values.hex_tolerance_mm.value.0);
        let reason = format!(
            "The part's own hexagon is {}; up to {} still enters its well.",
            length(Decimal(own)),
            length(max)
        );
        found.demands.push(self.must(
            Attr::Hex,
            Test::Range {
                min: None,
                max: Some(max.0),
            },
            WhenUnknown::Fails,
            reason,
        ));
    }

    fn projection(&self, values: &Values, found: &mut Findings, context: &mut Context) {
        let Some(own) = self.plug.shown(Attr::Projection) else {
            return open(
                Attr::Projection,
                CautionCode::ProjectionUnconfirmed,
                found,
                context,
            );
        };
        context.projection_twice = Some(2 * own);
        let (own, tolerance): (Length, Length) = (
            Decimal(own),
            values.equivalent_projection_tolerance_mm.value,
        );
        let reason = format!(
            "The part's own projection is {}, ± {}.",
            length(own),
            length(tolerance)
        );
        found.demands.push(self.must(
            Attr::Projection,
            around(own, tolerance),
            WhenUnknown::Fails,
            reason,
        ));
    }

    fn terminal(&self, found: &mut Findings, context: &mut Context) {
        let Some(own) = self.plug.shown(Attr::Terminal) else {
            return open(
                Attr::Terminal,
                CautionCode::TerminalUnconfirmed,
                found,
                context,
            );
        };
        let reason = format!(
            "The part's own terminal is a {}: lead or coil boot stay.",
            Attr::Terminal.show(own)
        );
        found.demands.push(self.must(
            Attr::Terminal,
            Test::OneOf(vec![own]),
            WhenUnknown::Allowed,
            reason,
        ));
    }

    /// Fitted, unless the part is known to have none.
    fn resistor(&self, found: &mut Findings) {
        let reason = match self.plug.shown(Attr::Resistor) {
            Some(0) => return,
            Some(_) => "The part has a resistor.",
            None => {
                "Nobody has established whether the part has a resistor: until then one is asked for."
            }
        };
        found.demands.push(self.must(
            Attr::Resistor,
            Test::OneOf(vec![1]),
            WhenUnknown::Fails,
            reason.into(),
        ));
    }

    fn heat(&self, own: HeatIndex, values: &Values, found: &mut Findings) -> HeatNeed {
        let (min, max) = equivalent_window(own, values);
        let reason = format!(
            "The part's own heat index is {own}: never hotter, within {}, and at most {max} on the cold side.",
            values.heat_tolerance.value
        );
        let test = Test::Range {
            min: Some(min.0),
            max: Some(max.0),
        };
        found
            .demands
            .push(self.must(Attr::Heat, test, WhenUnknown::Fails, reason));
        HeatNeed {
            base_index: Some(own),
            steps_asked: None,
            steps: Some(0),
            target_index: Some(own),
            capped: false,
        }
    }

    fn gap(&self, values: &Values, found: &mut Findings, context: &mut Context) -> GapNeed {
        let preset = self.plug.shown(Attr::GapPreset);
        match preset {
            None => open(
                Attr::GapPreset,
                CautionCode::GapRangeUnconfirmed,
                found,
                context,
            ),
            Some(own) => {
                let reason = format!(
                    "The part comes with a gap of {}: the plug has to take it.",
                    length(Decimal(own))
                );
                for (attr, test) in super::gap::held(Decimal(own)) {
                    found
                        .demands
                        .push(self.must(attr, test, WhenUnknown::Allowed, reason.clone()));
                }
            }
        }
        GapNeed {
            set_mm: preset.map(Decimal),
            tolerance_mm: values.gap_tolerance_mm.value,
            practice_min_mm: None,
            practice_max_mm: None,
            physical_max_mm: None,
            spark: None,
        }
    }

    fn metal(&self, found: &mut Findings) {
        let Some(own) = self.plug.shown(Attr::Electrode) else {
            return;
        };
        let reason = format!(
            "The part's own tip is {}: the same comes first.",
            list(&[Attr::Electrode.show(own)], "")
        );
        found.demands.push(Demand::prefer(
            Attr::Electrode,
            Test::OneOf(vec![own]),
            reason,
            self.basis(),
        ));
    }
}

/// Leaves an attribute unconfirmed for every plug.
fn open(attr: Attr, code: CautionCode, found: &mut Findings, context: &mut Context) {
    context.unconfirmed.push(attr);
    found.warn(code);
    let ask = format!(
        "Nobody has established the part's {}: {}.",
        attr.word(),
        attr.declared().measure
    );
    found.ask(attr.word(), &ask);
}
