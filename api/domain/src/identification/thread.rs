//! Naming a thread by its diameter over the crests and its pitch.

use std::sync::OnceLock;

use serde::Serialize;

use super::means::Means;
use super::readings::Readings;
use crate::decimal::{Decimal, Length};
use crate::requirement::sentence::{length, list};
use crate::thread::Thread;
use crate::thread_limits::{INCH, METRIC};
use crate::words::closed_list;

closed_list! {
    /// How surely a thread is named.
    ThreadVerdict, "thread verdict" {
        /// Within the limits of one thread.
        Clear = "clear",
        /// Below them by no more than crests wear.
        Worn = "worn",
        /// Between two sizes, or it can be either of several.
        Between = "between",
        /// No thread that plugs have.
        None = "none",
    }
}

/// Limits of a thread over its crests.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ThreadLimit {
    /// Least diameter of a new plug.
    pub min_mm: Length,
    /// Greatest diameter.
    pub max_mm: Length,
    /// Least diameter that is still named, as worn.
    pub worn_min_mm: Length,
    /// Tolerance class, and where the limits come from.
    pub source: &'static str,
}

/// What the readings say of a thread.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NamedThread {
    /// The thread; null where no single one is named.
    pub designation: Option<Thread>,
    /// How surely.
    pub verdict: ThreadVerdict,
    /// In words.
    pub text: String,
    /// The limits of the named thread.
    pub limit: Option<ThreadLimit>,
    /// What it can be, the smallest first; those with destroyed crests are not among them.
    pub can_be: Vec<Thread>,
}

/// What a caliper and a pitch gauge find on a new thread, in 0.1 µm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Crests {
    pub(super) thread: Thread,
    /// Basic major diameter.
    pub(super) nominal: i64,
    pub(super) pitch: i64,
    /// Class 6e, plugs; of an inch thread all that is known.
    pub(super) least: i64,
    /// Class 6g lets a little more through.
    pub(super) most: i64,
    /// Greatest of class 6e.
    plug_most: i64,
    /// Least pitch diameter: crests worn below it are no thread any more.
    flank: i64,
}

/// How a thread stands to a diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    Clear,
    Worn,
    /// Its crests would be gone, half down the thread and more.
    Destroyed,
    /// Metal does not grow.
    Never,
}

const SOURCE_METRIC: &str = "ISO 965-1, classes 6e (plugs) to 6g; single values from memory";
const SOURCE_INCH: &str =
    "from memory of the inch standards; a taper thread from small end to large";

/// Every thread, in the order of the list.
fn all() -> &'static [Crests] {
    static ALL: OnceLock<Vec<Crests>> = OnceLock::new();
    ALL.get_or_init(|| {
        Thread::ALL
            .iter()
            .map(|t| Crests::from_tables(*t))
            .collect()
    })
}

impl Crests {
    /// The crests of a thread by its place in the list; what lies outside the list is no record's.
    pub(super) fn of(place: i64) -> &'static Self {
        let last = all().len() - 1;
        &all()[usize::try_from(place).map_or(0, |place| place.min(last))]
    }

    fn from_tables(thread: Thread) -> Self {
        let raw = |um: i32| i64::from(um) * 10;
        let word = thread.word();
        if let Some(metric) = METRIC.iter().find(|t| t.designation == word) {
            return Self {
                thread,
                nominal: raw(metric.major_um),
                pitch: raw(metric.pitch_um),
                least: raw(metric.external_6e.major.min_um),
                most: raw(metric.external_6g.major.max_um),
                plug_most: raw(metric.external_6e.major.max_um),
                flank: raw(metric.external_6e.pitch.min_um),
            };
        }
        let inch = INCH.iter().find(|t| t.designation == word);
        let inch = inch.unwrap_or_else(|| panic!("limits of {word}"));
        Self {
            thread,
            nominal: raw(inch.major_um),
            pitch: raw(inch.pitch_um),
            least: raw(inch.major.min_um),
            most: raw(inch.major.max_um),
            plug_most: raw(inch.major.max_um),
            flank: raw(inch.pitch_diameter_um),
        }
    }

    pub(super) fn standing(&self, diameter: i64, means: &Means) -> Standing {
        let (least, most) = (self.least - means.diameter, self.most + means.diameter);
        if diameter > most {
            Standing::Never
        } else if diameter >= least {
            Standing::Clear
        } else if diameter >= least - means.wear {
            Standing::Worn
        } else if diameter >= self.flank - means.diameter {
            Standing::Destroyed
        } else {
            Standing::Never
        }
    }

    /// Whether a pitch gauge reads this thread's pitch.
    pub(super) fn has_pitch(&self, pitch: i64, means: &Means) -> bool {
        (self.pitch - pitch).abs() <= means.pitch
    }

    fn limit(&self, means: &Means) -> ThreadLimit {
        let metric = METRIC.iter().any(|t| t.designation == self.thread.word());
        ThreadLimit {
            min_mm: Decimal(self.least),
            max_mm: Decimal(self.most),
            worn_min_mm: Decimal(self.least - means.wear),
            source: if metric { SOURCE_METRIC } else { SOURCE_INCH },
        }
    }
}

