//! The HTTP interface: parses a request, asks one use case, gives the answer its form.
//!
//! `routes` has every route with the role that it takes; `guard` puts the token, the path and the
//! method to it before a handler is reached, `envelope` gives every answer its identifier and every
//! error its one form.

pub mod answer;
pub mod body;
pub mod envelope;
pub mod etag;
pub mod guard;
pub mod health;
pub mod match_answer;
pub mod once;
pub mod openapi;
pub mod paging;
pub mod problem;
pub mod query;
pub mod request;
pub mod routes;
pub mod shapes;
pub mod strict_json;
