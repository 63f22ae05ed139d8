//! What the ohmmeter says of the plugs that are in.

use serde_json::json;

use super::{Case, Finding, FindingCode, NotJudged};
use crate::attribute::Attr;
use crate::identification::{ByOhmmeter, by_ohmmeter};

/// A resistor that is open.
pub(super) fn finding<P>(case: Case<'_, P>) -> Option<Finding> {
    let read = case.resistance?;
    let (judged, text) = by_ohmmeter(read, case.policy);
    let most = &case.policy.values.resistor_to_ohm;
    let figures = (json!({ "min": null, "max": most.value }), json!(read.get()));
    (judged == ByOhmmeter::Broken).then(|| {
        Finding::of(
            FindingCode::ResistorBroken,
            Attr::Resistance.word(),
            figures,
            text,
            most,
        )
    })
}

/// A reading that can be one or the other, which has to be taken again.
pub(super) fn not_judged<P>(case: Case<'_, P>) -> Option<NotJudged> {
    let (judged, text) = by_ohmmeter(case.resistance?, case.policy);
    let codes = &[FindingCode::NoResistor, FindingCode::ResistorBroken];
    (judged == ByOhmmeter::Unclear).then(|| NotJudged::of(Attr::Resistance.word(), text, codes))
}
