//! All lines of the proposal, before anybody has asked for some of them.

use std::sync::Arc;

use chrono::{DateTime, Utc};
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Known, LeftOut, ReorderLine, use_first};
use plugwell_store::Session;
use uuid::Uuid;

use super::beginning::Beginnings;
use super::gathered::{Gathered, Suppliers};
use super::left_out::{Instead, told, unorderable};
use super::sums::sums;
use super::{Asked, Proposal, key};
use crate::service::{Refusal, Shop};

/// All lines, also those with nothing to order, or that of one part.
pub(super) struct Whole {
    at: DateTime<Utc>,
    one: bool,
    lines: Vec<Arc<ReorderLine>>,
    /// Parts that are due and cannot be ordered, each with its supplier.
    left_out: Vec<(Option<String>, LeftOut)>,
    suppliers: Suppliers,
}

impl Whole {
    /// Makes all lines, or that of one part. But for the instant that it names, a whole is the same all
    /// day long: what lies back counts by whole days.
    pub fn of(
        shop: &Shop,
        session: &mut Session,
        policy: &Policy,
        part: Option<Uuid>,
        at: DateTime<Utc>,
    ) -> Result<Self, Refusal> {
        let gathered = Gathered::of(shop, session, policy, part, at)?;
        let unsold = gathered.unsold();
        let beginnings = Beginnings::of(session, &gathered, policy)?;
        let (mut lines, mut left_out) = (Vec::new(), Vec::new());
        for plug in gathered.asked_for() {
            let mut known = gathered.known(plug, policy);
            if gathered.lacks_history(plug, policy) {
                known.start = Some(beginnings.of_part(plug, known.history, policy));
            }
            let mut line = ReorderLine::of(known.clone(), policy);
            if let Some(code) = unorderable(plug) {
                if line.due || part.is_some() {
                    left_out.push((line.supplier, plug, code));
                }
                continue;
            }
            if line.order_quantity > 0 {
                let found = use_first(plug, &unsold, policy);
                if !found.is_empty() {
                    let known = Known {
                        use_first: found,
                        ..known
                    };
                    line = ReorderLine::of(known, policy);
                }
            }
            lines.push(Arc::new(line));
        }
        lines.sort_by_cached_key(|line| key(line));
        let instead = Instead::of(&gathered);
        let told = left_out.into_iter().map(|(supplier, plug, code)| {
            let equals = || instead.equals(plug, policy);
            Ok((supplier, told(session, plug, code, equals)?))
        });
        let left_out = told.collect::<Result<_, Refusal>>()?;
        Ok(Self {
            at,
            one: part.is_some(),
            lines,
            left_out,
            suppliers: gathered.into_suppliers(),
        })
    }

    /// All of them.
    pub fn lines(&self) -> &[Arc<ReorderLine>] {
        &self.lines
    }

    /// What is asked of it.
    pub fn asked(&self, asked: &Asked, policy: &Policy) -> Proposal {
        let wanted = asked.supplier.as_deref();
        let wanted = wanted.map(|name| name.trim().to_lowercase());
        let takes = |supplier: Option<&str>| {
            (wanted.as_ref())
                .is_none_or(|name| supplier.map(str::to_lowercase).as_ref() == Some(name))
        };
        let lines: Vec<Arc<ReorderLine>> = (self.lines.iter())
            .filter(|line| line.order_quantity > 0 || asked.all || self.one)
            .filter(|line| takes(line.supplier.as_deref()))
            .cloned()
            .collect();
        let left_out = self.left_out.iter();
        let left_out = left_out.filter(|(supplier, _)| takes(supplier.as_deref()));
        Proposal {
            at: self.at,
            suppliers: sums(lines.iter().map(AsRef::as_ref), &self.suppliers, policy),
            left_out: left_out.map(|(_, part)| part.clone()).collect(),
            lines,
        }
    }
}
