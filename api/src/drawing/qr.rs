//! QR codes (ISO/IEC 18004) as one path of squares.

use std::fmt::Write;

use qrcode::{Color, QrCode};

/// Modules that stay free around a code (ISO/IEC 18004).
const QUIET: usize = 4;

/// A code as it is drawn: a unit is a module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// How wide and high it is, with what stays free around it.
    pub side: usize,
    /// The path of its dark modules.
    pub path: String,
}

/// Draws a text; `None` where it is longer than a code can hold.
pub fn drawn(text: &str) -> Option<Drawn> {
    let code = QrCode::new(text).ok()?;
    let width = code.width();
    let mut path = String::new();
    for (row, colors) in code.to_colors().chunks(width).enumerate() {
        let mut column = 0;
        while column < width {
            let run = colors[column..].iter().take_while(|c| **c == Color::Dark);
            let run = run.count();
            if run > 0 {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", column + QUIET, row + QUIET);
            }
            column += run.max(1);
        }
    }
    Some(Drawn {
        side: width + 2 * QUIET,
        path,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_path_covers_exactly_the_dark_modules() {
        let text = "0123456789abcdef";
        let (code, drawn) = (QrCode::new(text).unwrap(), drawn(text).unwrap());
        assert_eq!(drawn.side, code.width() + 8);
        let mut painted = Vec::new();
        for run in drawn.path.split('M').skip(1) {
            let (x, rest) = run.split_once(' ').unwrap();
            let (y, rest) = rest.split_once('h').unwrap();
            let long = rest.split('v').next().unwrap().parse::<usize>().unwrap();
            let (x, y) = (x.parse::<usize>().unwrap(), y.parse::<usize>().unwrap());
            painted.extend((x..x + long).map(|x| (x - QUIET, y - QUIET)));
        }
        let every = (0..code.width()).flat_map(|y| (0..code.width()).map(move |x| (x, y)));
        let dark: Vec<_> = every.filter(|at| code[*at] == Color::Dark).collect();
        assert_eq!(painted, dark);
        assert!(
            super::drawn(&"x".repeat(3_000)).is_none(),
            "a code holds 2953 bytes at most"
        );
    }
}
