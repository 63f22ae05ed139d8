//! Thread designations: one closed list, many ways of typing them, one way of printing.

use crate::conversion::MM_PER_INCH;
use crate::words::closed_list;

closed_list! {
    /// Thread of the shell: ISO metric designation (major diameter x pitch, ISO 261) or one of the
    /// vintage inch threads.
    Thread, "thread designation" {
        /// 8 mm.
        M8x1 = "M8x1",
        /// 10 mm.
        M10x1 = "M10x1",
        /// 12 mm.
        M12x125 = "M12x1.25",
        /// 14 mm; in ISO 261 this pitch is kept for spark plugs.
        M14x125 = "M14x1.25",
        /// 18 mm.
        M18x15 = "M18x1.5",
        /// 7/8 inch, 18 threads to the inch.
        Uns78 = "7/8-18 UNS",
        /// Half-inch taper pipe thread, 14 threads to the inch.
        Npt12 = "1/2-14 NPT",
    }
}

impl Thread {
    /// Reads a designation as people type it: `M14 x 1,25`, `m14×1.25`, `14x1.25`, `7/8"-18UNS`.
    ///
    /// Returns `None` for anything that is not a spelling of a listed size; a pitch is never guessed.
    pub fn read(text: &str) -> Option<Self> {
        let plain = plain(text);
        Self::ALL.iter().copied().find(|t| {
            let own = plain_word(*t);
            own == plain
                || own
                    .strip_prefix('m')
                    .is_some_and(|without| without == plain)
        })
    }
}

impl Thread {
    /// Over the crests, mm: the nominal diameter that the designation names (ISO 261; inches), of the taper
    /// pipe thread that of its pipe, 0.840 in (ASME B1.20.1, from memory).
    pub fn major_mm(self) -> f64 {
        match self {
            Self::M8x1 => 8.0,
            Self::M10x1 => 10.0,
            Self::M12x125 => 12.0,
            Self::M14x125 => 14.0,
            Self::M18x15 => 18.0,
            Self::Uns78 => MM_PER_INCH * 7.0 / 8.0,
            Self::Npt12 => MM_PER_INCH * 0.84,
        }
    }

    /// How far one turn moves the plug, mm: the pitch that the designation names (ISO 261; threads
    /// to the inch).
    pub fn pitch_mm(self) -> f64 {
        match self {
            Self::M8x1 | Self::M10x1 => 1.0,
            Self::M12x125 | Self::M14x125 => 1.25,
            Self::M18x15 => 1.5,
            Self::Uns78 => MM_PER_INCH / 18.0,
            Self::Npt12 => MM_PER_INCH / 14.0,
        }
    }
}

/// The designation without anything that may differ from one hand to another.
fn plain(text: &str) -> String {
    let folded: String = text
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '"' | '″' | '-' | '–'))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            ',' => '.',
            '×' | '*' => 'x',
            other => other,
        })
        .collect();
    // "M10x1.0" and "M8x1.00" are the same as "M10x1"; "1.50" as "1.5".
    match folded.split_once('x') {
        Some((major, pitch)) if pitch.contains('.') => {
            format!(
                "{major}x{}",
                pitch.trim_end_matches('0').trim_end_matches('.')
            )
        }
        _ => folded,
    }
}

fn plain_word(thread: Thread) -> String {
    plain(thread.word())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_of_one_size_read_alike_and_print_alike() {
        for text in [
            "M14x1.25",
            "M14 x 1,25",
            "14x1.25",
            "m14×1.25",
            " 14 X 1.250 ",
            "M14*1.25",
        ] {
            assert_eq!(
                Thread::read(text).map(Thread::word),
                Some("M14x1.25"),
                "{text}"
            );
        }
        assert_eq!(Thread::read("M10x1.0"), Some(Thread::M10x1));
        assert_eq!(Thread::read("7/8\"-18 uns"), Some(Thread::Uns78));
        assert_eq!(Thread::read("1/2 - 14 NPT"), Some(Thread::Npt12));
        for thread in Thread::ALL {
            assert_eq!(Thread::read(thread.word()), Some(*thread));
        }
    }

    #[test]
    fn what_is_not_listed_is_not_guessed() {
        for text in [
            "",
            "M14",
            "M14x1",
            "M14x1.5",
            "M114x1.25",
            "14",
            "7/8",
            "x",
            "M18x1.25",
        ] {
            assert_eq!(Thread::read(text), None, "{text}");
        }
    }
}
