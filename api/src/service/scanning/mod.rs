//! What a scanned or typed text stands for in this shop, and what can be done with it.

mod said;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::gtin::Gtin;
use plugwell_domain::ledger::{Lot, Place};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::scan::{
    self, Element, Elements, ProposedBin, ScanKind, ScanStep, Scanned, propose_bin,
};
use plugwell_domain::spelling::{Nearness, nearness};
use plugwell_store::{OpenLine, Session};
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// Records that are spelled nearly so and looked at.
const LOOKED_AT: usize = 200;
/// Of them so many are shown; and so many that bear the very number.
const SHOWN: usize = 10;

/// A part that can be meant.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct SpelledPart {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// How near the scanned text comes to that.
    pub spelling: Nearness,
}

/// A line of an order that waits for the part.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct WaitingLine {
    /// The order.
    pub order_id: Uuid,
    /// Its code.
    pub order_code: String,
    /// The line, for a receipt.
    pub order_line_id: Uuid,
    /// Who delivers.
    pub supplier: String,
    /// Plugs still to come.
    pub missing: i64,
}

/// Something that can be done next.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct NextStep {
    /// What.
    pub step: ScanStep,
    /// The method of the request.
    pub method: &'static str,
    /// Its path.
    pub path: String,
    /// What is known of its body; the rest is to be filled in.
    #[schema(value_type = Object)]
    pub body: Map<String, Value>,
    /// Why, and what is still to be said.
    pub why: String,
}

/// What a text was understood as.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Scan {
    /// The text.
    pub text: String,
    /// What it was taken for.
    pub kind: ScanKind,
    /// Its element strings, where it has some.
    pub elements: Vec<Element>,
    /// The GTIN in it.
    #[schema(value_type = Option<String>)]
    pub gtin: Option<Gtin>,
    /// Batch or lot, as its maker numbers it.
    pub batch: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Boxes or cartons that it speaks of.
    pub packs: Option<i64>,
    /// Plugs in each of them; null where nobody has said.
    pub plugs_per_pack: Option<i64>,
    /// Packs × plugs in each.
    pub quantity: Option<i64>,
    /// The lot with that label.
    pub lot: Option<Lot>,
    /// The place with that label or name.
    pub place: Option<Place>,
    /// The order with that code.
    pub order_id: Option<Uuid>,
    /// Where no one part is meant for certain: those that can be.
    pub near: Vec<SpelledPart>,
    /// Where to put more of the part.
    pub proposed_bin: Option<ProposedBin>,
    /// Lines of orders that wait for the part, the one expected first in front.
    pub waiting: Vec<WaitingLine>,
    /// What was understood, in sentences.
    pub said: String,
    /// What can be done with it.
    pub next: Vec<NextStep>,
    /// The part that is meant.
    #[serde(skip)]
    pub plug: Option<Plug>,
}

impl Scan {
    fn of(text: &str, kind: ScanKind) -> Self {
        Self {
            text: text.to_owned(),
            kind,
            elements: Vec::new(),
            gtin: None,
            batch: None,
            serial: None,
            packs: None,
            plugs_per_pack: None,
            quantity: None,
            lot: None,
            place: None,
            order_id: None,
            near: Vec::new(),
            proposed_bin: None,
            waiting: Vec::new(),
            said: String::new(),
            next: Vec::new(),
            plug: None,
        }
    }
}

/// Reads a text and looks up what it stands for.
///
/// # Errors
/// Every fault of a text that says itself to be a bar code; where database or index fail.
pub fn read(shop: &Shop, text: &str) -> Result<Scan, Refusal> {
    let scanned = scan::read(text).map_err(Refusal::Faults)?;
    let text = text.trim();
    let mut scan = shop.store.read(|s| match &scanned {
        Scanned::Elements(elements) => of_elements(s, text, elements),
        Scanned::Gtin(gtin) => of_gtin(s, text, gtin),
        Scanned::Code(kind, code) => of_code(s, text, *kind, code),
        Scanned::Name(..) => of_name(s, text),
    })?;
    let nothing = scan.plug.is_none() && scan.place.is_none() && scan.order_id.is_none();
    if nothing && scan.near.is_empty() {
        if let Scanned::Name(_, Some(error)) = &scanned {
            return Err(Refusal::fault(Fault {
                pointer: "?text".into(),
                code: FaultCode::WrongCheckDigit,
                detail: format!("no part has this number, and as a GTIN {error}"),
            }));
        }
        if scan.kind == ScanKind::Name {
            scan.near = spelled(shop, text)?;
        }
    }
    said::put_into_words(&mut scan);
    Ok(scan)
}

