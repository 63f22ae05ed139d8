//! A look at the shelf for a day: which parts are there, and what they would cost.

use std::collections::HashMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fit::{StockMode, fits, judge, rules_out};
use plugwell_domain::ledger::Shelf;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::tuning_day::{Filling, Looked, Offer, put_in_order};
use plugwell_indexer::Question;
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// Parts that are priced, best fits first.
const LOOKED_AT: usize = 200;

/// A look at what the shelf has for a day.
pub(super) struct Look<'a> {
    pub shop: &'a Shop,
    pub policy: &'a Policy,
    pub needed: &'a Requirement,
    pub quantity: i64,
    /// Whether what is missing can still be ordered in time.
    pub in_time: bool,
}

impl Look<'_> {
    /// What the parts that fit offer, in the order of preference: those there in full, else those
    /// there at all, else whatever the catalogue has.
    pub fn best(&self, session: &mut Session) -> Result<Looked, Refusal> {
        let mut looked = self.offers(session, StockMode::Enough)?;
        // Gapped plugs count for a match, not for a reading.
        if looked.offers.iter().any(|offer| offer.enough) {
            return Ok(looked);
        }
        looked = self.offers(session, StockMode::Some)?;
        let serves = |o: &Offer| o.available > 0 && (o.orderable || !self.in_time);
        if looked.offers.iter().any(serves) {
            return Ok(looked);
        }
        self.offers(session, StockMode::Ignore)
    }

    fn offers(&self, session: &mut Session, stock: StockMode) -> Result<Looked, Refusal> {
        let question = Question {
            requirement: self.needed,
            quantity: self.quantity,
            stock,
            // One more tells whether there are more.
            limit: LOOKED_AT + 1,
            near_misses: 0,
        };
        let found = {
            let shelves = self.shop.shelves.read();
            self.shop.index.search(&question, &shelves)?
        };
        let more = found.fits.len() > LOOKED_AT;
        let nearest = found.fits.iter().take(LOOKED_AT);
        let ids: Vec<Uuid> = nearest.map(|hit| hit.id).collect();
        let mut records: HashMap<Uuid, Plug> = session
            .plugs_by_id(&ids)?
            .into_iter()
            .map(|plug| (plug.id, plug))
            .collect();
        let mut shelves = session.shelves_in_bins(&ids)?;
        // The index may be a moment behind the records: what no longer fits is left out.
        let parts = ids
            .iter()
            .filter_map(|id| records.remove(id))
            .filter(|p| !p.retired && fits(self.needed, p));
        let mut offers: Vec<Offer> = parts
            .map(|plug| {
                let shelf = shelves.remove(&plug.id).unwrap_or_default();
                self.offer(&plug, &shelf)
            })
            .collect();
        put_in_order(&mut offers, self.in_time);
        Ok(Looked {
            offers,
            nearest: more.then_some(LOOKED_AT),
            fillings: Vec::new(),
        })
    }

    fn offer(&self, plug: &Plug, shelf: &Shelf) -> Offer {
        let currency = &self.policy.values.currency.value;
        Offer::of(plug, self.needed, shelf, self.quantity, currency)
    }

    /// What the part offers that the caller names.
    pub fn named(&self, session: &mut Session, id: Uuid) -> Result<Offer, Refusal> {
        let refused = |code, detail: String| Refusal::fault(Fault::at("plug_id", code, detail));
        let plug = session
            .plug(id)?
            .ok_or_else(|| refused(FaultCode::NotFound, "there is no such part".into()))?;
        if plug.retired {
            let detail = "the part is retired; bring it back, or leave plug_id null".into();
            return Err(refused(FaultCode::Contradiction, detail));
        }
        let failed: Vec<&str> = self
            .needed
            .musts()
            .filter(|d| rules_out(d, judge(d, plug.shown(d.attribute))))
            .map(|d| Attr::word(d.attribute))
            .collect();
        if !failed.is_empty() {
            let detail = format!(
                "the part does not meet what the build needs of {}; a match says why",
                failed.join(", ")
            );
            return Err(refused(FaultCode::Contradiction, detail));
        }
        let shelf = session.shelf(id, &[])?;
        Ok(self.offer(&plug, &shelf))
    }

    /// Looks at the shelf of the first offer again under its lock, until the first is first still:
    /// somebody else may have taken plugs since it was looked at.
    pub fn settle(&self, session: &mut Session, offers: &mut [Offer]) -> Result<(), Refusal> {
        for _ in 0..offers.len() {
            let id = offers[0].plug.id;
            let Some(plug) = session.plug(id)? else {
                return Ok(());
            };
            let shelf = session.shelf(id, &[])?;
            offers[0] = self.offer(&plug, &shelf);
            put_in_order(offers, self.in_time);
            if offers[0].plug.id == id {
                return Ok(());
            }
        }
        Ok(())
    }

    /// What else lies sealed on the shelf.
    pub fn fillings(&self, session: &mut Session) -> Result<Vec<Filling>, Refusal> {
        let looked = self.offers(session, StockMode::Some)?;
        Ok(looked
            .offers
            .iter()
            .filter(|offer| offer.available > 0)
            .map(Filling::from)
            .collect())
    }
}
