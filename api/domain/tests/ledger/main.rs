//! The rules of the stock: what each command does to the shelf of a part, why it does nothing,
//! and what holds whatever is asked in whatever order.

mod aside;
mod asked;
mod bodies;
mod books;
mod issuing;
mod property;
mod rejections;
mod reserving;
mod returning;
mod reversing;
mod scrapping;
