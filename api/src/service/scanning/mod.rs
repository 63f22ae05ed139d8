//! What a scanned or typed text stands for in this shop, and what can be done with it.

mod lies;
mod near;
mod said;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::gtin::Gtin;
use plugwell_domain::ledger::{Lot, Place, QUANTITY_MAX};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::scan::{
    self, Element, Elements, ProposedBin, ScanKind, ScanStep, Scanned, propose_bin,
};
use plugwell_domain::spelling::Nearness;
use plugwell_store::{OpenLine, Session};
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop, barcodes};
pub use lies::LotLies;
use near::{same, spelled};

/// Most parts that are shown where none is meant for certain.
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
    /// Packs × plugs in each; null too where that is more than one receipt takes.
    pub quantity: Option<i64>,
    /// The lot with that label.
    pub lot: Option<Lot>,
    /// Where the plugs of that lot are; of lots only.
    pub lies: Vec<LotLies>,
    /// The incoming check that the lot, or one that it descends from, waits in quarantine by.
    pub waiting_check_id: Option<Uuid>,
    /// The place with that label or name.
    pub place: Option<Place>,
    /// The order with that code.
    pub order_id: Option<Uuid>,
    /// Where no one part is meant for certain: those that can be.
    pub near: Vec<SpelledPart>,
    /// Where to put more of the part; none for a lot that lies in quarantine or waits for a decision.
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
    /// Whether `near` is what a carton of this number holds.
    #[serde(skip)]
    is_carton: bool,
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
            lies: Vec::new(),
            waiting_check_id: None,
            place: None,
            order_id: None,
            near: Vec::new(),
            proposed_bin: None,
            waiting: Vec::new(),
            said: String::new(),
            next: Vec::new(),
            plug: None,
            is_carton: false,
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
        match by_gtin(s, &gtin)? {
            none if none.is_empty() => carton(s, &mut scan, &gtin)?,
            meant => one_of(s, &mut scan, meant)?,
        }
    }
    Ok(scan)
}

/// A GTIN by itself. A part number can have as many digits, and they can check by chance.
fn of_gtin(s: &mut Session, text: &str, gtin: &Gtin) -> Result<Scan, Refusal> {
    let mut scan = Scan::of(text, ScanKind::Gtin);
    scan.gtin = Some(gtin.clone());
    scan.packs = Some(1);
    let mut meant = by_gtin(s, gtin)?;
    let numbered = by_number(s, text)?;
    if meant.is_empty() && !numbered.is_empty() {
        (scan.kind, scan.packs) = (ScanKind::Name, None);
    }
    meant.extend(numbered);
    if meant.is_empty() {
        carton(s, &mut scan, gtin)?;
    } else {
        one_of(s, &mut scan, meant)?;
    }
    Ok(scan)
}

/// A part that a text can mean.
struct Meant {
    plug: Plug,
    /// Plugs in the pack that bears the text, where a barcode says so.
    plugs: Option<i64>,
}

impl From<Plug> for Meant {
    fn from(plug: Plug) -> Self {
        Self { plug, plugs: None }
    }
}

/// The part that the shop attached the text to.
fn by_barcode(s: &mut Session, code: &str) -> Result<Option<Meant>, Refusal> {
    let Some(barcode) = s.barcode_read(code)? else {
        return Ok(None);
    };
    let plugs = barcode.data.plugs;
    let plug = s.plug(barcode.plug_id)?;
    Ok(plug.map(|plug| Meant { plug, plugs }))
}

/// Every part with a GTIN: by a barcode that the shop attached, and by the part's own number, in
/// whatever length it is printed.
fn by_gtin(s: &mut Session, gtin: &Gtin) -> Result<Vec<Meant>, Refusal> {
    let mut meant = Vec::from_iter(by_barcode(s, gtin.as_str())?);
    meant.extend(barcodes::with_gtin(s, gtin)?.into_iter().map(Meant::from));
    Ok(meant)
}

/// Every part with a part number.
fn by_number(s: &mut Session, text: &str) -> Result<Vec<Meant>, Refusal> {
    let parts = s.plugs_numbered(text, SHOWN as i64)?;
    Ok(parts.into_iter().map(Meant::from).collect())
}

/// A carton of a part that the shop knows: how many are in it nobody has said.
fn carton(s: &mut Session, scan: &mut Scan, gtin: &Gtin) -> Result<(), Refusal> {
    if let Some(inner) = gtin.inner() {
        let parts = barcodes::with_gtin(s, &inner)?;
        scan.near = parts.iter().take(SHOWN).map(same).collect();
        scan.is_carton = !scan.near.is_empty();
    }
    Ok(())
}

/// The one part of some; of several none for certain. What is retired is meant only where nothing else
/// can be.
fn one_of(s: &mut Session, scan: &mut Scan, meant: Vec<Meant>) -> Result<(), Refusal> {
    let in_use = meant.iter().any(|meant| !meant.plug.retired);
    let mut parts: Vec<Meant> = Vec::new();
    for meant in meant {
        let known = parts.iter().any(|part| part.plug.id == meant.plug.id);
        if !(known || in_use && meant.plug.retired) {
            parts.push(meant);
        }
    }
    if parts.len() > 1 {
        let some = parts.iter().take(SHOWN);
        scan.near = some.map(|part| same(&part.plug)).collect();
        return Ok(());
    }
    match parts.pop() {
        Some(only) => known(s, scan, only),
        None => Ok(()),
    }
}

/// Everything that goes with a part that is meant.
fn known(s: &mut Session, scan: &mut Scan, meant: Meant) -> Result<(), Refusal> {
    let Meant { plug, plugs } = meant;
    if scan.packs.is_some() {
        scan.plugs_per_pack = plugs.or_else(|| plug.shown(Attr::PackSize));
        scan.quantity = scan
            .packs
            .zip(scan.plugs_per_pack)
            .and_then(|(packs, each)| packs.checked_mul(each))
            .filter(|all| *all <= QUANTITY_MAX);
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
                if let Some(plug) = s.plug(lot.plug_id)? {
                    known(s, &mut scan, plug.into())?;
                }
                lies::look_up(s, &mut scan, &lot)?;
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
    let mut scan = Scan::of(text, ScanKind::Name);
    let mut meant = Vec::from_iter(by_barcode(s, text)?);
    if !meant.is_empty() {
        (scan.kind, scan.packs) = (ScanKind::Barcode, Some(1));
    }
    meant.extend(by_number(s, text)?);
    one_of(s, &mut scan, meant)?;
    if scan.plug.is_none() && scan.near.is_empty() {
        let places = s.places_called(text)?;
        scan.place = places.into_iter().find(|place| !place.retired);
    }
    Ok(scan)
}