/// Names a thread; `None` where neither its diameter nor its pitch was read.
pub(super) fn name_thread(readings: &Readings, means: &Means) -> Option<NamedThread> {
    let (diameter, pitch) = (readings.major_diameter_mm, readings.pitch_mm);
    if diameter.is_none() && pitch.is_none() {
        return None;
    }
    let with_pitch: Vec<&Crests> = all()
        .iter()
        .filter(|c| pitch.is_none_or(|p| c.has_pitch(p.0, means)))
        .collect();
    let standing = |c: &Crests| diameter.map_or(Standing::Clear, |d| c.standing(d.0, means));
    let that_are = |wanted: Standing| -> Vec<&Crests> {
        let mut found: Vec<_> = with_pitch
            .iter()
            .copied()
            .filter(|c| standing(c) == wanted)
            .collect();
        found.sort_by_key(|c| c.nominal);
        found
    };
    let (clear, worn) = (that_are(Standing::Clear), that_are(Standing::Worn));
    let named = match (clear.as_slice(), worn.as_slice()) {
        ([one], _) => named(
            one,
            ThreadVerdict::Clear,
            clear_text(one, readings, means),
            means,
        ),
        ([], [one]) => named(
            one,
            ThreadVerdict::Worn,
            worn_text(one, readings, means),
            means,
        ),
        ([], []) => unnamed(readings, &with_pitch, &that_are(Standing::Destroyed), means),
        _ => several(&[clear, worn].concat(), readings),
    };
    Some(named)
}

fn named(crests: &Crests, verdict: ThreadVerdict, text: String, means: &Means) -> NamedThread {
    NamedThread {
        designation: Some(crests.thread),
        verdict,
        text,
        limit: Some(crests.limit(means)),
        can_be: vec![crests.thread],
    }
}

fn clear_text(crests: &Crests, readings: &Readings, means: &Means) -> String {
    let thread = crests.thread;
    let Some(diameter) = readings.major_diameter_mm else {
        return format!(
            "Only {thread} has this pitch. Measure the diameter over the crests to be sure."
        );
    };
    let limits = format!(
        "{} to {} mm",
        Decimal::<4>(crests.least),
        Decimal::<4>(crests.most)
    );
    let mut text = format!("{} over the crests is {thread}: {limits}", length(diameter));
    if diameter.0 < crests.least || diameter.0 > crests.most {
        text.push_str(&format!(
            ", and the caliper may be wrong by {} mm",
            Decimal::<4>(means.diameter)
        ));
    } else if diameter.0 > crests.plug_most {
        text.push_str("; above class 6e, that of plugs, within class 6g");
    }
    text.push('.');
    if readings.pitch_mm.is_none() {
        text.push_str(&format!(
            " Its pitch has to be {} mm: see that the gauge agrees.",
            Decimal::<4>(crests.pitch)
        ));
    }
    text
}

fn worn_text(crests: &Crests, readings: &Readings, means: &Means) -> String {
    let under = readings
        .major_diameter_mm
        .map_or(0, |diameter| crests.least - diameter.0);
    format!(
        "{} with worn crests: {} mm under the least of it, {} mm; up to {} mm and what the caliper may be wrong by \
         pass for wear.",
        crests.thread,
        Decimal::<4>(under),
        Decimal::<4>(crests.least),
        Decimal::<4>(means.wear)
    )
}

fn several(can_be: &[&Crests], readings: &Readings) -> NamedThread {
    let words: Vec<&str> = can_be.iter().map(|c| c.thread.word()).collect();
    let cure = if readings.major_diameter_mm.is_none() {
        "measure the diameter over the crests"
    } else {
        "measure the pitch, or with a better caliper"
    };
    NamedThread {
        designation: None,
        verdict: ThreadVerdict::Between,
        text: format!("It can be {}: {cure}.", list(&words, "or")),
        limit: None,
        can_be: can_be.iter().map(|c| c.thread).collect(),
    }
}

/// No thread, fresh or worn, agrees with the readings.
fn unnamed(
    readings: &Readings,
    with_pitch: &[&Crests],
    destroyed: &[&Crests],
    means: &Means,
) -> NamedThread {
    let mut by_size: Vec<&Crests> = all().iter().collect();
    by_size.sort_by_key(|c| c.nominal);
    let none = |verdict, text| NamedThread {
        designation: None,
        verdict,
        text,
        limit: None,
        can_be: Vec::new(),
    };
    let pitch = readings
        .pitch_mm
        .map(|p| format!("{p} mm"))
        .unwrap_or_default();
    // Without a diameter every thread of the pitch would be named.
    let (false, Some(diameter)) = (with_pitch.is_empty(), readings.major_diameter_mm) else {
        let text = format!(
            "No plug has a thread of {pitch} pitch: it is damaged, recut, or of another standard."
        );
        return none(ThreadVerdict::None, text);
    };
    let by_diameter = by_size.iter().find(|c| {
        matches!(
            c.standing(diameter.0, means),
            Standing::Clear | Standing::Worn
        )
    });
    if let Some(other) = by_diameter {
        let text = format!(
            "By its diameter it is {}, whose pitch is {} mm, not {pitch}: measure both again; if they stand, it is a \
             foreign or recut thread.",
            other.thread,
            Decimal::<4>(other.pitch)
        );
        return none(ThreadVerdict::None, text);
    }
    let shown = length(diameter);
    let below = by_size.iter().rev().find(|c| c.most < diameter.0);
    let above = by_size.iter().find(|c| c.least > diameter.0);
    let (Some(below), Some(above)) = (below, above) else {
        let end = if below.is_none() { "smaller" } else { "larger" };
        let text = format!(
            "{shown} over the crests is {end} than every thread of a plug: a damaged thread, or none of a plug."
        );
        return none(ThreadVerdict::None, text);
    };
    let mut text = format!(
        "{shown} over the crests lies between {} and {}: a damaged or non-metric thread.",
        below.thread, above.thread
    );
    if let [one] = destroyed {
        text.push_str(&format!(
            " If it is {}, its crests are destroyed.",
            one.thread
        ));
    }
    none(ThreadVerdict::Between, text)
}
