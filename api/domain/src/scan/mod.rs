//! What a scanned or typed text is: a number under a bar code, an element string of GS1, a label of
//! the shop's own, or a name.

mod application;
pub mod barcode;
mod elements;
mod proposal;

use crate::fault::{Fault, FaultCode};
use crate::gtin::{Gtin, GtinError};
use crate::words::closed_list;

pub use application::{AIS, Ai, Form};
pub use elements::{Element, Elements, bracketed, composed, in_set_82};
pub use proposal::{InBin, ProposedBin, propose_bin};

/// The most characters that are taken for one scan: a GS1-128 symbol has 48, a two-dimensional one
/// more.
pub const LONGEST: usize = 400;
/// What a scanner sends for FNC1 between two element strings: the group separator of ASCII.
pub const SEPARATOR: char = '\u{1d}';

closed_list! {
    /// What a text was taken for.
    ScanKind, "kind of scan" {
        /// Element strings of GS1, marked as such.
        ElementString = "element_string",
        /// A GTIN by itself.
        Gtin = "gtin",
        /// The code on a lot's label.
        LotCode = "lot_code",
        /// The code on a place's label.
        PlaceCode = "place_code",
        /// The code on a printed order.
        OrderCode = "order_code",
        /// A barcode that the shop has attached to a part.
        Barcode = "barcode",
        /// A part number, or what a bin or a job is called.
        Name = "name",
    }
}

closed_list! {
    /// What can be done with what was scanned.
    ScanStep, "step after a scan" {
        /// Book it in.
        Receive = "receive",
        /// Look at it.
        Look = "look",
        /// Measure a sample of it.
        Check = "check",
        /// Decide what becomes of it.
        Decide = "decide",
        /// Say which of several parts it is.
        Choose = "choose",
        /// Attach the barcode to a part that is in the catalogue.
        AttachBarcode = "attach_barcode",
        /// Make a record of a part that is not.
        CreatePart = "create_part",
    }
}

/// A text, read by its form alone: whether there is such a part or lot is another matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scanned {
    /// Element strings.
    Elements(Elements),
    /// A GTIN.
    Gtin(Gtin),
    /// The shop's own code of a lot, a place or an order.
    Code(ScanKind, String),
    /// Anything else, with why it is no GTIN where it has the length of one.
    Name(String, Option<GtinError>),
}

/// Prefixes by which a scanner tells the symbology (ISO/IEC 15424, from memory): those whose data are
/// element strings, and those that bear one number or text.
const MARKED: &[&str] = &["]C1", "]e0", "]d2", "]Q3", "]J1"];
const PLAIN: &[&str] = &["]E0", "]E4", "]C0", "]I0", "]I1", "]d1", "]Q1"];

/// Reads a text by its form. Element strings are known by their symbology's prefix, a separator, the
/// brackets of the human readable form, or by beginning with a whole GTIN behind `01` or `02`.
///
/// # Errors
/// Every fault of a text that says itself to be element strings; a text that is empty, too long or
/// holds other control characters. Pointers name the query member `text`.
pub fn read(text: &str) -> Result<Scanned, Vec<Fault>> {
    let text = text.trim_matches(|c: char| c.is_whitespace() && c != SEPARATOR);
    if text.is_empty() || text.chars().count() > LONGEST {
        let detail = format!("a scan has 1 to {LONGEST} characters");
        return Err(vec![at(FaultCode::OutOfRange, detail)]);
    }
    if text.chars().any(|c| c.is_control() && c != SEPARATOR) {
        let detail = "holds a control character other than the separator (1D hexadecimal)";
        return Err(vec![at(FaultCode::WrongForm, detail.to_owned())]);
    }
    if let Some(data) = MARKED.iter().find_map(|mark| text.strip_prefix(mark)) {
        return elements::read(data).map(Scanned::Elements);
    }
    let text = PLAIN
        .iter()
        .find_map(|mark| text.strip_prefix(mark))
        .unwrap_or(text);
    if elements::begins_with_bracket(text) {
        return elements::read_bracketed(text).map(Scanned::Elements);
    }
    if text.contains(SEPARATOR) || begins_with_gtin(text) {
        return elements::read(text).map(Scanned::Elements);
    }
    Ok(single(text))
}

fn single(text: &str) -> Scanned {
    if let Some(kind) = own_code(text) {
        return Scanned::Code(kind, text.to_uppercase());
    }
    match text.parse::<Gtin>() {
        Ok(gtin) => Scanned::Gtin(gtin),
        Err(error @ GtinError::WrongCheckDigit { .. }) => {
            Scanned::Name(text.to_owned(), Some(error))
        }
        Err(_) => Scanned::Name(text.to_owned(), None),
    }
}

/// What a code of the shop's own labels stands for: a letter and a running number.
pub fn own_code(text: &str) -> Option<ScanKind> {
    let mut characters = text.chars();
    let kind = match characters.next()?.to_ascii_uppercase() {
        'L' => ScanKind::LotCode,
        'P' => ScanKind::PlaceCode,
        'O' => ScanKind::OrderCode,
        _ => return None,
    };
    let digits = characters.as_str();
    let number = (1..=9).contains(&digits.len())
        && digits.bytes().all(|b| b.is_ascii_digit())
        && !digits.starts_with('0');
    number.then_some(kind)
}

/// Whether a text without any mark begins with `01` or `02` and a GTIN whose check digit is right, and
/// goes on: shorter ones are a GTIN by themselves, or a name.
fn begins_with_gtin(text: &str) -> bool {
    let digits = text.strip_prefix("01").or_else(|| text.strip_prefix("02"));
    let gtin = digits.and_then(|rest| rest.get(..14));
    gtin.is_some_and(|digits| digits.parse::<Gtin>().is_ok())
}

/// A fault of the scanned text.
fn at(code: FaultCode, detail: String) -> Fault {
    Fault {
        pointer: "?text".to_owned(),
        code,
        detail,
    }
}
