//! The grade of an equivalent: what differs, and how that is said.

use serde::{Serialize, Serializer, ser::SerializeMap};
use serde_json::Value;

use super::steps::steps;
use crate::attribute::Attr;
use crate::caution::{Caution, CautionCode};
use crate::decimal::{Decimal, HeatIndex};
use crate::plug::Shows;
use crate::policy::Values;
use crate::requirement::sentence::list;
use crate::words::{Ground, closed_list};

closed_list! {
    /// How near an equivalent comes to the part, by what is known of both; nearest first.
    Grade, "grade of an equivalent" {
        /// Nothing that is compared differs.
        SameInAll = "same_in_all",
        /// Only the metal of the tip differs.
        SameButMetal = "same_but_for_metal",
        /// Only the heat differs: it is colder.
        SameButColder = "same_but_colder",
        /// Metal and heat differ.
        SameButMetalAndColder = "same_but_for_metal_and_colder",
        /// More differs; the words name it.
        SameButMore = "same_but_for_more",
    }
}

/// An attribute in which two parts are not known to be the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Difference {
    /// Which one.
    pub attribute: Attr,
    /// The part's own value; `None` where it is unknown or only assumed.
    pub own: Option<i64>,
    /// That of the other.
    pub other: Option<i64>,
    /// Whether the grade counts it: not where it is unknown of one, where the two are no further apart
    /// than what is one, nor where it only informs.
    pub counts: bool,
}

impl Serialize for Difference {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let value = |raw: Option<i64>| raw.map_or(Value::Null, |raw| self.attribute.to_json(raw));
        let mut map = s.serialize_map(Some(4))?;
        map.serialize_entry("attribute", &self.attribute)?;
        map.serialize_entry("own", &value(self.own))?;
        map.serialize_entry("other", &value(self.other))?;
        map.serialize_entry("counts", &self.counts)?;
        map.end()
    }
}

/// How near an equivalent comes to the part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Graded {
    /// The grade, by what is known.
    pub grade: Grade,
    /// In what the two are not known to be the same.
    pub differences: Vec<Difference>,
    /// What is compared and not established of one of the two, or of either: the grade holds as far
    /// as known.
    pub not_established: Vec<Attr>,
}

impl Graded {
    /// Grades a part that fits.
    pub(super) fn of(part: &impl Shows, other: &impl Shows, values: &Values) -> Self {
        let (mut differences, mut not_established) = (Vec::new(), Vec::new());
        for attr in Attr::ALL.iter().copied() {
            let (own, others) = (part.shown(attr), other.shown(attr));
            let weight = Weight::of(attr, values);
            let counts = match (own, others) {
                (Some(a), Some(b)) if a == b => continue,
                (Some(a), Some(b)) => weight.counts(a, b),
                _ if weight == Weight::Informs || is_without_strap(attr, part, other) => continue,
                _ => {
                    not_established.push(attr);
                    if own == others {
                        continue;
                    }
                    false
                }
            };
            differences.push(Difference {
                attribute: attr,
                own,
                other: others,
                counts,
            });
        }
        Self {
            grade: grade(&differences),
            differences,
            not_established,
        }
    }

    /// The grade in words: `same but for metal and one step colder, as far as known: nobody has
    /// established terminal`. A hotter one, which only the tolerance lets in, is never called the same
    /// without a word: `same in all (2.5 points hotter, within what scales can tell)`.
    pub fn words(&self) -> String {
        let mut nouns: Vec<String> = Vec::new();
        let mut colder = None;
        for difference in self.differences.iter().filter(|d| d.counts) {
            match (difference.attribute, difference.own, difference.other) {
                (Attr::Heat, Some(own), Some(other)) => {
                    let by = steps(other - own).unwrap_or_else(|| "a little".to_owned());
                    colder = Some(format!("{by} colder"));
                }
                (attr, ..) => name_once(&mut nouns, attr),
            }
        }
        let named = (!nouns.is_empty()).then(|| format!("for {}", list(&nouns, "and")));
        let mut words = match (named, colder) {
            (None, None) => "same in all".to_owned(),
            (Some(named), None) => format!("same but {named}"),
            (None, Some(colder)) => format!("same but {colder}"),
            (Some(named), Some(colder)) => {
                let comma = if nouns.len() > 1 { "," } else { "" };
                format!("same but {named}{comma} and {colder}")
            }
        };
        words.push_str(&self.hotter_words());
        let mut open = Vec::new();
        for attr in &self.not_established {
            name_once(&mut open, *attr);
        }
        if !open.is_empty() {
            let open = list(&open, "or");
            words.push_str(&format!(", as far as known: nobody has established {open}"));
        }
        words
    }

