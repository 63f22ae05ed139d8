//! Values as pictures, and as sheets for print: SVG and HTML text, drawn by ourselves.
//!
//! This room knows neither HTTP nor the database: it is given what is to be drawn and gives text back. A
//! picture is legible in light and dark and in print, down to 360 px of width; what a line means is told by
//! its style and a label, never by its colour alone.

mod axis;
pub mod bars;
pub mod count_accuracy;
pub mod count_sheet;
pub mod fitting_card;
pub mod head_section;
pub mod heat_scales;
mod key;
pub mod label;
mod lettering;
pub mod lot_life;
pub mod order_sheet;
pub mod pick_list;
mod plug_dimensions;
pub mod plug_outline;
pub mod qr;
pub mod reorder;
pub mod report_sheet;
pub mod scrap;
pub mod spark;
mod spark_key;
mod spread;
mod svg;
mod to_scale;

pub use svg::STYLE;
