//! Sums of money as people write them; everywhere else they are whole minor units.

use serde::Serialize;

/// Money in whole minor units that may be below zero: what a period changed, or took back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SignedMoney {
    /// Minor units (cents where the currency has them); below zero where more went than came.
    pub minor: i64,
    /// ISO 4217 code.
    #[cfg_attr(feature = "schema", schema(pattern = "^[A-Z]{3}$"))]
    pub currency: String,
}

impl std::fmt::Display for SignedMoney {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sum = decimal(self.minor, &self.currency);
        f.pad(&format!("{sum} {}", self.currency))
    }
}

/// Places after the point of a currency.
pub fn places(currency: &str) -> usize {
    match currency {
        // ISO 4217, the list of codes with their minor units; from memory.
        "CLP" | "ISK" | "JPY" | "KRW" | "PYG" | "UGX" | "VND" | "XAF" | "XOF" | "XPF" => 0,
        "BHD" | "IQD" | "JOD" | "KWD" | "LYD" | "OMR" | "TND" => 3,
        _ => 2,
    }
}

/// A sum in whole units with the currency's places: 12340 of a currency with two is `123.40`.
pub fn decimal(minor: i64, currency: &str) -> String {
    let places = places(currency);
    let sign = if minor < 0 { "-" } else { "" };
    let digits = format!("{:0>width$}", minor.unsigned_abs(), width = places + 1);
    let (whole, part) = digits.split_at(digits.len() - places);
    if part.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{part}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_has_the_places_of_its_currency() {
        for (minor, currency, written) in [
            (12_340, "USD", "123.40"),
            (5, "EUR", "0.05"),
            (0, "USD", "0.00"),
            (-7, "USD", "-0.07"),
            (-12_345, "USD", "-123.45"),
            (1285, "JPY", "1285"),
            (1285, "KWD", "1.285"),
            (i64::MIN, "JPY", "-9223372036854775808"),
        ] {
            assert_eq!(decimal(minor, currency), written);
        }
        let money = SignedMoney {
            minor: -500,
            currency: "USD".into(),
        };
        assert_eq!(money.to_string(), "-5.00 USD");
    }
}
