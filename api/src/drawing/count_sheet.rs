//! The count sheet: which lots to look for in which bin, with room for the number, on paper and on a
//! phone. It is blind: it says nowhere how many there should be.

use std::str::FromStr;

use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::ledger::Condition;
use plugwell_domain::words::NotInList;

use crate::service::counts::{CountSheet, SheetBin, SheetLine};
use crate::shown::{day, gap, instant, short};

/// The one stylesheet of the sheet; it stands in it.
pub const STYLE: &str = concat!(
    include_str!("../../templates/sheet.css"),
    include_str!("../../templates/count_sheet.css")
);

/// Paper that a count sheet is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CountPaper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl CountPaper {
    /// The words, in the order of the list.
    pub const WORDS: &'static [&'static str] = &["a4", "letter"];

    fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }
}

impl FromStr for CountPaper {
    type Err = NotInList;

    fn from_str(text: &str) -> Result<Self, NotInList> {
        [Self::A4, Self::Letter]
            .into_iter()
            .find(|paper| paper.word() == text)
            .ok_or_else(|| NotInList {
                what: "paper",
                found: text.to_owned(),
                words: Self::WORDS,
            })
    }
}

#[derive(Template)]
#[template(path = "count_sheet.html")]
struct Page<'a> {
    style: &'static str,
    paper: &'static str,
    title: &'static str,
    begun: String,
    made: String,
    /// That the count is over; empty while it is not.
    closed: String,
    id: String,
    bins: Vec<BinOnPaper<'a>>,
}

struct BinOnPaper<'a> {
    code: &'a str,
    name: &'a str,
    lines: Vec<LineOnPaper<'a>>,
    /// Rows for lots that the sheet lacks.
    blanks: usize,
}

struct LineOnPaper<'a> {
    lot: &'a str,
    part: String,
    told: String,
}

/// Writes the sheet.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn count_sheet(sheet: &CountSheet, paper: CountPaper) -> Result<String, askama::Error> {
    let closed = if sheet.state.is_closed() {
        format!(
            "This count was {}: nothing is counted with this sheet any more.",
            sheet.state
        )
    } else {
        String::new()
    };
    Page {
        style: STYLE,
        paper: paper.word(),
        title: if sheet.recount {
            "Recount sheet"
        } else {
            "Count sheet"
        },
        begun: instant(sheet.begun_at),
        made: instant(sheet.made_at),
        closed,
        id: sheet.count_id.to_string(),
        bins: sheet
            .bins
            .iter()
            .map(|bin| on_paper(bin, sheet.recount))
            .collect(),
    }
    .render()
}

fn on_paper(bin: &SheetBin, recount: bool) -> BinOnPaper<'_> {
    BinOnPaper {
        code: &bin.code,
        name: &bin.name,
        lines: bin.lines.iter().map(line_on_paper).collect(),
        blanks: if recount { 0 } else { 2 },
    }
}

fn line_on_paper(line: &SheetLine) -> LineOnPaper<'_> {
    let data = &line.plug.data;
    let gapped = match (line.lot.condition, line.lot.gap_mm) {
        (Condition::Gapped, Some(mm)) => format!("gapped to {} · ", gap(mm)),
        (Condition::Gapped, None) => "gapped · ".to_owned(),
        (Condition::Sealed, _) => String::new(),
    };
    // What is seen on a plug and on its box; the rest of the record only takes room.
    let shape = [Attr::Thread, Attr::Reach, Attr::Seat].map(|attr| {
        let known = data.facts.get(attr).map(|raw| attr.to_json(raw))?;
        Some(match attr {
            Attr::Reach => format!("{} mm", short(known.as_f64()?)),
            _ => known.as_str()?.to_owned(),
        })
    });
    let shape: Vec<String> = shape.into_iter().flatten().collect();
    let received = day(line.lot.received_at);
    LineOnPaper {
        lot: &line.lot.code,
        part: format!("{} {}", data.maker, data.part_number),
        told: format!(
            "{gapped}{} · {received}, {}",
            shape.join(" · "),
            line.lot.supplier
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn papers_are_a_closed_list() {
        assert_eq!("a4".parse(), Ok(CountPaper::A4));
        assert_eq!("letter".parse(), Ok(CountPaper::Letter));
        assert!("a5".parse::<CountPaper>().is_err());
    }

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }
}
