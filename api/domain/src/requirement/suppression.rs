//! Whether the spark has to be suppressed.

use super::derive::Findings;
use super::sentence::list;
use super::{BasisKind, Demand, Test, WhenUnknown};
use crate::attribute::Attr;
use crate::words::Electronics;

/// A must for a resistor where the car carries anything electronic, or while nobody has said;
/// a preference where it carries nothing. Common practice, no source.
pub(super) fn suppression(electronics: Option<&[Electronics]>, found: &mut Findings) {
    let fitted = Test::OneOf(vec![1]);
    let must = |reason: String| {
        Demand::must(
            Attr::Resistor,
            fitted.clone(),
            WhenUnknown::Fails,
            reason,
            BasisKind::CommonPractice,
        )
    };
    let demand = match electronics {
        Some([]) => Demand::prefer(
            Attr::Resistor,
            fitted,
            "Nothing electronic is on board, so either kind serves; one with resistor spares radios around.",
            BasisKind::CommonPractice,
        ),
        Some(carried) => {
            let words: Vec<_> = carried.iter().map(|e| e.word()).collect();
            must(format!(
                "The car carries {}, which an unsuppressed spark disturbs.",
                list(&words, "and")
            ))
        }
        None => {
            let ask = "Does the car carry anything electronic: injection, electronic ignition, radio, data logger, \
                       wide-band controller? Ask its owner; give electronics, [] for nothing.";
            found.ask(Attr::Resistor.word(), ask);
            must("Nobody has said what electronics the car carries: until then a resistor is asked for.".into())
        }
    };
    found.demands.push(demand);
}
