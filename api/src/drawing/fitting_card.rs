//! The fitting card as a sheet for print: one page of HTML that needs nothing else.

use std::str::FromStr;

use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::conversion::{mm_to_thou, nm_to_lbf_ft};
use plugwell_domain::fitting::{GapAdvice, Turn, Washer};
use plugwell_domain::ledger::Condition;
use plugwell_domain::wording;
use plugwell_domain::words::NotInList;

use crate::service::fitting::{CardPick, FittingCard};
use crate::shown::{gap, in_short, instant, label, marked, short};

/// The one stylesheet of the card; it stands in it.
pub const STYLE: &str = concat!(
    include_str!("../../templates/sheet.css"),
    include_str!("../../templates/fitting_card.css")
);
/// Most lots that a card names; it is one page.
const LOTS: usize = 6;
/// Signs of body text that one page takes at its ordinary size, and at the one below it. Measured on paper:
/// own figures, on the safe side.
const ROOM: [f64; 2] = [1700.0, 2200.0];

/// Paper that a card is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 148 × 210 mm (ISO 216).
    #[default]
    A5,
    /// Half a letter sheet, 5.5 × 8.5 in.
    HalfLetter,
}

impl Paper {
    /// The words, in the order of the list.
    pub const WORDS: &'static [&'static str] = &["a5", "half_letter"];

    fn word(self) -> &'static str {
        Self::WORDS[self as usize]
    }
}

impl FromStr for Paper {
    type Err = NotInList;

    fn from_str(text: &str) -> Result<Self, NotInList> {
        [Self::A5, Self::HalfLetter]
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
#[template(path = "fitting_card.html")]
struct Sheet<'a> {
    style: &'static str,
    paper: &'static str,
    /// How small the letters are.
    much: &'static str,
    card: &'a FittingCard,
    /// Why there is no gap to work with; it stands above everything else.
    first: Vec<String>,
    /// How the gap is set; empty where it is said above everything else.
    how: String,
    name: &'a str,
    part: String,
    part_in_short: String,
    made: String,
    quantity: (u32, String),
    gap: (String, String),
    torque: (String, String),
    turns: Vec<String>,
    picks: Vec<String>,
    /// Lots that found no room.
    more_lots: Option<String>,
    /// Plugs that are not there.
    short_of: i64,
    unconfirmed: String,
    unanswered: Vec<(String, String)>,
    /// On lubricated threads.
    lubricated: &'static str,
    cautions: Vec<String>,
}

/// Writes the card on paper.
///
/// # Errors
/// Where the template cannot be filled in.
pub fn fitting_card(card: &FittingCard, paper: Paper) -> Result<String, askama::Error> {
    let data = &card.plug.data;
    let total = card.quantity.total.unwrap_or_default();
    let there: i64 = card.picks.iter().map(|pick| pick.quantity).sum();
    // These two stand where they are needed.
    let mut elsewhere = vec![CautionCode::HowToGap, CautionCode::LubricatedThreads];
    elsewhere.extend(no_gap_codes(card));
    let cautions = card
        .cautions
        .iter()
        .filter(|c| !elsewhere.contains(&c.code));
    let first = no_gap(card);
    let unconfirmed = card.unconfirmed.iter().map(|attr| said(*attr));
    let picks: Vec<String> = card.picks.iter().take(LOTS).map(pick_told).collect();
    let cautions: Vec<&str> = cautions.map(|c| c.text.as_str()).collect();
    Sheet {
        style: STYLE,
        much: much(card, &picks, &cautions, &first),
        paper: paper.word(),
        card,
        how: match first.contains(&card.gap.how.as_str()) {
            true => String::new(),
            false => marked(card.gap.how.clone()),
        },
        first: first.into_iter().map(marked).collect(),
        name: card.build.name.as_deref().unwrap_or("Build without a name"),
        part: format!("{} {}", data.maker, data.part_number),
        part_in_short: in_short(data),
        made: instant(card.made_at),
        quantity: (total, counted(card)),
        gap: gap_told(card),
        torque: torque_told(card),
        turns: card.turns.iter().map(turn_told).collect(),
        picks: picks.into_iter().map(marked).collect(),
        more_lots: Some(card.picks.len().saturating_sub(LOTS))
            .filter(|more| *more > 0)
            .map(|more| wording::counted(more, "more lot")),
        short_of: (i64::from(total) - there).max(0),
        unconfirmed: unconfirmed.collect::<Vec<_>>().join(", "),
        unanswered: card
            .unanswered
            .iter()
            .map(|open| {
                (
                    label(&open.attribute).replace('_', " "),
                    marked(open.ask.clone()),
                )
            })
            .collect(),
        lubricated: CautionCode::LubricatedThreads.sentence(),
        cautions: cautions.into_iter().map(marked).collect(),
    }
    .render()
}

/// How small the letters have to be for all of it to be one page.
fn much(card: &FittingCard, picks: &[String], cautions: &[&str], first: &[&str]) -> &'static str {
    let signs = |text: &str| text.chars().count() as f64;
    let data = &card.plug.data;
    // Larger letters take more room, in both directions; a line that is begun is taken.
    let heads = 3.0 * signs(&data.maker)
        + 3.0 * signs(&data.part_number)
        + 2.5 * signs(card.build.name.as_deref().unwrap_or_default());
    let job = card.reservation.as_ref().map_or(0.0, |r| signs(&r.job));
    let lines = |text: &str, per_line: f64| (signs(text) / per_line).ceil() * per_line;
    let taken: f64 = picks.iter().map(|pick| lines(pick, 80.0)).sum();
    let asked: f64 = card
        .unanswered
        .iter()
        .map(|open| lines(&open.ask, 95.0))
        .sum();
    let beware: f64 = cautions.iter().map(|text| lines(text, 45.0)).sum();
    let above: f64 = first.iter().map(|text| lines(text, 85.0)).sum();
    let text = 500.0 + above + job + signs(&card.gap.how) + heads + taken + 0.8 * (asked + beware);
    match text {
        text if text <= ROOM[0] => "",
        text if text <= ROOM[1] => "much",
        _ => "most",
    }
}

