//! What a form takes from a scan that names a part: how many, by which lot, of which batch.

use plugwell_domain::plug::Plug;
use plugwell_domain::scan::ScanKind;

use super::{Heard, label, so_many};
use crate::pages::counter::acts::Act;
use crate::pages::part;
use crate::pages::typed::{Typed, count};
use crate::pages::words::{say, say_with};
use crate::service::scanning::{self, Scan};
use crate::service::{Refusal, Shop};

/// The field of a delivery's number.
const REFERENCE: &str = "reference";

/// A part with what its scan tells besides.
pub(super) fn with_part(act: Act, typed: &mut Typed, plug: &Plug, scan: &Scan) -> Heard {
    let before = typed.one("plug_id");
    // The batch of another part is none of this one's; a number of the delivery stays.
    let is_other = !before.is_empty() && before != plug.id.to_string();
    if is_other && typed.one(REFERENCE).starts_with("batch ") {
        *typed = typed.without(&[REFERENCE]);
    }
    let mut heard = counted(act, typed, plug, scan);
    if noted(act, typed, scan) {
        let (name, note) = (label(act, REFERENCE), typed.one(REFERENCE));
        heard.said.push_str(&format!(" {name}: {note}."));
    }
    heard
}

/// Notes the batch beside what stands there; whether there was one to note.
fn noted(act: Act, typed: &mut Typed, scan: &Scan) -> bool {
    let Some(batch) = scan.reference().filter(|_| act.has(REFERENCE)) else {
        return false;
    };
    let there = typed.one(REFERENCE);
    if there.is_empty() {
        typed.set(REFERENCE, batch);
    } else if !there.split(", ").any(|one| one == batch) {
        typed.set(REFERENCE, format!("{there}, {batch}"));
    }
    true
}

/// Takes what stands in the field of the part for a scan, where it is element strings that name one: they
/// tell more than the part.
///
/// # Errors
/// Where database or index fail.
pub(in crate::pages::counter) fn in_field(
    shop: &Shop,
    act: Act,
    typed: &mut Typed,
) -> Result<Option<Heard>, Refusal> {
    let named = read(shop, act, typed)?;
    Ok(named.map(|(plug, scan)| with_part(act, typed, &plug, &scan)))
}

/// As [`in_field`] where the form is booked: the batch is noted, and everything else stands as it was seen.
///
/// # Errors
/// Where database or index fail.
pub(in crate::pages::counter) fn noted_in_field(
    shop: &Shop,
    act: Act,
    typed: &mut Typed,
) -> Result<(), Refusal> {
    if let Some((_, scan)) = read(shop, act, typed)? {
        noted(act, typed, &scan);
    }
    Ok(())
}

/// The part that element strings in its field name, with the scan.
fn read(shop: &Shop, act: Act, typed: &Typed) -> Result<Option<(Plug, Scan)>, Refusal> {
    let text = typed.one("part");
    if text.is_empty() || !act.begins_with_part() || !typed.one("plug_id").is_empty() {
        return Ok(None);
    }
    match scanning::read(shop, text) {
        Ok(scan) if scan.kind == ScanKind::ElementString => {
            Ok(scan.plug.clone().map(|plug| (plug, scan)))
        }
        Ok(_) | Err(Refusal::Faults(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

/// A part: its packs are added to what was scanned of it before.
fn counted(act: Act, typed: &mut Typed, plug: &Plug, scan: &Scan) -> Heard {
    let id = plug.id.to_string();
    let before = typed.one("plug_id").to_owned();
    let had = count(typed.one("quantity")).ok();
    if !before.is_empty() && before != id {
        *typed = typed.without(&[
            "quantity",
            "packs",
            "pack_size",
            "lot",
            "reservation_id",
            "order_line_id",
        ]);
    }
    typed.set("plug_id", id.clone());
    *typed = typed.without(&["part"]);
    let name = part::name(plug);
    if let Some(lot) = &scan.lot {
        if act.has("lot") {
            typed.set("lot", lot.code.as_str());
            return Heard::said(say_with(
                "counter-lot-code-of-name",
                &[("code", &lot.code), ("name", &name)],
            ));
        }
        let mut said = say_with(
            "counter-name-by-label-of-lot",
            &[("name", &name), ("code", &lot.code)],
        );
        if act == Act::Receive {
            said.extend([" ", say("counter-comes-makes-new-lot")]);
        }
        return Heard::said(said);
    }
    // A number that was given before the part is the number meant.
    let more = scan
        .quantity
        .filter(|_| !(before.is_empty() && had.is_some()));
    let Some(more) = more else {
        return Heard::said(format!("{name}."));
    };
    let all = had.filter(|_| before == id).unwrap_or(0) + more;
    typed.set("quantity", all.to_string());
    *typed = typed.without(&["packs"]);
    if let Some(each) = scan.plugs_per_pack.filter(|_| act.has("pack_size")) {
        typed.set("pack_size", each.to_string());
    }
    Heard::said(if all == more {
        format!("{name}, {}.", so_many(more))
    } else {
        say_with(
            "counter-name-plugs-more-all",
            &[("name", &name), ("plugs", &more), ("all", &all)],
        )
    })
}
