//! How a plug lies in a head, in words with the figure.

use serde::Serialize;

use super::section::HeadMeasures;
use crate::attribute::Attr;
use crate::decimal::{Decimal, Length};
use crate::fit::{Verdict, judge};
use crate::plug::{PlugData, Shows};
use crate::requirement::{Requirement, Strength, Test};
use crate::thread::Thread;
use crate::words::{Seat, closed_list};

closed_list! {
    /// How a plug lies in a head; what rules it out stands first.
    SectionCode, "section code" {
        /// Another thread than the hole's.
        ThreadDiffers = "thread_differs",
        /// Another seat than the hole's.
        SeatDiffers = "seat_differs",
        /// The head's thread is left bare.
        TooShort = "too_short",
        /// The plug's thread stands into the chamber.
        TooLong = "too_long",
        /// The hexagon does not enter the well.
        HexTooLarge = "hex_too_large",
        /// The spark stands behind the window.
        Shrouded = "shrouded",
        /// The spark stands beyond the window.
        Protrudes = "protrudes",
        /// Nobody has established it of the plug.
        PlugUnknown = "plug_unknown",
        /// Nobody has established it of the head.
        HeadUnknown = "head_unknown",
        /// As the head wants it.
        Within = "within",
    }
}

impl SectionCode {
    /// Whether it rules the plug out.
    pub fn rules_out(self) -> bool {
        self < Self::PlugUnknown
    }
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SectionFinding {
    /// Which.
    pub code: SectionCode,
    /// With the figure.
    pub text: String,
}

fn finding(code: SectionCode, text: impl Into<String>) -> SectionFinding {
    SectionFinding {
        code,
        text: text.into(),
    }
}

/// How a plug lies in a head; without one only what is not known of the head.
pub(super) fn found(
    head: &HeadMeasures,
    needed: &Requirement,
    plug: Option<&PlugData>,
) -> Vec<SectionFinding> {
    let mut found: Vec<SectionFinding> = not_known(head).collect();
    if let Some(plug) = plug {
        let of = |attr| of_attribute(attr, head, needed, plug);
        let attrs = [Attr::Thread, Attr::Seat, Attr::Reach, Attr::Hex];
        found.extend(attrs.into_iter().filter_map(of));
        let mut codes = found.iter().map(|finding| finding.code);
        let off = codes.find(|code| matches!(code, SectionCode::TooShort | SectionCode::TooLong));
        // Beside a wrong reach it is not told how the spark would stand with the right one.
        let spark = off.and_then(|code| spark_elsewhere(head, code, plug));
        found.extend(spark.or_else(|| of(Attr::Projection)));
    }
    found.sort_by_key(|finding| finding.code);
    found
}

/// What nobody has established of the head.
fn not_known(head: &HeadMeasures) -> impl Iterator<Item = SectionFinding> {
    let hex = head.hex_max_mm.is_none().then_some(
        "How large a hexagon the plug well takes is not known: see that plug and spanner enter.",
    );
    let window = match head.window_mm.map(|end| end.is_some()) {
        [true, true] => None,
        [false, false] => Some(
            "Between which projections the spark has to stand is not known: ask the head's maker.",
        ),
        [false, true] => {
            Some("Where the window of projection begins is not known: ask the head's maker.")
        }
        [true, false] => {
            Some("Where the window of projection ends is not known: ask the head's maker.")
        }
    };
    let told = [hex, window].into_iter().flatten();
    told.map(|text| finding(SectionCode::HeadUnknown, text))
}

fn of_attribute(
    attr: Attr,
    head: &HeadMeasures,
    needed: &Requirement,
    plug: &PlugData,
) -> Option<SectionFinding> {
    let raw = plug.shown(attr);
    let demand = needed.demand(attr, Strength::Must);
    let Some(raw) = raw else {
        let name = attr.declared().label.to_lowercase();
        let never = match demand {
            Some(_) => ", never taken for fit",
            None => "",
        };
        let text = format!("The plug's {name} is not known: it is drawn as usual{never}.");
        return Some(finding(SectionCode::PlugUnknown, text));
    };
    let demand = demand?;
    let meets = judge(demand, Some(raw)) == Verdict::Meets;
    Some(match attr {
        Attr::Thread => thread(head, raw, meets),
        Attr::Seat => seat(head, raw, meets),
        Attr::Reach => reach(head, raw, meets),
        Attr::Hex => hex(head, raw, meets),
        _ => projection(&demand.test, raw),
    })
}

fn thread(head: &HeadMeasures, raw: i64, meets: bool) -> SectionFinding {
    let own = Thread::at(raw).map_or("", Thread::word);
    if meets {
        return finding(SectionCode::Within, format!("Thread {own}, as the hole."));
    }
    let text = format!("Thread {own} in a hole of {}: never fit it.", head.thread);
    finding(SectionCode::ThreadDiffers, text)
}

fn seat(head: &HeadMeasures, raw: i64, meets: bool) -> SectionFinding {
    let own = Seat::at(raw).map_or("", Seat::word);
    if meets {
        return finding(SectionCode::Within, format!("Seat {own}, as the head's."));
    }
    let text = format!(
        "A {own} seat in a head cut for a {} one: it does not seal, and the reach counts from elsewhere. Never fit it.",
        head.seat
    );
    finding(SectionCode::SeatDiffers, text)
}

fn reach(head: &HeadMeasures, raw: i64, meets: bool) -> SectionFinding {
    let more = raw - head.reach_mm.0;
    let mm: Length = Decimal(more.abs());
    if meets {
        let text = match more {
            0 => format!("Reach {} mm, as deep as the head's thread.", head.reach_mm),
            _ => format!(
                "Reach {} mm, {mm} mm {} than the head's thread: within its ± {} mm.",
                Decimal::<4>(raw),
                if more > 0 { "longer" } else { "shorter" },
                head.tolerance_mm
            ),
        };
        return finding(SectionCode::Within, text);
    }
    if more > 0 {
        let text = format!(
            "{mm} mm too long: {mm} mm of thread stands into the chamber, where it glows and piston or valve may meet it. Never fit it."
        );
        return finding(SectionCode::TooLong, text);
    }
    let text = format!(
        "{mm} mm too short: {mm} mm of the head's thread is left bare and collects carbon. Never fit it."
    );
    finding(SectionCode::TooShort, text)
}

fn hex(head: &HeadMeasures, raw: i64, meets: bool) -> SectionFinding {
    let own: Length = Decimal(raw);
    let max = head.hex_max_mm.unwrap_or_default();
    if meets {
        let text = format!("Hexagon {own} mm, the well takes {max} mm.");
        return finding(SectionCode::Within, text);
    }
    let over: Length = Decimal(raw - max.0);
    let text = format!(
        "The hexagon is {over} mm too large across flats: {own} mm, the well takes {max} mm."
    );
    finding(SectionCode::HexTooLarge, text)
}

fn projection(test: &Test, raw: i64) -> SectionFinding {
    let own: Length = Decimal(raw);
    let Test::Range { min, max } = test else {
        return finding(SectionCode::Within, format!("Projection {own} mm."));
    };
    if let Some(min) = min.filter(|min| raw < *min) {
        let (behind, min): (Length, Length) = (Decimal(min - raw), Decimal(min));
        let text = format!(
            "Shrouded by {behind} mm: projection {own} mm, the window begins at {min} mm. Behind it the plug fouls and misfires."
        );
        return finding(SectionCode::Shrouded, text);
    }
    if let Some(max) = max.filter(|max| raw > *max) {
        let (beyond, max): (Length, Length) = (Decimal(raw - max), Decimal(max));
        let text = format!(
            "{beyond} mm beyond the window: projection {own} mm, the window ends at {max} mm. Piston or valve may meet the tip."
        );
        return finding(SectionCode::Protrudes, text);
    }
    let text = if min.is_some() && max.is_some() {
        format!("Projection {own} mm, inside the window.")
    } else {
        format!("Projection {own} mm, inside the window as far as it is known.")
    };
    finding(SectionCode::Within, text)
}

/// With a wrong reach the spark stands elsewhere than its projection says.
fn spark_elsewhere(
    head: &HeadMeasures,
    code: SectionCode,
    plug: &PlugData,
) -> Option<SectionFinding> {
    let stands = plug.shown(Attr::Reach)? + plug.shown(Attr::Projection)? - head.reach_mm.0;
    let mm: Length = Decimal(stands.abs());
    let side = if stands < 0 { "behind" } else { "beyond" };
    let window = match head.window_mm {
        [Some(min), Some(max)] => format!("; the head wants it {min} to {max} mm beyond"),
        _ => String::new(),
    };
    let text =
        format!("With that reach the spark stands {mm} mm {side} the chamber's surface{window}.");
    Some(finding(code, text))
}
