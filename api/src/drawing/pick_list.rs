//! The pick list as a sheet for print: a row for each lot and bin, in the order of the bins.

use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fitting::GapAdvice;
use plugwell_domain::ledger::Condition;
use plugwell_domain::wording::counted;

use crate::service::pick_list::{PickLine, PickList, PickPart};
use crate::shown::{gap, instant, marked};

/// The one stylesheet of the list; it stands in it.
pub const STYLE: &str = concat!(
    include_str!("../../templates/sheet.css"),
    include_str!("../../templates/pick_list.css")
);

/// A row of the table.
struct Row<'a> {
    line: &'a PickLine,
    part: String,
    /// The gap to set.
    gap: String,
    /// What is to be looked at with this lot.
    note: String,
}

/// A part, below the table.
struct Told {
    name: String,
    /// Which build, how many, until when.
    what: String,
    how: String,
    /// What stands against it, or is missing.
    beware: Vec<String>,
}

#[derive(Template)]
#[template(path = "pick_list.html")]
struct Sheet<'a> {
    style: &'static str,
    list: &'a PickList,
    made: String,
    rows: Vec<Row<'a>>,
    in_short: String,
    parts: Vec<Told>,
    cautions: Vec<String>,
}

/// Writes the list on paper.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn sheet(list: &PickList) -> Result<String, askama::Error> {
    // How to gap stands with each part.
    let cautions = list.cautions.iter();
    let cautions = cautions.filter(|c| c.code != CautionCode::HowToGap);
    let total: i64 = list.lines.iter().map(|line| line.quantity).sum();
    let (plugs, lines) = (counted(total, "plug"), counted(list.lines.len(), "row"));
    Sheet {
        style: STYLE,
        list,
        made: instant(list.made_at),
        rows: list.lines.iter().map(row).collect(),
        in_short: format!("{plugs} in {lines}"),
        parts: list.parts.iter().map(told).collect(),
        cautions: cautions.map(|c| marked(c.text.as_str())).collect(),
    }
    .render()
}

fn row(line: &PickLine) -> Row<'_> {
    let note = match (line.condition, line.gap_mm) {
        (Condition::Gapped, Some(has)) => marked(format!("gapped to {has} mm already: check")),
        _ => String::new(),
    };
    Row {
        part: format!("{} {}", line.maker, line.part_number),
        gap: match (line.set_gap_mm, line.advice) {
            (Some(set), _) => gap(set),
            (None, GapAdvice::Keep) => "as it came".to_owned(),
            (None, GapAdvice::CoilTooWeak) => "COIL TOO WEAK".to_owned(),
            (None, GapAdvice::Set | GapAdvice::Unknown) => "NOT KNOWN".to_owned(),
        },
        note,
        line,
    }
}

fn told(part: &PickPart) -> Told {
    let mut what = vec![format!("{} wanted", part.quantity)];
    what.extend(part.build_name.clone());
    what.extend(
        part.expires_at
            .map(|at| format!("kept until {}", instant(at))),
    );
    if part.reservation_id.is_none() {
        what.push("not reserved: what a match picks".to_owned());
    }
    let mut beware = Vec::new();
    if part.missing > 0 {
        beware.push(short(part));
    }
    if part.fits == Some(false) {
        beware.push(format!(
            "Does not fit the build: {}.",
            part.fails.join("; ")
        ));
    }
    if !part.unconfirmed.is_empty() {
        let open = part.unconfirmed.iter().map(|attr| said(*attr));
        let open = open.collect::<Vec<_>>().join(", ");
        beware.push(format!(
            "Fits as far as known: nobody has confirmed {open}."
        ));
    }
    Told {
        name: format!("{} {}", part.maker, part.part_number),
        what: what.join(" · "),
        how: marked(part.how.clone()),
        beware: beware.into_iter().map(marked).collect(),
    }
}

fn said(attr: Attr) -> String {
    attr.declared().label.to_lowercase()
}

fn short(part: &PickPart) -> String {
    let equal = part.equivalents.iter().map(|p| {
        format!(
            "{} {} ({}, {})",
            p.maker, p.part_number, p.available, p.grade
        )
    });
    let equal = equal.collect::<Vec<_>>().join(", ");
    let instead = if equal.is_empty() {
        "nothing that is known to be equal lies on the shelf".to_owned()
    } else {
        format!("equal to it and on the shelf: {equal}")
    };
    format!(
        "{} of {} are not there; {instead}.",
        part.missing, part.quantity
    )
}

#[cfg(test)]
mod tests {
    use super::STYLE;

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }
}
