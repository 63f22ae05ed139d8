//! What is to be looked at once more before a form books: plugs that do not fit the build that they go
//! out for, a supplier that nobody here knows.

use plugwell_domain::caution::CautionCode;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::spelling::nearness;
use uuid::Uuid;

use crate::pages::counter::acts::Act;
use crate::pages::field::Wrong;
use crate::pages::form::Known;
use crate::pages::part::open_reservations;
use crate::pages::typed::Typed;
use crate::pages::words::say_with;
use crate::service::{Refusal, Shop, stock, stock_lists};
use crate::shown::marked;

/// What is said of a part and its build before plugs of it go there.
const OF_ITS_BUILD: &[CautionCode] = &[
    CautionCode::FailsItsBuild,
    CautionCode::FitUnjudged,
    CautionCode::ReachNeverFitted,
];

/// The field in which a form tells what of this its reader has seen.
const SEEN: &str = "looked_at";

/// Something to be looked at once more.
pub(super) struct Doubt {
    /// What it is about: a form that brings it back came from somebody who has seen it.
    pub about: String,
    /// The field that is to blame.
    pub field: &'static str,
    /// In sentences; empty where they stand elsewhere on the page.
    pub text: String,
}

impl Doubt {
    /// Whether whoever sent the form has seen it.
    pub fn is_seen(&self, typed: &Typed) -> bool {
        typed.one(SEEN) == self.about
    }

    /// The same on a page that says what is wrong: no sentence stands there twice.
    pub fn beside(mut self, wrong: &[Wrong]) -> Self {
        if wrong.iter().any(|wrong| wrong.text == self.text) {
            self.text.clear();
        }
        self
    }

    /// As what is wrong with the form of somebody who has not.
    pub fn wrong(self) -> Wrong {
        Wrong::with(self.field, self.text)
    }
}

/// What of a form is to be looked at once more, if anything.
///
/// # Errors
/// Where the database fails.
pub(super) fn doubt(
    shop: &Shop,
    act: Act,
    typed: &Typed,
    plug_id: Option<Uuid>,
) -> Result<Option<Doubt>, Refusal> {
    match (act, plug_id) {
        (Act::Issue | Act::Reserve, Some(plug_id)) => of_build(shop, typed, plug_id),
        (Act::Receive, _) => of_supplier(shop, typed),
        _ => Ok(None),
    }
}

/// A part that fails the build that it goes to, told or that of the reservation.
fn of_build(shop: &Shop, typed: &Typed, plug_id: Uuid) -> Result<Option<Doubt>, Refusal> {
    let build = match typed.one("build").parse::<Uuid>() {
        Ok(build) => Some(build),
        Err(_) => reserved_for(shop, plug_id, typed.one("reservation_id"))?,
    };
    let Some(build) = build else { return Ok(None) };
    let beware = stock::beware_of_build(shop, plug_id, build)?;
    let said = beware.cautions.into_iter();
    let said: Vec<String> = said
        .filter(|caution| OF_ITS_BUILD.contains(&caution.code))
        .map(|caution| marked(caution.text))
        .collect();
    Ok((!said.is_empty()).then(|| Doubt {
        about: format!("{plug_id} {build}"),
        field: "build",
        text: said.join(" "),
    }))
}

/// The build that a reservation is for.
fn reserved_for(shop: &Shop, plug_id: Uuid, reservation: &str) -> Result<Option<Uuid>, Refusal> {
    if reservation.is_empty() {
        return Ok(None);
    }
    let kept = open_reservations(shop, plug_id)?;
    let own = kept.iter().find(|r| r.id.to_string() == reservation);
    Ok(own.and_then(|own| own.build_id))
}

/// A supplier that there is not yet, and those that are spelled nearly so.
fn of_supplier(shop: &Shop, typed: &Typed) -> Result<Option<Doubt>, Refusal> {
    let name = typed.one("supplier");
    let called = stock_lists::places_called(shop, name)?;
    if name.is_empty() || called.iter().any(|p| p.kind == PlaceKind::Supplier) {
        return Ok(None);
    }
    let known = shop.places(&[PlaceKind::Supplier])?.into_iter();
    let near: Vec<String> = known
        .map(|place| place.name)
        .filter(|own| nearness(name, own).is_some())
        .collect();
    let text = match near.is_empty() {
        true => say_with("counter-new-supplier", &[("name", &name)]),
        false => say_with(
            "counter-new-supplier-or-near",
            &[("name", &name), ("near", &near.join(", "))],
        ),
    };
    Ok(Some(Doubt {
        about: name.to_lowercase(),
        field: "supplier",
        text,
    }))
}
