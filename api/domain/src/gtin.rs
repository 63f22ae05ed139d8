//! GTIN-8, -12, -13 and -14: the number under a bar code.
//!
//! Label: **published standard** (GS1 General Specifications) for lengths and check digit; the ranges kept for
//! use inside a shop are **recalled from memory** of the same document. A number is kept as it is printed and
//! compared as it is given: a GTIN-12 and the GTIN-13 that begins with a nought and goes on the same are two.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use crate::fault::FaultCode;

/// A GTIN whose length and check digit are right.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
#[cfg_attr(
    feature = "schema",
    derive(utoipa::ToSchema),
    schema(value_type = String, pattern = "^([0-9]{8}|[0-9]{12,14})$", example = "2000000000015")
)]
pub struct Gtin(String);

/// Why a text is no GTIN.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GtinError {
    /// Something other than the digits 0 to 9.
    #[error("a GTIN has digits only; character {position} is {found:?}")]
    NotDigits {
        /// Which character, counted from 1.
        position: usize,
        /// The character.
        found: char,
    },
    /// Not 8, 12, 13 or 14 digits, check digit included.
    #[error("a GTIN has 8, 12, 13 or 14 digits, check digit included; this has {0}")]
    WrongLength(usize),
    /// The last digit does not follow from the others: a slip in one of them.
    #[error("the check digit should be {expected}, not {found}; one of the digits is wrong")]
    WrongCheckDigit {
        /// The digit that follows from the others.
        expected: u8,
        /// The digit that stands there.
        found: u8,
    },
}

impl GtinError {
    /// The rule that was broken, for other programs.
    pub fn fault_code(&self) -> FaultCode {
        match self {
            Self::NotDigits { .. } | Self::WrongLength(_) => FaultCode::WrongForm,
            Self::WrongCheckDigit { .. } => FaultCode::WrongCheckDigit,
        }
    }
}

impl Gtin {
    /// Completes a number that lacks only its check digit (7, 11, 12 or 13 digits).
    ///
    /// # Errors
    /// [`GtinError::NotDigits`], or [`GtinError::WrongLength`] counting the check digit.
    pub fn with_check_digit(payload: &str) -> Result<Self, GtinError> {
        let digits = digits_of(payload)?;
        check_length(digits.len() + 1)?;
        Ok(Self(format!("{payload}{}", check_digit(&digits))))
    }

    /// The digits as printed.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The number with noughts in front, 14 digits in all: the same for every length that it can be
    /// printed in.
    pub fn padded(&self) -> String {
        format!("{:0>14}", self.0)
    }

    /// Every way in which the same number can be printed: as it stands first, then the longest.
    pub fn forms(&self) -> Vec<Self> {
        let padded = self.padded();
        let mut forms = vec![self.clone()];
        for length in [14, 13, 12, 8] {
            let (noughts, digits) = padded.split_at(14 - length);
            let fits = noughts.bytes().all(|b| b == b'0') && digits != self.0;
            forms.extend(fits.then(|| Self(digits.to_owned())));
        }
        forms
    }

    /// The item of which several are in one box with this number: a GTIN-14 that begins with 1 to 8
    /// numbers a grouping of the item whose digits follow. `None` for every other number.
    pub fn inner(&self) -> Option<Self> {
        let grouping = self.0.len() == 14 && matches!(self.0.as_bytes()[0], b'1'..=b'8');
        let payload = grouping.then(|| &self.0[1..13])?;
        Self::with_check_digit(payload).ok()
    }

    /// Whether GS1 keeps the number for use inside a shop, so that no article in trade can bear it.
    ///
    /// GTIN-13 beginning with 2, 02 or 04; GTIN-12 with 2 or 4; GTIN-14 as the GTIN-13 behind its first
    /// digit; GTIN-8 with 0 or 2.
    pub fn is_in_shop_range(&self) -> bool {
        match self.0.len() {
            8 => self.0.starts_with(['0', '2']),
            12 => self.0.starts_with(['2', '4']),
            13 => is_in_shop_gtin_13(&self.0),
            _ => is_in_shop_gtin_13(&self.0[1..]),
        }
    }
}

fn is_in_shop_gtin_13(digits: &str) -> bool {
    ["2", "02", "04"]
        .iter()
        .any(|prefix| digits.starts_with(prefix))
}

impl FromStr for Gtin {
    type Err = GtinError;

    fn from_str(text: &str) -> Result<Self, GtinError> {
        text.to_owned().try_into()
    }
}

impl TryFrom<String> for Gtin {
    type Error = GtinError;

    fn try_from(text: String) -> Result<Self, GtinError> {
        let digits = digits_of(&text)?;
        check_length(digits.len())?;
        let (&found, payload) = digits.split_last().ok_or(GtinError::WrongLength(0))?;
        let expected = check_digit(payload);
        if found == expected {
            Ok(Self(text))
        } else {
            Err(GtinError::WrongCheckDigit { expected, found })
        }
    }
}

impl From<Gtin> for String {
    fn from(gtin: Gtin) -> Self {
        gtin.0
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

fn digits_of(text: &str) -> Result<Vec<u8>, GtinError> {
    text.chars()
        .enumerate()
        .map(|(index, found)| match found {
            '0'..='9' => Ok(found as u8 - b'0'),
            _ => Err(GtinError::NotDigits {
                position: index + 1,
                found,
            }),
        })
        .collect()
}

fn check_length(length: usize) -> Result<(), GtinError> {
    if matches!(length, 8 | 12 | 13 | 14) {
        Ok(())
    } else {
        Err(GtinError::WrongLength(length))
    }
}

/// GS1 modulo 10: weights 3, 1, 3, … from the right; the digit fills the sum up to a multiple of ten.
pub(crate) fn check_digit(payload: &[u8]) -> u8 {
    let sum: u32 = payload
        .iter()
        .rev()
        .zip([3, 1].into_iter().cycle())
        .map(|(&d, weight)| u32::from(d) * weight)
        .sum();
    ((10 - sum % 10) % 10) as u8
}
