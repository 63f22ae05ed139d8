//! The application identifiers that are understood, one row each.
//!
//! Label: **published standard** (GS1 General Specifications, section 3; formats and pairs checked
//! against the GS1 Barcode Syntax Dictionary): `01  N14,csum  ex=255,37`, `21  X..20  req=01,03,8006`,
//! `02` and `37` only with each other, or `37` beside `00`.

/// How the value of an application identifier is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// So many digits.
    Digits(usize),
    /// So many digits, of which the last checks the others.
    Checked(usize),
    /// Year, month and day of two digits each; day 00 where only the month is known.
    Date,
    /// Up to so many digits, counting from 1.
    Count(usize),
    /// Up to so many characters of set 82.
    Text(usize),
}

impl Form {
    /// How many characters the value has, where that is always the same: no separator follows.
    pub const fn length(self) -> Option<usize> {
        match self {
            Self::Digits(length) | Self::Checked(length) => Some(length),
            Self::Date => Some(6),
            Self::Count(_) | Self::Text(_) => None,
        }
    }

    /// The most characters that it has.
    pub const fn most(self) -> usize {
        match self {
            Self::Digits(most) | Self::Checked(most) | Self::Count(most) | Self::Text(most) => most,
            Self::Date => 6,
        }
    }
}

/// An application identifier.
#[derive(Debug, PartialEq, Eq)]
pub struct Ai {
    /// Its digits.
    pub digits: &'static str,
    /// What it says, in words.
    pub title: &'static str,
    /// How its value is written.
    pub form: Form,
}

const fn ai(digits: &'static str, title: &'static str, form: Form) -> Ai {
    Ai {
        digits,
        title,
        form,
    }
}

/// Those that a plug's box, carton or pallet may bear.
pub const AIS: &[Ai] = &[
    ai("00", "logistic unit", Form::Checked(18)),
    ai("01", "GTIN", Form::Checked(14)),
    ai("02", "GTIN of what is contained", Form::Checked(14)),
    ai("10", "batch or lot", Form::Text(20)),
    ai("11", "production date", Form::Date),
    ai("13", "packing date", Form::Date),
    ai("15", "best before", Form::Date),
    ai("17", "expiry date", Form::Date),
    ai("20", "variant", Form::Digits(2)),
    ai("21", "serial number", Form::Text(20)),
    ai("37", "count of what is contained", Form::Count(8)),
    ai("240", "further identification of the item", Form::Text(30)),
    ai("241", "the customer's part number", Form::Text(30)),
    ai("400", "the customer's order number", Form::Text(30)),
];

/// Lengths, identifier included, of those that are never followed by a separator, by their first two
/// digits (GS1 General Specifications, table of predefined lengths; from memory): so that one that is
/// not understood can be passed over.
const PREDEFINED: &[(&str, usize)] = &[
    ("00", 20),
    ("01", 16),
    ("02", 16),
    ("03", 16),
    ("04", 18),
    ("11", 8),
    ("12", 8),
    ("13", 8),
    ("14", 8),
    ("15", 8),
    ("16", 8),
    ("17", 8),
    ("18", 8),
    ("19", 8),
    ("20", 4),
    ("31", 10),
    ("32", 10),
    ("33", 10),
    ("34", 10),
    ("35", 10),
    ("36", 10),
    ("41", 16),
];

/// The identifier that a text begins with. None of them is the beginning of another.
pub(super) fn leading(text: &str) -> Option<&'static Ai> {
    AIS.iter().find(|ai| text.starts_with(ai.digits))
}

/// The identifier with these digits.
pub(super) fn named(digits: &str) -> Option<&'static Ai> {
    AIS.iter().find(|ai| ai.digits == digits)
}

/// How long one that is not understood is, identifier included, where its first digits tell.
pub(super) fn predefined(text: &str) -> Option<usize> {
    let known = PREDEFINED
        .iter()
        .find(|(digits, _)| text.starts_with(digits));
    known.map(|(_, length)| *length)
}
