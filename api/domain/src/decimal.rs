//! Exact decimal quantities: a whole number of the last place that the service keeps.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A quantity kept exactly with `D` decimal places.
///
/// Equality, order and ranges are those of whole numbers; a float appears only where JSON is read
/// or written, and physics is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Decimal<const D: u32>(pub i64);

/// A length in millimetres, exact to 0.1 µm, so that 0.001 in is 254 of them.
pub type Length = Decimal<4>;
/// A place on the neutral heat index, exact to 0.1.
pub type HeatIndex = Decimal<1>;

/// Finer than the service keeps, or no finite number.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} is finer than the {decimals} decimal places that are kept")]
pub struct TooFine {
    /// The number as given.
    pub value: f64,
    /// The places kept.
    pub decimals: u32,
}

/// The whole number of last places that a float means, if it means one exactly.
///
/// # Errors
/// [`TooFine`] where the float is not the one nearest to any decimal of that many places.
pub fn exact(value: f64, decimals: u32) -> Result<i64, TooFine> {
    let scale = 10f64.powi(decimals as i32);
    let raw = (value * scale).round();
    // The nearest float of the rounded decimal must be the very float that was given.
    if raw.abs() < 9e15 && raw / scale == value {
        Ok(raw as i64)
    } else {
        Err(TooFine { value, decimals })
    }
}

/// The float nearest to a whole number of last places.
pub fn as_f64(raw: i64, decimals: u32) -> f64 {
    raw as f64 / 10f64.powi(decimals as i32)
}

impl<const D: u32> Decimal<D> {
    /// Decimal places kept.
    pub const PLACES: u32 = D;

    /// The quantity that a float means exactly.
    ///
    /// # Errors
    /// [`TooFine`] where the float has more places than are kept.
    pub fn exact(value: f64) -> Result<Self, TooFine> {
        exact(value, D).map(Self)
    }

    /// The nearest float, for physics and for JSON.
    pub fn get(self) -> f64 {
        as_f64(self.0, D)
    }

    /// The quantity with all its places, as figures stand below each other: `1.50`.
    pub fn in_full(self) -> String {
        format!("{:.*}", D as usize, self.get())
    }
}

impl<const D: u32> std::fmt::Display for Decimal<D> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.get())
    }
}

impl<const D: u32> Serialize for Decimal<D> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_f64(self.get())
    }
}

impl<'de, const D: u32> Deserialize<'de> for Decimal<D> {
    fn deserialize<De: Deserializer<'de>>(d: De) -> Result<Self, De::Error> {
        Self::exact(f64::deserialize(d)?).map_err(serde::de::Error::custom)
    }
}

#[cfg(feature = "schema")]
impl<const D: u32> utoipa::PartialSchema for Decimal<D> {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
        utoipa::openapi::ObjectBuilder::new()
            .schema_type(utoipa::openapi::schema::Type::Number)
            .into()
    }
}

#[cfg(feature = "schema")]
impl<const D: u32> utoipa::ToSchema for Decimal<D> {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thousandth_of_an_inch_is_kept_exactly() {
        assert_eq!(Length::exact(0.0254), Ok(Decimal(254)));
        assert_eq!(Length::exact(19.05).unwrap().get(), 19.05);
        assert_eq!(Length::exact(-0.0), Ok(Decimal(0)));
    }

    #[test]
    fn in_full_no_place_is_left_out() {
        for (raw, written) in [(150, "1.50"), (300, "3.00"), (7, "0.07"), (-20, "-0.20")] {
            assert_eq!(Decimal::<2>(raw).in_full(), written);
        }
    }

    #[test]
    fn finer_input_is_refused() {
        for value in [19.00001, 0.00005, f64::NAN, f64::INFINITY, 1e300] {
            assert!(Length::exact(value).is_err(), "{value}");
        }
        assert!(HeatIndex::exact(60.05).is_err());
    }

    #[test]
    fn every_decimal_survives_the_way_through_json() {
        for raw in (-150_000..600_000).step_by(7) {
            let text = serde_json::to_string(&Decimal::<4>(raw)).unwrap();
            assert_eq!(
                serde_json::from_str::<Length>(&text).unwrap(),
                Decimal(raw),
                "{text}"
            );
        }
    }
}
