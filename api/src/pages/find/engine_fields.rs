//! The fields in which a build is described, each declared once.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::StockMode;
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{
    Electrode, Electronics, Fuel, Induction, Material, Seat, Terminal, Use,
};

/// What is chosen for a car without anything electronic; nothing chosen is unknown.
pub(in crate::pages) const NOTHING_ELECTRONIC: &str = "none";

use crate::pages::form::{Declared, Form, Stored, field, needed};
use Form::{Counted, Flag, Measured, One, Several};

const STORED_HEAD: &[Declared] = &[field(
    "head",
    "find-stored-head",
    Form::Stored(Stored::Head),
    "find-stored-head-hint",
)];

/// What a head takes.
pub(in crate::pages) const HEAD: &[Declared] = &[
    field("thread", "find-thread", One(Thread::WORDS), ""),
    field("reach_mm", "find-reach", Measured("mm"), "find-reach-hint"),
    field("seat", "find-seat", One(Seat::WORDS), ""),
    field(
        "heat_index",
        "find-heat-index-it-came-with",
        Measured(""),
        "find-heat-index-it-came-with-hint",
    ),
    field(
        "hex_max_mm",
        "find-largest-hex",
        Measured("mm"),
        "find-largest-hex-hint",
    ),
    field(
        "projection_min_mm",
        "find-projection-from",
        Measured("mm"),
        "find-projection-from-hint",
    ),
    field(
        "projection_max_mm",
        "find-projection-to",
        Measured("mm"),
        "",
    ),
    field(
        "terminal",
        "find-terminal",
        One(Terminal::WORDS),
        "find-terminal-hint",
    ),
    field("material", "find-material", One(Material::WORDS), ""),
    field(
        "reach_tolerance_mm",
        "find-reach-tolerance",
        Measured("mm"),
        "find-reach-tolerance-hint",
    ),
    field("tight_gap", "find-asks-for-a-tight-gap", Flag, ""),
];

const ENGINE: &[Declared] = &[
    needed(field("cylinders", "find-cylinders", Counted(""), "")),
    needed(field(
        "induction",
        "find-induction",
        One(Induction::WORDS),
        "",
    )),
    needed(field("use", "find-use", One(Use::WORDS), "")),
    field("base_power_kw", "find-power-before", Measured("kW"), ""),
    field("power_kw", "find-power-as-built", Measured("kW"), ""),
    field("base_boost_kpa", "find-boost-before", Measured("kPa"), ""),
    field(
        "boost_kpa",
        "find-boost-as-built",
        Measured("kPa"),
        "find-boost-as-built-hint",
    ),
    field(
        "compression_ratio",
        "find-compression-ratio",
        Measured(""),
        "find-compression-ratio-hint",
    ),
    field("coil_kv", "find-coil", Measured("kV"), ""),
    field("displacement_cc", "find-displacement", Measured("cc"), ""),
    field("fuel", "find-fuel", One(Fuel::WORDS), ""),
    field(
        "plugs_per_cylinder",
        "find-plugs-per-cylinder",
        Counted(""),
        "find-plugs-per-cylinder-hint",
    ),
    field(
        "base_plug",
        "find-plug-that-was-in",
        Form::Part,
        "find-plug-that-was-in-hint",
    ),
    field(
        "electronics",
        "find-electronics",
        Several(Electronics::WORDS),
        "find-electronics-hint",
    ),
];

const FINER: &[Declared] = &[
    field("stroke_mm", "find-stroke", Measured("mm"), ""),
    field(
        "rod_mm",
        "find-connecting-rod",
        Measured("mm"),
        "find-connecting-rod-hint",
    ),
    field(
        "intake_close_deg_abdc",
        "find-intake-closes",
        Measured("°"),
        "find-intake-closes-hint",
    ),
    field(
        "spark_advance_deg",
        "find-spark",
        Measured("°"),
        "find-spark-hint",
    ),
    field(
        "charge_temp_c",
        "find-charge",
        Measured("°C"),
        "find-charge-hint",
    ),
    field("altitude_m", "find-altitude", Measured("m"), ""),
];

const GIVEN: &[Declared] = &[
    field("heat_steps", "find-heat-steps-colder", Counted(""), ""),
    field("gap_mm", "find-gap-to-set", Measured("mm"), ""),
    field("spares", "find-spares", Counted(""), ""),
    field(
        "electrode",
        "find-tip-metals",
        Several(Electrode::WORDS),
        "find-tip-metals-hint",
    ),
];

/// How many plugs are wanted, which is no part of the build.
pub(in crate::pages) const WANTED: &[Declared] = &[
    field("quantity", "find-plugs", Counted(""), "find-plugs-hint"),
    field("stock", "find-on-the-shelf", One(StockMode::WORDS), ""),
];

/// Fields that belong together: what they are about, a word of help, whether they are folded away.
pub(in crate::pages) const GROUPS: &[(&str, &str, bool, &[Declared])] = &[
    ("find-cylinder-head", "", false, STORED_HEAD),
    (
        "find-head-not-stored",
        "find-thread-reach-seat-needed-then",
        true,
        HEAD,
    ),
    ("find-engine-as-built", "", false, ENGINE),
    (
        "find-finer-figures",
        "find-assumed-where-left-open-said",
        true,
        FINER,
    ),
    (
        "find-the-makers-word",
        "find-kit-plug-maker-say-stands",
        true,
        GIVEN,
    ),
    ("find-how-many", "", false, WANTED),
];

/// Whether the member that a field fills is the head's.
pub(in crate::pages) fn is_of_head(declared: &Declared) -> bool {
    HEAD.iter().any(|one| one.name == declared.name)
}

/// Every field.
pub(in crate::pages) fn declared() -> impl Iterator<Item = &'static Declared> {
    GROUPS.iter().flat_map(|(.., fields)| *fields)
}

/// What people call a member of a build or an attribute of a plug.
pub(in crate::pages) fn label(member: &str) -> String {
    let of_plug = member
        .parse::<Attr>()
        .ok()
        .map(|attr| attr.declared().label);
    let of_build = || declared().find(|d| d.name == member).map(|d| d.label.say());
    of_plug.or_else(of_build).unwrap_or(member).to_owned()
}
