//! The query of a request: every member taken by name, what nobody took is unknown, all faults at
//! once.

use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest, web};
use futures_util::future::{Ready, ready};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::NotInList;

use crate::http::problem::Problem;
use crate::service::Refusal;

/// The members of a query that nobody has taken yet, and the faults of those that were.
#[derive(Debug, Default)]
pub struct Members {
    path: String,
    rest: Vec<(String, String)>,
    given: Vec<(String, String)>,
    faults: Vec<Fault>,
}

impl Members {
    /// Splits a query up.
    pub fn of(path: &str, query: &str) -> Self {
        let mut members = Self {
            path: path.to_owned(),
            ..Self::default()
        };
        match web::Query::<Vec<(String, String)>>::from_query(query) {
            Ok(pairs) => members.rest = pairs.into_inner(),
            Err(_) => members.fault("", FaultCode::WrongForm, "the query cannot be read"),
        }
        members.given.clone_from(&members.rest);
        members
    }

    /// The path that is asked.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// All members as they were given.
    pub fn given(&self) -> &[(String, String)] {
        &self.given
    }

    /// Notes a fault of a member.
    pub fn fault(&mut self, name: &str, code: FaultCode, detail: impl Into<String>) {
        self.faults.push(Fault {
            pointer: format!("?{name}"),
            code,
            detail: detail.into(),
        });
    }

    /// Takes all values of a member that may stand several times.
    pub fn all(&mut self, name: &str) -> Vec<String> {
        let (taken, rest) = std::mem::take(&mut self.rest)
            .into_iter()
            .partition(|(n, _)| n == name);
        self.rest = rest;
        let taken: Vec<(String, String)> = taken;
        taken.into_iter().map(|(_, value)| value).collect()
    }

    /// Takes the value of a member.
    pub fn text(&mut self, name: &str) -> Option<String> {
        let mut values = self.all(name);
        if values.len() > 1 {
            self.fault(
                name,
                FaultCode::Duplicate,
                format!("{name} stands {} times", values.len()),
            );
        }
        if values.is_empty() {
            None
        } else {
            Some(values.swap_remove(0))
        }
    }

    /// Takes and parses the value of a member; `form` names what it has to be: "a UUID".
    pub fn parsed<T: FromStr>(&mut self, name: &str, form: &str) -> Option<T> {
        let text = self.text(name)?;
        let parsed = text.parse().ok();
        if parsed.is_none() {
            self.fault(
                name,
                FaultCode::WrongForm,
                format!("{text:?} is not {form}"),
            );
        }
        parsed
    }

    /// Takes a word of a closed list.
    pub fn word<T: FromStr<Err = NotInList>>(&mut self, name: &str) -> Option<T> {
        match self.text(name)?.parse() {
            Ok(word) => Some(word),
            Err(e) => {
                let e: NotInList = e;
                self.fault(name, FaultCode::NotInList, e.to_string());
                None
            }
        }
    }

    /// Takes a number within bounds.
    pub fn within<T: FromStr + PartialOrd + Display>(
        &mut self,
        name: &str,
        form: &str,
        bounds: RangeInclusive<T>,
    ) -> Option<T> {
        let number: T = self.parsed(name, form)?;
        if bounds.contains(&number) {
            return Some(number);
        }
        let detail = format!("{number} is outside {} to {}", bounds.start(), bounds.end());
        self.fault(name, FaultCode::OutOfRange, detail);
        None
    }

    /// Takes `true` or `false`.
    pub fn flag(&mut self, name: &str) -> Option<bool> {
        self.parsed(name, "true or false")
    }

    /// Every fault, those of members that nobody took among them; none where the query is right.
    pub fn faults(mut self) -> Vec<Fault> {
        for (name, _) in std::mem::take(&mut self.rest) {
            if self
                .faults
                .iter()
                .all(|f| f.pointer.strip_prefix('?') != Some(&name))
            {
                self.fault(
                    &name,
                    FaultCode::UnknownMember,
                    format!("there is no query member {name:?} here"),
                );
            }
        }
        self.faults
    }

    /// The same as a problem.
    ///
    /// # Errors
    /// Where there is any fault.
    pub fn finish(self) -> Result<(), Problem> {
        match self.faults() {
            faults if faults.is_empty() => Ok(()),
            faults => Err(Problem::faults(faults)),
        }
    }
}

/// What an operation reads from its query.
pub trait FromQuery: Sized {
    /// Takes its members, noting their faults.
    fn take(members: &mut Members) -> Self;
}

impl<A: FromQuery, B: FromQuery> FromQuery for (A, B) {
    fn take(members: &mut Members) -> Self {
        (A::take(members), B::take(members))
    }
}

/// A query, checked whole.
#[derive(Debug)]
pub struct CheckedQuery<T>(pub T);

impl<T: FromQuery> FromRequest for CheckedQuery<T> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let mut members = Members::of(request.path(), request.query_string());
        let taken = T::take(&mut members);
        ready(members.finish().map(|()| Self(taken)))
    }
}

/// What a use case says of members of a body is said of the query here, where they are its own.
pub fn of_query(refusal: Refusal, names: &[&str]) -> Refusal {
    let named = |fault: Fault| match fault.pointer.strip_prefix("#/") {
        Some(name) if names.contains(&name) => Fault {
            pointer: format!("?{name}"),
            ..fault
        },
        _ => fault,
    };
    match refusal {
        Refusal::Faults(faults) => Refusal::Faults(faults.into_iter().map(named).collect()),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::words::Status;
    use uuid::Uuid;

    fn pointers(members: Members) -> Vec<(String, String)> {
        let Err(problem) = members.finish() else {
            return Vec::new();
        };
        let errors = problem.to_json()["errors"]
            .as_array()
            .cloned()
            .unwrap_or_default();
        errors
            .iter()
            .map(|e| {
                (
                    e["pointer"].as_str().unwrap().to_owned(),
                    e["code"].as_str().unwrap().to_owned(),
                )
            })
            .collect()
    }

    #[test]
    fn members_are_taken_by_name_and_decoded() {
        let mut members = Members::of(
            "/",
            "thread=M14x1.25&q=fw%203207+x&retired=true&id=a&id=b&status=active",
        );
        assert_eq!(members.text("thread").as_deref(), Some("M14x1.25"));
        assert_eq!(members.text("q").as_deref(), Some("fw 3207 x"));
        assert_eq!(members.flag("retired"), Some(true));
        assert_eq!(members.all("id"), ["a", "b"]);
        assert_eq!(members.word::<Status>("status"), Some(Status::Active));
        assert_eq!(members.text("maker"), None);
        assert!(members.finish().is_ok());
    }

    #[test]
    fn every_fault_is_told_at_once() {
        let mut members = Members::of(
            "/",
            "limit=0&retired=yes&status=gone&plug_id=7&q=a&q=b&colour=red",
        );
        members.within("limit", "a whole number", 1..=200);
        members.flag("retired");
        members.word::<Status>("status");
        members.parsed::<Uuid>("plug_id", "a UUID");
        members.text("q");
        let told = pointers(members);
        let expected = [
            ("?limit", "out_of_range"),
            ("?retired", "wrong_form"),
            ("?status", "not_in_list"),
            ("?plug_id", "wrong_form"),
            ("?q", "duplicate"),
            ("?colour", "unknown_member"),
        ];
        assert_eq!(told, expected.map(|(p, c)| (p.to_owned(), c.to_owned())));
    }
}
