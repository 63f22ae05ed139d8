//! What a form says of a scan by which nothing is known.

use plugwell_domain::scan::{ScanKind, ScanStep};
use plugwell_domain::words::Role;

use crate::pages::counter::acts::Act;
use crate::pages::counter::taking::Heard;
use crate::pages::part;
use crate::pages::typed::{Typed, encoded};
use crate::pages::words::{say, say_with};
use crate::service::scanning::{self, Scan};
use crate::service::{Refusal, Shop, catalogue};

/// The longest name of a job, in characters.
const NAME: usize = 80;
/// Most parts that words lead to.
const FOUND: usize = 12;

/// Nothing is known by it: a new job where the form takes one, a part by its words, or a fault.
pub(super) fn unknown(
    shop: &Shop,
    act: Act,
    role: Role,
    typed: &mut Typed,
    scan: &Scan,
) -> Result<Heard, Refusal> {
    let text = scan.text.as_str();
    let no_part = act.begins_with_part() && typed.one("plug_id").is_empty();
    let mut parts = Vec::new();
    for near in &scan.near {
        parts.push(catalogue::get(shop, near.plug_id)?);
    }
    if no_part && parts.is_empty() && scan.gtin.is_none() {
        parts = catalogue::find(shop, text, FOUND)?;
    }
    let may_be_job = scan.kind == ScanKind::Name && scan.gtin.is_none();
    let takes_job = matches!(act, Act::Issue | Act::Reserve) && typed.one("job").is_empty();
    if may_be_job && takes_job && (parts.is_empty() || !no_part) && text.chars().count() <= NAME {
        typed.set("job", text);
        return Ok(Heard::said(say_with(
            "counter-new-job-text",
            &[("text", &text)],
        )));
    }
    let ways = ways(scan, act, role >= Role::Clerk);
    let said = match (parts.is_empty(), no_part) {
        (true, _) => say_with(
            "counter-text-names-nothing-here-form",
            &[("text", &format!("{text:?}")), ("takes", &act.takes())],
        ),
        // Chosen by whoever looks, never taken for granted.
        (false, true) => say_with(
            "counter-text-no-part-certain-choose",
            &[("text", &format!("{text:?}"))],
        ),
        (false, false) => {
            let names: Vec<_> = parts.iter().map(part::name).collect();
            say_with(
                "counter-text-no-part-certain-near",
                &[("text", &format!("{text:?}")), ("names", &names.join(", "))],
            )
        }
    };
    Ok(Heard {
        ways,
        parts,
        ..Heard::wrong(said)
    })
}

/// What can be done with a text in the field of the part that names none.
///
/// # Errors
/// Where database or index fail.
pub(in crate::pages::counter) fn ways_of_text(
    shop: &Shop,
    act: Act,
    text: &str,
    is_clerk: bool,
) -> Result<Vec<(String, String)>, Refusal> {
    match scanning::read(shop, text) {
        Ok(scan) => Ok(ways(&scan, act, is_clerk)),
        // A number that cannot be one of a part is attached to none.
        Err(Refusal::Faults(_)) => Ok(Vec::new()),
        Err(other) => Err(other),
    }
}

/// What can be done with it.
fn ways(scan: &Scan, act: Act, is_clerk: bool) -> Vec<(String, String)> {
    let mut ways = Vec::new();
    let code = encoded(&scan.text);
    let is_step = |step: ScanStep| scan.next.iter().any(|next| next.step == step);
    let is_number = scan.gtin.is_some() && is_step(ScanStep::AttachBarcode);
    if is_number && is_clerk {
        ways.push((
            format!("/barcodes/new?code={code}"),
            say("counter-attach-part-catalogue").to_owned(),
        ));
        ways.push((
            format!("/parts/new?gtin={code}"),
            say("counter-make-record-new-part").to_owned(),
        ));
    } else if act == Act::Receive {
        ways.push((
            format!("/barcodes/new?code={code}"),
            say("counter-supplier-barcode-attach-part").to_owned(),
        ));
        if is_step(ScanStep::CreatePart) {
            ways.push((
                format!("/parts/new?part_number={code}"),
                say("counter-make-record-new-part").to_owned(),
            ));
        }
    }
    ways
}
