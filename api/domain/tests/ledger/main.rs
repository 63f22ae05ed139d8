//! The rules of the stock: what each command does to the shelf of a part, why it does nothing,
//! and what holds whatever is asked in whatever order.

mod asked;
mod bodies;
mod books;
mod history;
mod issuing;
mod property;
mod rejections;
mod reports;
mod reserving;
mod returning;
mod reversing;
mod scrap_report;
mod scrapping;
mod value;
mod value_property;