fn of_elements(s: &mut Session, text: &str, elements: &Elements) -> Result<Scan, Refusal> {
    let mut scan = Scan::of(text, ScanKind::ElementString);
    scan.elements = elements.all().to_vec();
    scan.batch = elements.batch().map(str::to_owned);
    scan.serial = elements.serial().map(str::to_owned);
    scan.gtin = elements.gtin();
    let item = elements.all().iter().any(|element| element.ai == "01");
    // A symbol on the item itself stands for one of it; of what is contained only a count tells.
    scan.packs = elements.count().or(item.then_some(1));
    if let Some(gtin) = scan.gtin.clone() {
        part_of_gtin(s, &mut scan, &gtin)?;
    }
    Ok(scan)
}

fn of_gtin(s: &mut Session, text: &str, gtin: &Gtin) -> Result<Scan, Refusal> {
    let mut scan = Scan::of(text, ScanKind::Gtin);
    scan.gtin = Some(gtin.clone());
    scan.packs = Some(1);
    part_of_gtin(s, &mut scan, gtin)?;
    if scan.plug.is_none() && scan.near.is_empty() {
        // A part number can have as many digits, and they can check by chance.
        let mut named = of_name(s, text)?;
        if named.plug.is_some() || !named.near.is_empty() {
            named.gtin = scan.gtin;
            return Ok(named);
        }
    }
    Ok(scan)
}

/// The part with a GTIN: by a barcode that the shop attached, else by the part's own number, in whatever
/// length it is printed.
fn part_of_gtin(s: &mut Session, scan: &mut Scan, gtin: &Gtin) -> Result<(), Refusal> {
    if let Some(barcode) = s.barcode_read(gtin.as_str())? {
        let plug = s.plug(barcode.plug_id)?;
        return known(s, scan, plug, barcode.data.plugs);
    }
    let mut parts: Vec<Plug> = Vec::new();
    for form in gtin.forms() {
        parts.extend(s.plug_with_gtin(form.as_str())?);
    }
    if parts.is_empty()
        && let Some(inner) = gtin.inner()
    {
        // A carton of a part that the shop knows: how many are in it nobody has said.
        for form in inner.forms() {
            parts.extend(s.plug_with_gtin(form.as_str())?);
        }
        scan.near = parts.iter().take(SHOWN).map(same).collect();
        return Ok(());
    }
    one_of(s, scan, parts)
}

/// The one part of some; of several none for certain.
fn one_of(s: &mut Session, scan: &mut Scan, mut parts: Vec<Plug>) -> Result<(), Refusal> {
    if parts.len() > 1 && parts.iter().any(|plug| !plug.retired) {
        parts.retain(|plug| !plug.retired);
    }
    if parts.len() > 1 {
        scan.near = parts.iter().take(SHOWN).map(same).collect();
        return Ok(());
    }
    known(s, scan, parts.pop(), None)
}

fn same(plug: &Plug) -> SpelledPart {
    spelled_part(plug, Nearness::Same)
}

fn spelled_part(plug: &Plug, spelling: Nearness) -> SpelledPart {
    SpelledPart {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        spelling,
    }
}

