//! What an outline is drawn from: the plug's own figures, and usual ones where it has none.

use super::usual;
use crate::attribute::Attr;
use crate::decimal::{Length, as_f64, exact};
use crate::plug::{PlugData, Shows};
use crate::thread::Thread;
use crate::words::{Electrode, Ground, HexKind, Seat, Terminal};

/// An attribute as it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// Which.
    pub attr: Attr,
    /// Its value, as [`Attr::to_json`] reads it.
    pub raw: i64,
    /// Whether it is established; else the value is only the usual one.
    pub known: bool,
}

/// Everything that is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// The attributes, in the order of the list.
    pub taken: Vec<Taken>,
    /// Thread.
    pub thread: Thread,
    /// Seat.
    pub seat: Seat,
    /// Spanner faces.
    pub hex_kind: HexKind,
    /// Ground electrode.
    pub ground: Ground,
    /// Tip metal.
    pub electrode: Electrode,
    /// Connection.
    pub terminal: Terminal,
    /// Shell above the seat: no record holds it, overall and insulator height leave it.
    pub shell_mm: f64,
    /// The strap's face towards the tip, along; where the strap stands before the tip.
    pub strap_inside_mm: f64,
}

/// To the 0.1 µm that is kept.
fn raw_of(mm: f64) -> i64 {
    let rounded = (mm * 1e4).round() / 1e4;
    exact(rounded, Length::PLACES).unwrap_or_default()
}

/// Takes attribute after attribute.
struct Taking<'a> {
    plug: &'a PlugData,
    taken: Vec<Taken>,
    remarks: Vec<String>,
}

impl Taking<'_> {
    fn put(&mut self, attr: Attr, raw: i64, known: bool) {
        self.taken.push(Taken { attr, raw, known });
    }

    fn shown_mm(&self, attr: Attr) -> Option<f64> {
        self.plug.shown(attr).map(|raw| as_f64(raw, Length::PLACES))
    }

    fn length(&mut self, attr: Attr, usual: f64) -> f64 {
        let own = self.shown_mm(attr);
        let mm = own.unwrap_or(usual);
        self.put(attr, raw_of(mm), own.is_some());
        mm
    }

    fn word<T: Copy>(
        &mut self,
        attr: Attr,
        at: fn(i64) -> Option<T>,
        usual: T,
        position: i64,
    ) -> T {
        let own = self.plug.shown(attr).and_then(at);
        let raw = self.plug.shown(attr).unwrap_or(position);
        self.put(attr, raw, own.is_some());
        own.unwrap_or(usual)
    }

    /// The gap that is drawn, and how far a given one lies from the gap that the plug came with.
    fn gap(&mut self, ground: Ground, given: Option<Length>) -> (f64, Option<f64>) {
        let preset = self.shown_mm(Attr::GapPreset);
        let fixed = matches!(ground, Ground::SurfaceGap | Ground::MultiStrap);
        let given = given.map(Length::get).filter(|gap| {
            let refused = fixed && preset.is_some_and(|preset| preset != *gap);
            if refused {
                self.remarks.push(format!(
                    "This gap is fixed: it cannot be bent to {gap} mm and is drawn as it comes."
                ));
            }
            !refused
        });
        let Some(gap) = given else {
            return (self.length(Attr::GapPreset, usual::GAP), Some(0.0));
        };
        let (min, max) = (self.shown_mm(Attr::GapMin), self.shown_mm(Attr::GapMax));
        if min.is_some_and(|min| gap < min) || max.is_some_and(|max| gap > max) {
            let mm = |end: Option<f64>| end.map_or("unknown".to_owned(), |mm| format!("{mm} mm"));
            self.remarks.push(format!(
                "The gap of {gap} mm lies outside the range that this plug may be bent to: least {}, greatest {}.",
                mm(min),
                mm(max)
            ));
        }
        self.put(Attr::GapPreset, raw_of(gap), true);
        (gap, preset.map(|preset| gap - preset))
    }

    /// The strap's outside beyond the shell, and its inside; both bend with the gap.
    fn strap(&mut self, ground: Ground, projection: f64, gap: (f64, Option<f64>)) -> f64 {
        let inside = projection + gap.0;
        if ground == Ground::SurfaceGap {
            return inside;
        }
        if ground == Ground::MultiStrap {
            self.length(Attr::StrapExtent, projection);
            return inside;
        }
        let bent = self.shown_mm(Attr::StrapExtent).zip(gap.1);
        let outside = bent.map(|(extent, bent)| extent + bent);
        let usual = inside + usual::STRAP;
        self.put(
            Attr::StrapExtent,
            raw_of(outside.unwrap_or(usual)),
            outside.is_some(),
        );
        match outside {
            Some(outside) if outside - inside < 0.3 => {
                let established = self.plug.shown(Attr::Projection).is_some()
                    && self
                        .taken
                        .iter()
                        .any(|t| t.attr == Attr::GapPreset && t.known);
                if established {
                    self.remarks.push(
                        "Projection, gap and strap extent leave the strap no thickness: measure them again."
                            .to_owned(),
                    );
                }
                outside - usual::STRAP
            }
            _ => inside,
        }
    }

    /// Terminal, insulator and overall height; the shell that they leave.
    fn heights(&mut self, seat: Seat, terminal: Terminal) -> f64 {
        let (overall, insulator) = (self.shown_mm(Attr::Overall), self.shown_mm(Attr::Insulator));
        let above = usual::terminal(terminal);
        let (usual_shell, least) = (usual::shell(seat), usual::least_shell(seat));
        let shell = match (overall, insulator) {
            (Some(overall), Some(insulator)) => (overall - insulator - above).max(least),
            (Some(overall), None) => usual_shell.min(overall - above - 5.0).max(least),
            (None, _) => usual_shell,
        };
        let left = overall.map_or(usual::INSULATOR, |overall| {
            (overall - above - shell).max(2.0)
        });
        let insulator = self.length(Attr::Insulator, left);
        let top = shell + insulator;
        match overall {
            Some(overall) if overall < top + 0.5 => {
                self.remarks.push(format!(
                    "An overall height of {overall} mm leaves no room for shell, insulator and terminal: measure again."
                ));
                self.put(Attr::Overall, raw_of(top + above), false);
            }
            Some(overall) => self.put(Attr::Overall, raw_of(overall), true),
            None => self.put(Attr::Overall, raw_of(top + above), false),
        }
        shell
    }
}

