//! What a route is: its path and method, who may take it, what it has to bring, when it goes.

use plugwell_domain::words::Role;

use crate::http::retiring::Retiring;

/// Who may take a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Least {
    /// Everybody, without a token.
    Open,
    /// Everybody on this machine; from elsewhere a reader.
    Loopback,
    /// A token of this role, or of one that holds it.
    Role(Role),
}

/// What a request has to bring besides its body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Brings {
    /// Nothing.
    Nothing,
    /// `Idempotency-Key`: it moves or reserves stock, or books something in.
    OnceKey,
    /// `Idempotency-Key`, unless it is a dry run.
    OnceKeyOrDryRun,
    /// `If-Match`: it changes or removes a record.
    Version,
}

/// One operation.
#[derive(Debug, Clone, Copy)]
pub struct Route {
    /// Its method.
    pub method: &'static str,
    /// Its path; `{…}` stands for one segment.
    pub path: &'static str,
    /// Who may.
    pub least: Least,
    /// What it is called in the OpenAPI document.
    pub operation: &'static str,
    /// What it has to bring.
    pub brings: Brings,
    /// What it counts for where requests are limited; 0 where it does not count.
    pub cost: u32,
    /// When it goes, where that is settled.
    pub retires: Option<Retiring>,
}

impl Route {
    /// The same, counting for so many usual requests.
    pub(super) const fn costing(mut self, cost: u32) -> Self {
        self.cost = cost;
        self
    }

    /// The same, on its way out: `get(…).retiring(Retiring { … })`.
    pub const fn retiring(mut self, when: Retiring) -> Self {
        self.retires = Some(when);
        self
    }
}

pub(super) const fn open(
    method: &'static str,
    path: &'static str,
    operation: &'static str,
) -> Route {
    Route {
        method,
        path,
        least: Least::Open,
        operation,
        brings: Brings::Nothing,
        cost: 1,
        retires: None,
    }
}

pub(super) const fn get(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "GET",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Nothing,
        cost: 1,
        retires: None,
    }
}

pub(super) const fn post(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "POST",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Nothing,
        cost: 1,
        retires: None,
    }
}

pub(super) const fn once(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "POST",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::OnceKey,
        cost: 1,
        retires: None,
    }
}

pub(super) const fn table(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "POST",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::OnceKeyOrDryRun,
        cost: 20,
        retires: None,
    }
}

pub(super) const fn change(
    method: &'static str,
    path: &'static str,
    least: Role,
    operation: &'static str,
) -> Route {
    Route {
        method,
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Version,
        cost: 1,
        retires: None,
    }
}