/// Everything that goes with a part that is meant.
fn known(
    s: &mut Session,
    scan: &mut Scan,
    plug: Option<Plug>,
    per_pack: Option<i64>,
) -> Result<(), Refusal> {
    let Some(plug) = plug else { return Ok(()) };
    if scan.packs.is_some() {
        scan.plugs_per_pack = per_pack.or_else(|| plug.shown(Attr::PackSize));
        scan.quantity = scan
            .packs
            .zip(scan.plugs_per_pack)
            .and_then(|(packs, each)| packs.checked_mul(each));
    }
    (scan.proposed_bin, scan.waiting) = expected(s, plug.id)?;
    scan.plug = Some(plug);
    Ok(())
}

/// Where to put more of a part, and the lines of orders that wait for it, the one expected first in
/// front.
///
/// # Errors
/// Where the database fails.
pub fn arriving(
    shop: &Shop,
    plug_id: Uuid,
) -> Result<(Option<ProposedBin>, Vec<WaitingLine>), Refusal> {
    shop.store.read(|s| expected(s, plug_id))
}

fn expected(
    s: &mut Session,
    plug_id: Uuid,
) -> Result<(Option<ProposedBin>, Vec<WaitingLine>), Refusal> {
    let lies = s.bins_of(plug_id)?;
    let last = match lies.is_empty() {
        true => s.last_bin_of(plug_id)?,
        false => None,
    };
    let waiting = |line: OpenLine| WaitingLine {
        order_id: line.order_id,
        order_code: line.order_code,
        order_line_id: line.order_line_id,
        supplier: line.supplier,
        missing: line.missing,
    };
    let lines = s.open_lines(plug_id)?.into_iter().map(waiting);
    Ok((propose_bin(&lies, last.as_ref()), lines.collect()))
}

/// The shop's own label; a text of its form that no label has may still be a name.
fn of_code(s: &mut Session, text: &str, kind: ScanKind, code: &str) -> Result<Scan, Refusal> {
    let mut scan = Scan::of(text, kind);
    match kind {
        ScanKind::LotCode => {
            if let Some(lot) = s.lot_by_code(code)? {
                let plug = s.plug(lot.plug_id)?;
                known(s, &mut scan, plug, None)?;
                scan.lot = Some(lot);
                return Ok(scan);
            }
        }
        ScanKind::PlaceCode => {
            scan.place = s.place_by_code(code)?;
            if scan.place.is_some() {
                return Ok(scan);
            }
        }
        _ => {
            scan.order_id = s.order_by_code(code)?;
            if scan.order_id.is_some() {
                return Ok(scan);
            }
        }
    }
    of_name(s, text)
}

/// A barcode that the shop attached, a part number, or what a place is called.
fn of_name(s: &mut Session, text: &str) -> Result<Scan, Refusal> {
    if let Some(barcode) = s.barcode_read(text)? {
        let mut scan = Scan::of(text, ScanKind::Barcode);
        scan.packs = Some(1);
        let plug = s.plug(barcode.plug_id)?;
        known(s, &mut scan, plug, barcode.data.plugs)?;
        return Ok(scan);
    }
    let mut scan = Scan::of(text, ScanKind::Name);
    let parts = s.plugs_numbered(text, SHOWN as i64)?;
    one_of(s, &mut scan, parts)?;
    if scan.plug.is_none() && scan.near.is_empty() {
        scan.place = s
            .places_called(text)?
            .into_iter()
            .find(|place| !place.retired);
    }
    Ok(scan)
}

/// Parts that are spelled nearly so, by whichever maker, nearest first.
fn spelled(shop: &Shop, text: &str) -> Result<Vec<SpelledPart>, Refusal> {
    let ids = shop.index.spelled_like(text, LOOKED_AT)?;
    let plugs = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.plugs_by_id(&ids)?))?;
    let mut near: Vec<SpelledPart> = plugs
        .iter()
        .filter(|plug| !plug.retired)
        .filter_map(|plug| Some(spelled_part(plug, nearness(text, &plug.data.part_number)?)))
        .collect();
    near.sort_by(|a, b| (a.spelling, &a.part_number).cmp(&(b.spelling, &b.part_number)));
    near.truncate(SHOWN);
    Ok(near)
}
