//! The line of those who wait as this process remembers it: who is offered what, and whom a change concerns.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use plugwell_domain::fit::fits;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::waiting::{Offered, WaitingFit, in_turn};
use plugwell_store::InLine;
use uuid::Uuid;

/// One that waits, and what it needs, as it was derived when it asked.
#[derive(Debug)]
pub(super) struct Waits {
    /// As the database has it.
    pub(super) place: InLine,
    pub(super) needs: Requirement,
}

impl Waits {
    /// Plugs that it has not got yet.
    pub(super) fn open_quantity(&self) -> i64 {
        self.place.job.data.open_quantity
    }
}

/// What was read of the line: all of it, or those that may have come, changed or gone.
#[derive(Debug)]
pub(super) enum Read {
    /// Everybody who waits.
    Whole(Vec<InLine>),
    /// These jobs, and which of them wait.
    Named(HashSet<Uuid>, Vec<InLine>),
}

impl Read {
    /// Those who wait.
    pub(super) fn waiting(&self) -> &[InLine] {
        match self {
            Self::Whole(line) | Self::Named(_, line) => line,
        }
    }
}

/// Whose turn has to be worked out again.
#[derive(Debug, Default)]
pub(super) struct Concerned {
    /// Jobs, whatever they are offered.
    jobs: BTreeSet<Uuid>,
    /// Parts that somebody is or was offered: everybody who is offered them.
    parts: HashSet<Uuid>,
    /// Jobs whose offers are others than the database has.
    reoffered: HashSet<Uuid>,
}

/// A job for which something is to be written: its offers or what is left for it.
#[derive(Debug)]
pub(super) struct Turn {
    pub(super) place: InLine,
    pub(super) fits: Vec<WaitingFit>,
}

/// The line, in the order in which they asked: the ids are in that order.
#[derive(Debug, Default)]
pub(super) struct Remembered {
    /// What the database says as long as this is its line; nothing where it has to be read anew.
    position: Option<String>,
    waits: BTreeMap<Uuid, Waits>,
    /// Who is offered a part.
    offered: HashMap<Uuid, BTreeSet<Uuid>>,
}

impl Remembered {
    /// Whether this is the line of a database that says this, but for what its marks name.
    pub(super) fn is_of(&self, position: Option<&str>) -> bool {
        self.position.is_some() && self.position.as_deref() == position
    }

    /// From here on it is the line of a database that says this.
    pub(super) fn be_of(&mut self, position: String) {
        self.position = Some(position);
    }

    /// One that waits.
    pub(super) fn get(&self, id: Uuid) -> Option<&Waits> {
        self.waits.get(&id)
    }

    /// Everybody who waits.
    pub(super) fn ids(&self) -> impl Iterator<Item = Uuid> {
        self.waits.keys().copied()
    }

    /// Takes over what was read, with the needs of those that are new here. Until it is said of which
    /// state of the database this is the line, it has to be read anew.
    pub(super) fn take(&mut self, read: Read, mut needs: HashMap<Uuid, Requirement>) -> Concerned {
        self.position = None;
        let mut concerned = Concerned::default();
        let (leaving, line): (Vec<Uuid>, _) = match read {
            Read::Whole(line) => (self.ids().collect(), line),
            Read::Named(ids, line) => (ids.into_iter().collect(), line),
        };
        for id in leaving {
            if let Some(left) = self.leave(id) {
                let parts = left.place.offers.iter().map(|offer| offer.plug_id);
                concerned.parts.extend(parts);
                needs.insert(id, left.needs);
            }
        }
        for place in line {
            let id = place.job.id;
            if let Some(needs) = needs.remove(&id) {
                concerned.jobs.insert(id);
                self.join(Waits { place, needs });
            }
        }
        concerned
    }

    fn join(&mut self, waits: Waits) {
        let id = waits.place.job.id;
        for offer in &waits.place.offers {
            self.offered.entry(offer.plug_id).or_default().insert(id);
        }
        self.waits.insert(id, waits);
    }

    fn leave(&mut self, id: Uuid) -> Option<Waits> {
        let left = self.waits.remove(&id)?;
        for offer in &left.place.offers {
            self.withdrawn(offer.plug_id, id);
        }
        Some(left)
    }

    fn withdrawn(&mut self, part: Uuid, id: Uuid) {
        if let Some(jobs) = self.offered.get_mut(&part) {
            jobs.remove(&id);
            if jobs.is_empty() {
                self.offered.remove(&part);
            }
        }
    }

    /// Those that a part concerns of which so much can be had: who is offered it, and whom it would do.
    pub(super) fn concerned_by(&self, part: Uuid, had: Option<(&Plug, i64)>) -> BTreeSet<Uuid> {
        let mut jobs = self.offered.get(&part).cloned().unwrap_or_default();
        if let Some((plug, there)) = had.filter(|(_, there)| *there > 0) {
            let served = self.waits.iter().filter(|(id, waits)| {
                waits.open_quantity() <= there && !jobs.contains(id) && fits(&waits.needs, plug)
            });
            let served: Vec<Uuid> = served.map(|(id, _)| *id).collect();
            jobs.extend(served);
        }
        jobs
    }

    /// Offers a job other parts than before.
    pub(super) fn offer(&mut self, id: Uuid, offers: Vec<Offered>, concerned: &mut Concerned) {
        let Some(waits) = self.waits.get_mut(&id) else {
            return;
        };
        if waits.place.offers == offers {
            return;
        }
        let before = std::mem::replace(&mut waits.place.offers, offers.clone());
        for offer in before {
            concerned.parts.insert(offer.plug_id);
            self.withdrawn(offer.plug_id, id);
        }
        for offer in offers {
            concerned.parts.insert(offer.plug_id);
            self.offered.entry(offer.plug_id).or_default().insert(id);
        }
        concerned.jobs.insert(id);
        concerned.reoffered.insert(id);
    }

    /// Works out what is left for those that are concerned, and for whoever shares an offer with them, one
    /// part leading to the next: nobody else's turn can have changed.
    pub(super) fn turns(&self, concerned: Concerned) -> Vec<Turn> {
        let Concerned {
            mut jobs,
            mut parts,
            reoffered,
        } = concerned;
        let shares = |id: &Uuid| {
            let offers = self.waits.get(id).map_or(&[][..], |own| &own.place.offers);
            offers.iter().map(|offer| offer.plug_id)
        };
        parts.extend(jobs.iter().flat_map(shares));
        let mut open: Vec<Uuid> = parts.iter().copied().collect();
        while let Some(part) = open.pop() {
            for id in self.offered.get(&part).into_iter().flatten() {
                if jobs.insert(*id) {
                    open.extend(shares(id).filter(|part| parts.insert(*part)));
                }
            }
        }
        let line: Vec<&Waits> = jobs.iter().filter_map(|id| self.waits.get(id)).collect();
        let asked = line
            .iter()
            .map(|own| (own.open_quantity(), &*own.place.offers));
        let left = in_turn(asked);
        let turns = line.into_iter().zip(left).filter(|(own, fits)| {
            let job = &own.place.job;
            reoffered.contains(&job.id) || job.data.fits != *fits
        });
        turns
            .map(|(own, fits)| Turn {
                place: own.place.clone(),
                fits,
            })
            .collect()
    }

    /// Takes over what was written.
    pub(super) fn written(&mut self, place: InLine) {
        if let Some(waits) = self.waits.get_mut(&place.job.id) {
            waits.place.job = place.job;
        }
    }
}

#[cfg(test)]
mod tests;
