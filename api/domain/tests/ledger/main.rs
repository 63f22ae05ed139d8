//! The rules of the stock: what each command does to the shelf of a part, why it does nothing,
//! and what holds whatever is asked in whatever order.

mod aside;
mod aside_property;
mod asked;
mod asking;
mod bodies;
mod books;
mod counting;
mod counting_property;
mod expiring;
mod fewest;
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
mod settling;
mod value;
mod value_property;