impl Measures {
    /// Takes what is drawn of a plug, and says what does not go together.
    pub(super) fn of(plug: &PlugData, gap: Option<Length>) -> (Self, Vec<String>) {
        let mut taking = Taking {
            plug,
            taken: Vec::new(),
            remarks: Vec::new(),
        };
        let usual = Thread::M14x125;
        let thread = taking.word(Attr::Thread, Thread::at, usual, usual.position());
        let usual = Seat::Gasket;
        let seat = taking.word(Attr::Seat, Seat::at, usual, usual.position());
        taking.length(Attr::Reach, usual::reach(thread));
        taking.length(Attr::Hex, usual::hex(thread));
        let usual = HexKind::Hex;
        let hex_kind = taking.word(Attr::HexKind, HexKind::at, usual, usual.position());
        let projection = taking.length(Attr::Projection, usual::PROJECTION);
        let usual = Ground::SingleStrap;
        let ground = taking.word(Attr::Ground, Ground::at, usual, usual.position());
        let usual = Electrode::Nickel;
        let electrode = taking.word(Attr::Electrode, Electrode::at, usual, usual.position());
        let gap = taking.gap(ground, gap);
        let inside = taking.strap(ground, projection, gap);
        let usual = Terminal::SolidNut;
        let terminal = taking.word(Attr::Terminal, Terminal::at, usual, usual.position());
        let shell_mm = taking.heights(seat, terminal);
        let mut taken = taking.taken;
        taken.sort_by_key(|taken| taken.attr);
        let measures = Self {
            taken,
            thread,
            seat,
            hex_kind,
            ground,
            electrode,
            terminal,
            shell_mm,
            strap_inside_mm: 0.0,
        };
        let strap_inside_mm = measures.mm(Attr::Reach) + inside;
        let measures = Self {
            strap_inside_mm,
            ..measures
        };
        (measures, taking.remarks)
    }

    /// An attribute as it is drawn; none where this form of plug has no such thing.
    pub fn taken(&self, attr: Attr) -> Option<&Taken> {
        self.taken.iter().find(|taken| taken.attr == attr)
    }

    /// A length as it is drawn, in mm; 0 for what is no length of it.
    pub fn mm(&self, attr: Attr) -> f64 {
        self.taken(attr)
            .map_or(0.0, |taken| as_f64(taken.raw, Length::PLACES))
    }

    /// Whether all these attributes are established, as far as this form of plug has them.
    pub fn known(&self, attrs: &[Attr]) -> bool {
        let mut taken = attrs.iter().filter_map(|attr| self.taken(*attr));
        taken.all(|taken| taken.known)
    }

    /// Where the tip stands, along.
    pub fn tip_mm(&self) -> f64 {
        self.mm(Attr::Reach) + self.mm(Attr::Projection)
    }
}
