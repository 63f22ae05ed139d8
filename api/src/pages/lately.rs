//! What somebody did last, and taking it back: an undo is a reversal of every movement of one act.

use std::collections::{HashMap, HashSet};

use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::ledger::commands::Reversal;
use plugwell_domain::ledger::{Movement, MovementKind, PlaceKind};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::{MovementFilter, Session};
use uuid::Uuid;

use crate::pages::answer::{Reply, made};
use crate::pages::counter::booked;
use crate::pages::figures::instant;
use crate::pages::once::once;
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::sender;
use crate::pages::words::{say, say_with};
use crate::service::shop::Touched;
use crate::service::stock::{self, By, Outcome};
use crate::service::{Actor, Refusal, Shop, catalogue, new_id, stock_lists};

/// Movements that are looked through for the last acts, and acts that are shown.
const LOOKED_AT: i64 = 40;
const SHOWN: usize = 4;

/// Something that was done.
#[derive(Debug, Clone)]
pub(super) struct Act {
    /// Its movements.
    pub movements: Vec<Uuid>,
    /// What was done, to how many of which part.
    pub words: String,
    /// When.
    pub at: String,
    /// Whether it can be taken back from here.
    pub undo: bool,
    /// Why it cannot be, or that it was.
    pub note: String,
    /// Makes an undo that is sent twice the same.
    pub once: Uuid,
}

/// What somebody did last, the latest first; nothing for whoever may do nothing.
pub(super) fn acts(shop: &Shop, who: Option<&(String, Role)>) -> Result<Vec<Act>, Refusal> {
    let Some((name, role)) = who.filter(|(_, role)| *role >= Role::Tuner) else {
        return Ok(Vec::new());
    };
    let filter = MovementFilter {
        actor: Some(name.clone()),
        newest: true,
        ..MovementFilter::default()
    };
    let movements = stock_lists::movements(shop, &filter, None, LOOKED_AT)?;
    let reversed: HashSet<Uuid> = movements.iter().filter_map(|m| m.reverses).collect();
    let mut acts: Vec<Vec<&Movement>> = Vec::new();
    for movement in &movements {
        // All that one act booked carries one instant.
        match acts.last_mut() {
            Some(act) if act[0].created_at == movement.created_at => act.push(movement),
            _ => acts.push(vec![movement]),
        }
    }
    let mut names: HashMap<Uuid, String> = HashMap::new();
    let mut told = Vec::new();
    for act in acts.iter().take(SHOWN) {
        let Some(first) = act.first() else { continue };
        let name = match names.get(&first.plug_id) {
            Some(name) => name.clone(),
            None => part::name(&catalogue::get(shop, first.plug_id)?),
        };
        names.insert(first.plug_id, name.clone());
        let is_undone = act.iter().all(|m| reversed.contains(&m.id));
        told.push(said(shop, *role, act, &name, is_undone)?);
    }
    Ok(told)
}

fn said(
    shop: &Shop,
    role: Role,
    act: &[&Movement],
    name: &str,
    is_undone: bool,
) -> Result<Act, Refusal> {
    let first = act[0];
    let quantity = booked::plugs(act);
    let verb = booked::verb(first.kind);
    let words = match (&first.job, first.kind) {
        (Some(job), MovementKind::Issue) => say_with(
            "pages-did-plugs-to-job",
            &[
                ("verb", &verb),
                ("plugs", &quantity),
                ("name", &name),
                ("job", job),
            ],
        ),
        (Some(job), MovementKind::Return) => say_with(
            "pages-did-plugs-from-job",
            &[
                ("verb", &verb),
                ("plugs", &quantity),
                ("name", &name),
                ("job", job),
            ],
        ),
        _ => format!("{verb} {quantity} × {name}"),
    };
    let note = if is_undone {
        say("pages-undone").to_owned()
    } else {
        match first.kind {
            MovementKind::Scrapping => {
                let until = instant(booked::reversible_until(shop, first));
                say_with(
                    "pages-manager-can-reverse-until-until",
                    &[("until", &until)],
                )
            }
            MovementKind::Reversal | MovementKind::Difference => say("pages-stands").to_owned(),
            _ if role < Role::Clerk => say("pages-a-clerk-can-undo-it").to_owned(),
            MovementKind::Transfer if role < Role::Manager && went_aside(shop, act)? => {
                say("pages-waits-for-a-manager").to_owned()
            }
            _ => String::new(),
        }
    };
    Ok(Act {
        movements: act.iter().map(|m| m.id).collect(),
        words,
        at: instant(first.created_at),
        undo: note.is_empty(),
        note,
        once: new_id(),
    })
}

/// Whether any of it went into quarantine.
fn went_aside(shop: &Shop, act: &[&Movement]) -> Result<bool, Refusal> {
    for movement in act {
        if stock_lists::place(shop, movement.to_place_id)?.kind == PlaceKind::Quarantine {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Takes an act back.
pub(super) async fn undo(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, _| {
        undone(shop, &who.actor, &typed).map(Reply::Elsewhere)
    })
    .await
}

fn undone(shop: &Shop, actor: &Actor, typed: &Typed) -> Result<String, Refusal> {
    let ids: Vec<Uuid> = typed.all("id").filter_map(|id| id.parse().ok()).collect();
    if ids.is_empty() {
        return Err(Refusal::NotFound("movement"));
    }
    let policy = shop.policy();
    once(actor, "/undo", typed, |key| {
        let by = By::now(actor);
        let done = shop.once(key, |s| reverse(s, &by, &policy, &ids), booked::kept)?;
        Ok(done.stored)
    })
}

/// Reverses every movement of an act, all or none.
fn reverse(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    ids: &[Uuid],
) -> Result<(Outcome, Vec<Touched>), Refusal> {
    let (mut all, mut touched) = (Outcome::default(), Vec::new());
    let mut done = HashSet::new();
    // The latest first: what came later may rest on what came before. One that was booked together
    // with another is reversed with it.
    for &id in ids.iter().rev() {
        if done.contains(&id) {
            continue;
        }
        let reversal = Reversal {
            movement_id: id,
            reason: say("pages-undone-at-the-counter").to_owned(),
        };
        let (outcome, changed) = stock::reverse(session, by, policy, &reversal)?;
        done.extend(outcome.movements.iter().filter_map(|m| m.reverses));
        all.movements.extend(outcome.movements);
        touched.extend(changed);
    }
    Ok((all, touched))
}