    fn hotter_words(&self) -> String {
        match self.heat_difference() {
            Some(Decimal(by)) if by < 0 => {
                let shown = Attr::Heat.show(-by);
                let points = if shown == "1" { "point" } else { "points" };
                format!(" ({shown} {points} hotter, within what scales can tell)")
            }
            _ => String::new(),
        }
    }

    /// What to beware of in putting it in the part's place.
    pub fn cautions(&self) -> Vec<Caution> {
        let strap = self.differences.iter();
        let further_out = strap.filter(|d| d.attribute == Attr::StrapExtent && d.counts);
        let caution = |d: &Difference| {
            let [own, other] = [d.own, d.other].map(|raw| Some(Attr::StrapExtent.show(raw?)));
            let (own, other) = own.zip(other)?;
            let figures = format!("It stands {other} beyond the shell, the part's {own}.");
            Some(Caution::of(CautionCode::StrapFurtherOut).with(figures))
        };
        further_out.filter_map(caution).collect()
    }

    /// How much higher the other's heat index is: above 0 it is colder, below 0 hotter; `None` where it
    /// is unknown of one.
    pub fn heat_difference(&self) -> Option<HeatIndex> {
        if self.not_established.contains(&Attr::Heat) {
            return None;
        }
        let heat = self.differences.iter().find(|d| d.attribute == Attr::Heat);
        heat.map_or(Some(Decimal(0)), |d| Some(Decimal(d.other? - d.own?)))
    }

    /// By how much the other is colder; 0 where the two count as the same.
    pub fn colder_by(&self) -> HeatIndex {
        let counts = |d: &Difference| d.attribute == Attr::Heat && d.counts;
        let counted = self.differences.iter().any(counts);
        self.heat_difference()
            .filter(|_| counted)
            .unwrap_or(Decimal(0))
    }
}

fn grade(differences: &[Difference]) -> Grade {
    let counted = differences.iter().filter(|d| d.counts);
    let (mut metal, mut colder) = (false, false);
    for difference in counted {
        match difference.attribute {
            Attr::Electrode => metal = true,
            Attr::Heat => colder = true,
            _ => return Grade::SameButMore,
        }
    }
    match (metal, colder) {
        (false, false) => Grade::SameInAll,
        (true, false) => Grade::SameButMetal,
        (false, true) => Grade::SameButColder,
        (true, true) => Grade::SameButMetalAndColder,
    }
}

/// How a known difference weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Weight {
    /// It counts beyond so much: up to there the two are one.
    Beyond(i64),
    /// It counts where the other stands further out: a piston could meet it.
    FurtherOut,
    /// It is looked at and does not count: the requirement has the gap within both ranges.
    Borne,
    /// It only informs: it follows from the others, or matters to the order and not to the engine.
    Informs,
}

impl Weight {
    /// 19.0 mm and 3/4 in are one, so are 5/8 in and 16 mm, and what calibrated scales make of the
    /// same heat.
    fn of(attr: Attr, values: &Values) -> Self {
        match attr {
            Attr::Reach => Self::Beyond(values.equivalent_reach_tolerance_mm.value.0),
            Attr::Hex => Self::Beyond(values.hex_tolerance_mm.value.0),
            Attr::Heat => Self::Beyond(values.heat_tolerance.value.0),
            Attr::Thread
            | Attr::Seat
            | Attr::HexKind
            | Attr::Projection
            | Attr::Resistor
            | Attr::Electrode
            | Attr::Ground
            | Attr::GapPreset
            | Attr::Terminal => Self::Beyond(0),
            Attr::StrapExtent => Self::FurtherOut,
            Attr::GapMin | Attr::GapMax => Self::Borne,
            Attr::Resistance
            | Attr::Overall
            | Attr::Insulator
            | Attr::ServiceLife
            | Attr::Torque
            | Attr::PackSize => Self::Informs,
        }
    }

    fn counts(self, own: i64, other: i64) -> bool {
        match self {
            Self::Beyond(tolerance) => (other - own).abs() > tolerance,
            Self::FurtherOut => other > own,
            Self::Borne | Self::Informs => false,
        }
    }
}

/// A surface gap has no strap that could stand out.
fn is_without_strap(attr: Attr, part: &impl Shows, other: &impl Shows) -> bool {
    let surface = Some(Ground::SurfaceGap.position());
    attr == Attr::StrapExtent
        && (part.shown(Attr::Ground) == surface || other.shown(Attr::Ground) == surface)
}

/// The trade's noun for an attribute, each once: both ends of the gap range are one.
fn name_once(nouns: &mut Vec<String>, attr: Attr) {
    let noun = match attr {
        Attr::Electrode => "metal".to_owned(),
        Attr::GapMin | Attr::GapMax => "gap range".to_owned(),
        _ => attr.declared().label.to_lowercase(),
    };
    if !nouns.contains(&noun) {
        nouns.push(noun);
    }
}
