//! The fields in which a build is described, each declared once.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::StockMode;
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{
    Electrode, Electronics, Fuel, Induction, Material, Seat, Terminal, Use,
};

/// What is chosen for a car without anything electronic; nothing chosen is unknown.
pub(super) const NOTHING_ELECTRONIC: &str = "none";

/// How a field is filled in, and what it means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    /// A number in a unit.
    Measured(&'static str),
    /// A whole number.
    Counted,
    /// One word of a list.
    One(&'static [&'static str]),
    /// Some words of a list.
    Several(&'static [&'static str]),
    /// Yes or no.
    Flag,
    /// A stored head.
    Head,
    /// A part, by number or barcode.
    Part,
}

/// A field; its name is that of the member.
#[derive(Debug, Clone, Copy)]
pub(super) struct Declared {
    pub name: &'static str,
    pub label: &'static str,
    pub form: Form,
    pub hint: &'static str,
    /// Whether the member is the head's.
    pub of_head: bool,
    pub needed: bool,
}

const fn of_head(
    name: &'static str,
    label: &'static str,
    form: Form,
    hint: &'static str,
) -> Declared {
    Declared {
        name,
        label,
        form,
        hint,
        of_head: true,
        needed: false,
    }
}

const fn of_engine(
    name: &'static str,
    label: &'static str,
    form: Form,
    hint: &'static str,
) -> Declared {
    Declared {
        name,
        label,
        form,
        hint,
        of_head: false,
        needed: false,
    }
}

const fn needed(declared: Declared) -> Declared {
    Declared {
        needed: true,
        ..declared
    }
}

use Form::{Counted, Flag, Measured, One, Several};

const STORED_HEAD: &[Declared] = &[of_engine(
    "head",
    "Stored head",
    Form::Head,
    "or describe it below",
)];

const HEAD: &[Declared] = &[
    of_head("thread", "Thread", One(Thread::WORDS), ""),
    of_head(
        "reach_mm",
        "Reach",
        Measured("mm"),
        "from the seat to the end of the thread",
    ),
    of_head("seat", "Seat", One(Seat::WORDS), ""),
    of_head(
        "heat_index",
        "Heat index it came with",
        Measured(""),
        "50 is a mid-range street plug, 10 more a step colder",
    ),
    of_head(
        "hex_max_mm",
        "Largest hex",
        Measured("mm"),
        "what the plug well takes",
    ),
    of_head(
        "projection_min_mm",
        "Projection from",
        Measured("mm"),
        "the window, by the head's maker",
    ),
    of_head("projection_max_mm", "Projection to", Measured("mm"), ""),
    of_head(
        "terminal",
        "Terminal",
        One(Terminal::WORDS),
        "what lead or boot ask for",
    ),
    of_head("material", "Material", One(Material::WORDS), ""),
    of_head(
        "reach_tolerance_mm",
        "Reach tolerance",
        Measured("mm"),
        "0.3 where left open",
    ),
    of_head("tight_gap", "Asks for a tight gap", Flag, ""),
];

const ENGINE: &[Declared] = &[
    needed(of_engine("cylinders", "Cylinders", Counted, "")),
    needed(of_engine(
        "induction",
        "Induction",
        One(Induction::WORDS),
        "",
    )),
    needed(of_engine("use", "Use", One(Use::WORDS), "")),
    of_engine("base_power_kw", "Power before", Measured("kW"), ""),
    of_engine("power_kw", "Power as built", Measured("kW"), ""),
    of_engine("base_boost_kpa", "Boost before", Measured("kPa"), ""),
    of_engine(
        "boost_kpa",
        "Boost as built",
        Measured("kPa"),
        "gauge, at full load",
    ),
    of_engine(
        "compression_ratio",
        "Compression ratio",
        Measured(""),
        "9.5 for 9.5 to 1",
    ),
    of_engine("coil_kv", "Coil", Measured("kV"), ""),
    of_engine("displacement_cc", "Displacement", Measured("cc"), ""),
    of_engine("fuel", "Fuel", One(Fuel::WORDS), ""),
    of_engine(
        "plugs_per_cylinder",
        "Plugs per cylinder",
        Counted,
        "1 where left open",
    ),
    of_engine(
        "base_plug",
        "Plug that was in",
        Form::Part,
        "part number or barcode; lends its heat where the head has none",
    ),
    of_engine(
        "electronics",
        "Electronics",
        Several(Electronics::WORDS),
        "tick none where nobody knows",
    ),
];

const FINER: &[Declared] = &[
    of_engine("stroke_mm", "Stroke", Measured("mm"), ""),
    of_engine(
        "rod_mm",
        "Connecting rod",
        Measured("mm"),
        "between centres",
    ),
    of_engine(
        "intake_close_deg_abdc",
        "Intake closes",
        Measured("°"),
        "after bottom dead centre",
    ),
    of_engine(
        "spark_advance_deg",
        "Spark",
        Measured("°"),
        "before top dead centre, at full load",
    ),
    of_engine(
        "charge_temp_c",
        "Charge",
        Measured("°C"),
        "at the intake valve",
    ),
    of_engine("altitude_m", "Altitude", Measured("m"), ""),
];

const GIVEN: &[Declared] = &[
    of_engine("heat_steps", "Heat steps colder", Counted, ""),
    of_engine("gap_mm", "Gap to set", Measured("mm"), ""),
    of_engine("spares", "Spares", Counted, ""),
    of_engine(
        "electrode",
        "Tip metals",
        Several(Electrode::WORDS),
        "nothing else will do",
    ),
];

/// How many plugs are wanted, which is no part of the build.
pub(super) const WANTED: &[Declared] = &[
    of_engine(
        "quantity",
        "Plugs",
        Counted,
        "the whole set where left open",
    ),
    of_engine("stock", "On the shelf", One(StockMode::WORDS), ""),
];

/// Fields that belong together: what they are about, a word of help, whether they are folded away.
pub(super) const GROUPS: &[(&str, &str, bool, &[Declared])] = &[
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

/// Every field.
pub(super) fn declared() -> impl Iterator<Item = &'static Declared> {
    GROUPS.iter().flat_map(|(.., fields)| *fields)
}

/// What people call a member of a build or an attribute of a plug.
pub(super) fn label(member: &str) -> String {
    let of_plug = member
        .parse::<Attr>()
        .ok()
        .map(|attr| attr.declared().label);
    let of_build = || declared().find(|d| d.name == member).map(|d| d.label);
    of_plug.or_else(of_build).unwrap_or(member).to_owned()
}
