//! Tightening torque of dry threads by thread, seat and head material.
//!
//! Every row is **from memory**, to be checked against a printed source, and is shown as such. A
//! plug's own `torque_nm` stands above it. There is no row for vintage inch threads, and none is
//! guessed for a head whose material is unknown.

use crate::requirement::TorqueNeed;
use crate::thread::Thread;
use crate::words::{Material, Seat};

/// What an answer says of the rows.
pub const SOURCE: &str = "from memory";

/// One row of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Thread.
    pub thread: Thread,
    /// Seat; `None` where the row does not tell them apart.
    pub seat: Option<Seat>,
    /// What the head is cast of.
    pub material: Material,
    /// Least torque, N·m.
    pub min: f64,
    /// Greatest torque, N·m.
    pub max: f64,
}

const fn row(thread: Thread, seat: Option<Seat>, material: Material, min: f64, max: f64) -> Row {
    Row {
        thread,
        seat,
        material,
        min,
        max,
    }
}

/// The table, all from memory.
pub const ROWS: &[Row] = &[
    row(Thread::M8x1, None, Material::Aluminium, 8.0, 10.0),
    row(Thread::M10x1, None, Material::Aluminium, 10.0, 12.0),
    row(Thread::M12x125, None, Material::Aluminium, 15.0, 20.0),
    row(
        Thread::M14x125,
        Some(Seat::Gasket),
        Material::Aluminium,
        20.0,
        30.0,
    ),
    row(
        Thread::M14x125,
        Some(Seat::Conical),
        Material::Aluminium,
        10.0,
        20.0,
    ),
    row(
        Thread::M14x125,
        Some(Seat::Conical),
        Material::Iron,
        10.0,
        25.0,
    ),
    row(
        Thread::M18x15,
        Some(Seat::Conical),
        Material::Aluminium,
        20.0,
        30.0,
    ),
    row(
        Thread::M18x15,
        Some(Seat::Gasket),
        Material::Aluminium,
        35.0,
        45.0,
    ),
];

/// The torque for a thread, seat and head material; `None` where no row says.
pub fn torque(thread: Thread, seat: Seat, material: Option<Material>) -> Option<TorqueNeed> {
    let row = ROWS.iter().find(|row| {
        row.thread == thread && row.seat.is_none_or(|s| s == seat) && Some(row.material) == material
    })?;
    Some(TorqueNeed {
        min: row.min,
        max: row.max,
        source: SOURCE.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(thread: Thread, seat: Seat, material: Option<Material>) -> Option<(f64, f64)> {
        torque(thread, seat, material).map(|t| (t.min, t.max))
    }

    // Figures: from memory, not verified.
    #[test]
    fn a_row_is_found_by_all_three() {
        let (aluminium, iron) = (Some(Material::Aluminium), Some(Material::Iron));
        assert_eq!(
            figures(Thread::M14x125, Seat::Gasket, aluminium),
            Some((20.0, 30.0))
        );
        assert_eq!(
            figures(Thread::M14x125, Seat::Conical, aluminium),
            Some((10.0, 20.0))
        );
        assert_eq!(
            figures(Thread::M14x125, Seat::Conical, iron),
            Some((10.0, 25.0))
        );
        assert_eq!(
            figures(Thread::M12x125, Seat::Conical, aluminium),
            Some((15.0, 20.0))
        );
        assert_eq!(
            figures(Thread::M18x15, Seat::Gasket, aluminium),
            Some((35.0, 45.0))
        );
        assert!(
            torque(Thread::M8x1, Seat::Gasket, aluminium)
                .is_some_and(|t| t.source == "from memory")
        );
    }

    #[test]
    fn nothing_is_guessed_where_there_is_no_row() {
        assert_eq!(
            torque(Thread::Uns78, Seat::Gasket, Some(Material::Iron)),
            None
        );
        assert_eq!(
            torque(Thread::M14x125, Seat::Gasket, Some(Material::Iron)),
            None
        );
        assert_eq!(torque(Thread::M14x125, Seat::Gasket, None), None);
    }

    #[test]
    fn no_two_rows_answer_the_same_question() {
        for (place, a) in ROWS.iter().enumerate() {
            assert!(a.min <= a.max);
            for b in &ROWS[place + 1..] {
                let seats_meet = a.seat.is_none() || b.seat.is_none() || a.seat == b.seat;
                assert!(
                    !(a.thread == b.thread && a.material == b.material && seats_meet),
                    "{a:?} {b:?}"
                );
            }
        }
    }
}
