//! Counts of bins: one that was approved last night, one that is open.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::ledger::counting::{
    Count, CountApproval, CountState, CountedLine, Counting, NewCount,
};
use plugwell_domain::words::Role;
use plugwell_store::Session;
use serde::Deserialize;
use uuid::Uuid;

use crate::demo::year::back;
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, counts};

/// A count of the fixtures: its bins stand by name.
#[derive(Debug, Deserialize)]
pub(super) struct Counted {
    bins: Vec<String>,
    days_ago: u64,
    minute: i64,
    /// Lines of the sheet that differ, counted from 1.
    off: Vec<Off>,
    /// Whether it was finished and approved; else it is open, and half of it counted.
    approved: bool,
}

#[derive(Debug, Deserialize)]
struct Off {
    line: usize,
    difference: i64,
}

fn by_role(role: Role) -> Actor {
    Actor {
        token_id: Uuid::nil(),
        name: role.word().to_owned(),
        role,
    }
}

/// Counts some bins at the instant it happened.
///
/// # Errors
/// Where the fixture or the database fails.
pub(super) fn count(shop: &Shop, counted: &Counted, today: DateTime<Utc>) -> Result<(), Refusal> {
    let (clerk, manager) = (by_role(Role::Clerk), by_role(Role::Manager));
    let policy = shop.policy();
    let begun = back(today, counted.days_ago, counted.minute);
    let by = |actor, minutes| By {
        actor,
        at: begun + TimeDelta::minutes(minutes),
    };
    shop.store.write(|session| {
        let asked = NewCount {
            places: Some(bins(session, &counted.bins)?),
            choose: None,
            bins: None,
        };
        let count = counts::begin(session, &by(&clerk, 0), &asked)?;
        let numbers = numbers(session, &count, counted)?;
        counts::change(
            session,
            &by(&clerk, 25),
            &policy,
            count.id,
            |_| Ok(()),
            &numbers,
        )?;
        if counted.approved {
            let approval = CountApproval::default();
            counts::approve(session, &by(&manager, 40), count.id, |_| Ok(()), &approval)?;
        }
        Ok(())
    })
}

fn bins(session: &mut Session, names: &[String]) -> Result<Vec<Uuid>, Refusal> {
    names
        .iter()
        .map(|name| {
            let found = session.place_named(PlaceKind::Bin, name)?;
            let missing = || Refusal::Fault(format!("fixtures/demo/counts.json: no bin {name:?}"));
            Ok(found.ok_or_else(missing)?.id)
        })
        .collect()
}

/// What the clerk counts: what lies there by the books, but for the lines that differ.
fn numbers(session: &mut Session, count: &Count, of: &Counted) -> Result<Counting, Refusal> {
    let last = if of.approved {
        count.lines.len()
    } else {
        count.lines.len() / 2
    };
    let mut lines = Vec::with_capacity(last);
    for (at, line) in count.lines.iter().take(last).enumerate() {
        let level = session.level_at(line.plug_id, line.lot_id, line.place_id)?;
        let off = of.off.iter().find(|off| off.line == at + 1);
        lines.push(CountedLine {
            lot_id: line.lot_id,
            place_id: line.place_id,
            counted: Some(level.quantity + off.map_or(0, |off| off.difference)),
        });
    }
    if let Some(off) = of.off.iter().find(|off| !(1..=last).contains(&off.line)) {
        let detail = format!("fixtures/demo/counts.json: no line {}", off.line);
        return Err(Refusal::Fault(detail));
    }
    Ok(Counting {
        lines: Some(lines),
        state: (!of.approved).then_some(CountState::Open),
    })
}
