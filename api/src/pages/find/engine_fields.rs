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
    "Stored head",
    Form::Stored(Stored::Head),
    "or describe it below",
)];

/// What a head takes.
pub(in crate::pages) const HEAD: &[Declared] = &[
    field("thread", "Thread", One(Thread::WORDS), ""),
    field(
        "reach_mm",
        "Reach",
        Measured("mm"),
        "from the seat to the end of the thread",
    ),
    field("seat", "Seat", One(Seat::WORDS), ""),
    field(
        "heat_index",
        "Heat index it came with",
        Measured(""),
        "50 is a mid-range street plug, 10 more a step colder",
    ),
    field(
        "hex_max_mm",
        "Largest hex",
        Measured("mm"),
        "what the plug well takes",
    ),
    field(
        "projection_min_mm",
        "Projection from",
        Measured("mm"),
        "the window, by the head's maker",
    ),
    field("projection_max_mm", "Projection to", Measured("mm"), ""),
    field(
        "terminal",
        "Terminal",
        One(Terminal::WORDS),
        "what lead or boot ask for",
    ),
    field("material", "Material", One(Material::WORDS), ""),
    field(
        "reach_tolerance_mm",
        "Reach tolerance",
        Measured("mm"),
        "0.3 where left open",
    ),
    field("tight_gap", "Asks for a tight gap", Flag, ""),
];

const ENGINE: &[Declared] = &[
    needed(field("cylinders", "Cylinders", Counted(""), "")),
    needed(field("induction", "Induction", One(Induction::WORDS), "")),
    needed(field("use", "Use", One(Use::WORDS), "")),
    field("base_power_kw", "Power before", Measured("kW"), ""),
    field("power_kw", "Power as built", Measured("kW"), ""),
    field("base_boost_kpa", "Boost before", Measured("kPa"), ""),
    field(
        "boost_kpa",
        "Boost as built",
        Measured("kPa"),
        "gauge, at full load",
    ),
    field(
        "compression_ratio",
        "Compression ratio",
        Measured(""),
        "9.5 for 9.5 to 1",
    ),
    field("coil_kv", "Coil", Measured("kV"), ""),
    field("displacement_cc", "Displacement", Measured("cc"), ""),
    field("fuel", "Fuel", One(Fuel::WORDS), ""),
    field(
        "plugs_per_cylinder",
        "Plugs per cylinder",
        Counted(""),
        "1 where left open",
    ),
    field(
        "base_plug",
        "Plug that was in",
        Form::Part,
        "part number or barcode; lends its heat where the head has none",
    ),
    field(
        "electronics",
        "Electronics",
        Several(Electronics::WORDS),
        "tick none where nobody knows",
    ),
];

const FINER: &[Declared] = &[
    field("stroke_mm", "Stroke", Measured("mm"), ""),
    field(
        "rod_mm",
        "Connecting rod",
        Measured("mm"),
        "between centres",
    ),
    field(
        "intake_close_deg_abdc",
        "Intake closes",
        Measured("°"),
        "after bottom dead centre",
    ),
    field(
        "spark_advance_deg",
        "Spark",
        Measured("°"),
        "before top dead centre, at full load",
    ),
    field(
        "charge_temp_c",
        "Charge",
        Measured("°C"),
        "at the intake valve",
    ),
    field("altitude_m", "Altitude", Measured("m"), ""),
];

const GIVEN: &[Declared] = &[
    field("heat_steps", "Heat steps colder", Counted(""), ""),
    field("gap_mm", "Gap to set", Measured("mm"), ""),
    field("spares", "Spares", Counted(""), ""),
    field(
        "electrode",
        "Tip metals",
        Several(Electrode::WORDS),
        "nothing else will do",
    ),
];

/// How many plugs are wanted, which is no part of the build.
pub(in crate::pages) const WANTED: &[Declared] = &[
    field(
        "quantity",
        "Plugs",
        Counted(""),
        "the whole set where left open",
    ),
    field("stock", "On the shelf", One(StockMode::WORDS), ""),
];

/// Fields that belong together: what they are about, a word of help, whether they are folded away.
pub(in crate::pages) const GROUPS: &[(&str, &str, bool, &[Declared])] = &[
    ("Cylinder head", "", false, STORED_HEAD),
    (
        "A head that is not stored",
        "Thread, reach and seat are needed then, and the heat index or the plug that was in.",
        true,
        HEAD,
    ),
    ("Engine as built", "", false, ENGINE),
    (
        "Finer figures",
        "Assumed where left open, and said so.",
        true,
        FINER,
    ),
    (
        "The makers' word",
        "What kit or plug maker say stands above the rules.",
        true,
        GIVEN,
    ),
    ("How many", "", false, WANTED),
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
    let of_build = || declared().find(|d| d.name == member).map(|d| d.label);
    of_plug.or_else(of_build).unwrap_or(member).to_owned()
}
