//! The closed lists of the trade: each variant with the word that stands for it on the wire,
//! in the database and in CSV cells.

/// Declares an enum whose variants are the words of a closed list.
///
/// The word is the only spelling: in JSON, in CSV, in the database and on the command line.
macro_rules! closed_list {
    ($(#[$meta:meta])* $name:ident, $what:literal { $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vmeta])* $variant),+ }

        impl $name {
            /// Every member, in the order of the list.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The words of the list, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
            /// The word that stands for this member.
            pub const fn word(self) -> &'static str {
                Self::WORDS[self as usize]
            }
            /// The member's place in the list; what the index and the fit rules compare.
            pub const fn position(self) -> i64 {
                self as i64
            }
            /// The member at a place of the list, if there is one.
            pub fn at(position: i64) -> Option<Self> {
                usize::try_from(position).ok().and_then(|p| Self::ALL.get(p)).copied()
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::words::NotInList;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Self::WORDS.iter().position(|w| *w == text).map(|p| Self::ALL[p]).ok_or_else(|| {
                    $crate::words::NotInList { what: $what, found: text.to_owned(), words: Self::WORDS }
                })
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                s.serialize_str(self.word())
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let text = std::borrow::Cow::<'de, str>::deserialize(d)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }

        #[cfg(feature = "schema")]
        impl utoipa::PartialSchema for $name {
            fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
                utoipa::openapi::ObjectBuilder::new()
                    .schema_type(utoipa::openapi::schema::Type::String)
                    .description(Some($what))
                    .enum_values(Some(Self::WORDS.iter().copied()))
                    .into()
            }
        }

        #[cfg(feature = "schema")]
        impl utoipa::ToSchema for $name {}
    };
}
pub(crate) use closed_list;

/// A word that is not in the closed list it was meant for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{found:?} is no {what}; take one of: {}", words.join(", "))]
pub struct NotInList {
    /// What the list names, such as "seat form".
    pub what: &'static str,
    /// The word as it was given.
    pub found: String,
    /// The words that would have been understood.
    pub words: &'static [&'static str],
}

closed_list! {
    /// Form of the sealing seat. Never interchangeable: the seal and the datum of the reach differ
    /// (ISO 28741 family).
    Seat, "seat form" {
        /// Flat, with a captive washer.
        Gasket = "gasket",
        /// Taper without washer.
        Conical = "conical",
    }
}

closed_list! {
    /// Shape of the spanner faces.
    HexKind, "kind of spanner faces" {
        /// Six faces.
        Hex = "hex",
        /// Twelve points.
        BiHex = "bi_hex",
    }
}

closed_list! {
    /// What is written between the whole and the part of a number.
    DecimalMark, "decimal mark" {
        /// 12.95
        Point = "point",
        /// 12,95
        Comma = "comma",
    }
}

closed_list! {
    /// Metal of the firing tip. Independent of the heat range.
    Electrode, "tip metal" {
        /// Nickel alloy over a copper core.
        Nickel = "nickel",
        /// Silver.
        Silver = "silver",
        /// Gold-palladium.
        GoldPalladium = "gold_palladium",
        /// Platinum centre tip.
        Platinum = "platinum",
        /// Platinum on centre and ground.
        DoublePlatinum = "double_platinum",
        /// Iridium centre tip.
        Iridium = "iridium",
        /// Ruthenium centre tip.
        Ruthenium = "ruthenium",
        /// Another metal.
        Other = "other",
    }
}

closed_list! {
    /// Form of the ground electrode.
    Ground, "ground electrode form" {
        /// One strap.
        SingleStrap = "single_strap",
        /// Two or more straps; the gap is fixed.
        MultiStrap = "multi_strap",
        /// Fine-wire strap.
        FineWire = "fine_wire",
        /// Annular surface gap; fixed.
        SurfaceGap = "surface_gap",
        /// Another form.
        Other = "other",
    }
}

closed_list! {
    /// Connection for the lead or coil boot.
    Terminal, "terminal form" {
        /// Bare M4 stud.
        StudM4 = "stud_m4",
        /// Nut that cannot be removed.
        SolidNut = "solid_nut",
        /// Nut screwed on a stud.
        RemovableNut = "removable_nut",
    }
}

closed_list! {
    /// Where a value of a record comes from.
    Provenance, "provenance" {
        /// The plug maker's data sheet: what counts where nothing is said.
        MakerSheet = "maker_sheet",
        /// Measured in the shop.
        Measured = "measured",
        /// A supplier's data feed.
        SupplierFeed = "supplier_feed",
        /// A guess: every test treats the value as unknown.
        Assumed = "assumed",
    }
}

closed_list! {
    /// Whether the maker still supplies a part. Old stock still fits.
    Status, "status of a part" {
        /// Supplied.
        Active = "active",
        /// No longer supplied.
        Discontinued = "discontinued",
    }
}

closed_list! {
    /// Derived from the projection with the policy's class limits; never stored.
    ProjectionClass, "projection class" {
        /// Behind the shell's end.
        Recessed = "recessed",
        /// At the shell's end.
        Flush = "flush",
        /// Beyond it.
        Projected = "projected",
        /// Far beyond it.
        Extended = "extended",
    }
}

closed_list! {
    /// How the engine is fed. Everything but `naturally_aspirated` counts as boosted.
    Induction, "kind of induction" {
        /// Atmospheric.
        NaturallyAspirated = "naturally_aspirated",
        /// Mechanical supercharger.
        Supercharged = "supercharged",
        /// Exhaust turbocharger.
        Turbocharged = "turbocharged",
        /// Nitrous oxide.
        Nitrous = "nitrous",
    }
}

closed_list! {
    /// What the car is driven for.
    Use, "use" {
        /// The road.
        Street = "street",
        /// Circuit.
        Track = "track",
        /// Drag strip.
        Strip = "strip",
    }
}

closed_list! {
    /// Fuel; gives cautions only.
    Fuel, "fuel" {
        /// Petrol from a filling station.
        PumpPetrol = "pump_petrol",
        /// Competition petrol.
        RacePetrol = "race_petrol",
        /// 85 % ethanol.
        E85 = "e85",
        /// Methanol.
        Methanol = "methanol",
    }
}

closed_list! {
    /// What a car carries that an unsuppressed spark disturbs.
    Electronics, "kind of electronics" {
        /// Electronic fuel injection.
        FuelInjection = "fuel_injection",
        /// Ignition without contact points.
        ElectronicIgnition = "electronic_ignition",
        /// Radio.
        Radio = "radio",
        /// Data logger.
        DataLogger = "data_logger",
        /// Wide-band lambda controller.
        Wideband = "wideband",
        /// Anything else that computes or receives.
        Other = "other",
    }
}

closed_list! {
    /// Material of a cylinder head.
    Material, "head material" {
        /// Aluminium alloy.
        Aluminium = "aluminium",
        /// Cast iron.
        Iron = "iron",
    }
}

closed_list! {
    /// What a token may do; each role holds the ones before it.
    Role, "role" {
        /// Look, match, ask.
        Reader = "reader",
        /// Builds, heads, reservations, issue to and scrap from a job.
        Tuner = "tuner",
        /// All other stock movements, catalogue, heat scales, imports.
        Clerk = "clerk",
        /// Reversals of scrap, tokens, policy.
        Manager = "manager",
    }
}