fn said(attr: Attr) -> String {
    attr.declared().label.to_lowercase()
}

fn counted(card: &FittingCard) -> String {
    let quantity = &card.quantity;
    let spares = match quantity.spares {
        Some(0) | None => "no spare".to_owned(),
        Some(1) => "1 spare".to_owned(),
        Some(spares) => format!("{spares} spares"),
    };
    format!("{} fitted, {spares}", quantity.fitted.unwrap_or_default())
}

fn gap_told(card: &FittingCard) -> (String, String) {
    let tolerance = card.gap.tolerance_mm;
    let alike = marked(format!(
        "all alike within ± {tolerance} mm (± {:.0} thou)",
        mm_to_thou(tolerance.get())
    ));
    let (told, hint) = match (card.gap.advice, card.gap.set_mm) {
        (_, Some(set)) => return (gap(set), alike),
        (GapAdvice::Keep, None) => return ("leave as it came".to_owned(), alike),
        (GapAdvice::CoilTooWeak, None) => ("COIL TOO WEAK", "no gap of this plug always fires"),
        (GapAdvice::Set | GapAdvice::Unknown, None) => ("NOT KNOWN", "do not guess it: ask first"),
    };
    (told.to_owned(), hint.to_owned())
}

/// The cautions that say why there is no gap to work with.
fn no_gap_codes(card: &FittingCard) -> &'static [CautionCode] {
    match card.gap.advice {
        GapAdvice::CoilTooWeak => &[CautionCode::CoilTooWeak, CautionCode::GapOutOfRange],
        GapAdvice::Set | GapAdvice::Keep | GapAdvice::Unknown => &[],
    }
}

/// Why there is no gap to work with: what was found, or else that it has to be asked for.
fn no_gap(card: &FittingCard) -> Vec<&str> {
    let codes = no_gap_codes(card);
    let why = card.cautions.iter().filter(|c| codes.contains(&c.code));
    match card.gap.advice {
        GapAdvice::Set | GapAdvice::Keep => Vec::new(),
        GapAdvice::CoilTooWeak => why.map(|c| c.text.as_str()).collect(),
        GapAdvice::Unknown => vec![card.gap.how.as_str()],
    }
}

fn torque_told(card: &FittingCard) -> (String, String) {
    let Some(torque) = &card.torque_nm else {
        let ask = "no figure for this thread, seat and head: ask the plug's maker";
        return ("ask".to_owned(), ask.to_owned());
    };
    let range = |from: &str, to: &str| {
        if from == to {
            from.to_owned()
        } else {
            format!("{from} to {to}")
        }
    };
    let [min, max] = [torque.min, torque.max];
    let foot = [min, max].map(|nm| format!("{:.0}", nm_to_lbf_ft(nm)));
    (
        format!("{} N·m", range(&short(min), &short(max))),
        marked(format!(
            "{} lbf·ft, dry threads; {}",
            range(&foot[0], &foot[1]),
            torque.source
        )),
    )
}

/// `1/2 to 2/3 turn with a new washer, 180 to 240°`.
fn turn_told(turn: &Turn) -> String {
    let [least, most] = turn.turn_deg;
    let (turns, degrees) = if least == most {
        (of_a_turn(least), short(least))
    } else {
        (
            format!("{} to {}", of_a_turn(least), of_a_turn(most)),
            format!("{} to {}", short(least), short(most)),
        )
    };
    let washer = match turn.washer {
        Some(Washer::New) => "new washer: ",
        Some(Washer::Reused) => "used washer: ",
        None => "",
    };
    format!("{washer}{turns} turn ({degrees}°)")
}

/// Degrees as the smallest fraction of a turn.
fn of_a_turn(degrees: f64) -> String {
    let whole = |of: &u32| (degrees / 360.0 * f64::from(*of)).fract().abs() < 1e-9;
    match (1..=16).find(whole) {
        Some(of) => format!("{}/{of}", (degrees / 360.0 * f64::from(of)).round()),
        None => format!("{:.2}", degrees / 360.0),
    }
}

fn pick_told(pick: &CardPick) -> String {
    let gapped = match (pick.condition, pick.gap_mm) {
        (Condition::Gapped, Some(gap)) => format!(", gapped to {gap} mm already: check"),
        _ => String::new(),
    };
    format!(
        "{} from {}, lot {}{gapped}",
        pick.quantity, pick.place_name, pick.lot_code
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_told_as_mechanics_say_them() {
        for (degrees, said) in [
            (180.0, "1/2"),
            (240.0, "2/3"),
            (30.0, "1/12"),
            (22.5, "1/16"),
        ] {
            assert_eq!(of_a_turn(degrees), said);
        }
    }

    #[test]
    fn papers_are_a_closed_list() {
        assert_eq!("a5".parse(), Ok(Paper::A5));
        assert_eq!("half_letter".parse(), Ok(Paper::HalfLetter));
        assert!("a4".parse::<Paper>().is_err());
    }

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }
}
