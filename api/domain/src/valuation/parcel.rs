//! Plugs of known cost that lie together or went together, by the age of their receipt.

use std::collections::VecDeque;

use super::Method;
use crate::ledger::cost;

/// Plugs of one receipt, or under the moving average of all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Slice {
    /// The running number of the receipt; one number for all under the moving average.
    pub age: i64,
    /// Plugs; never none.
    pub quantity: i64,
    /// What they cost together.
    pub minor: i64,
}

/// From which end plugs are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Which {
    /// Those received first.
    Oldest,
    /// Those received last: what comes back of an issue, so that a set of which some come back costs
    /// what the smaller set would have cost.
    Newest,
}

/// Slices, the oldest first, one for each age.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Parcel(VecDeque<Slice>);

/// What the oldest so many plugs of a slice cost.
fn oldest(slice: Slice, quantity: i64, method: Method) -> i64 {
    match method {
        Method::Fifo => cost::share(slice.minor, slice.quantity, 0, quantity),
        Method::MovingAverage => cost::portion(slice.minor, slice.quantity, quantity),
    }
}

impl Parcel {
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All of it: plugs and what they cost.
    pub fn sum(&self) -> (i64, i64) {
        self.0.iter().fold((0, 0), |(quantity, minor), slice| {
            (quantity + slice.quantity, minor + slice.minor)
        })
    }

    /// Lays slices to those of their age.
    pub fn put(&mut self, slices: &[Slice]) {
        for slice in slices {
            match self.0.binary_search_by_key(&slice.age, |own| own.age) {
                Ok(place) => {
                    self.0[place].quantity += slice.quantity;
                    self.0[place].minor += slice.minor;
                }
                Err(place) => self.0.insert(place, *slice),
            }
        }
    }

    /// Takes so many plugs, or all where there are fewer.
    pub fn take(&mut self, mut quantity: i64, which: Which, method: Method) -> Vec<Slice> {
        let mut taken = Vec::with_capacity(1);
        while quantity > 0 {
            let last = match which {
                Which::Oldest => self.0.front_mut(),
                Which::Newest => self.0.back_mut(),
            };
            let Some(slice) = last else { break };
            if slice.quantity <= quantity {
                quantity -= slice.quantity;
                taken.push(*slice);
                match which {
                    Which::Oldest => self.0.pop_front(),
                    Which::Newest => self.0.pop_back(),
                };
                continue;
            }
            let minor = match which {
                Which::Oldest => oldest(*slice, quantity, method),
                Which::Newest => slice.minor - oldest(*slice, slice.quantity - quantity, method),
            };
            taken.push(Slice {
                quantity,
                minor,
                ..*slice
            });
            slice.quantity -= quantity;
            slice.minor -= minor;
            quantity = 0;
        }
        taken
    }

    /// Takes the very plugs that were once brought, as far as they still lie here; how many are
    /// missing then.
    pub fn take_those(&mut self, brought: &[Slice], method: Method) -> (Vec<Slice>, i64) {
        let (mut taken, mut missing) = (Vec::with_capacity(brought.len()), 0);
        for wanted in brought {
            let Ok(place) = self.0.binary_search_by_key(&wanted.age, |own| own.age) else {
                missing += wanted.quantity;
                continue;
            };
            let own = self.0[place];
            if own.quantity <= wanted.quantity {
                missing += wanted.quantity - own.quantity;
                taken.push(own);
                self.0.remove(place);
                continue;
            }
            // Where others of their age have gone at another cost meanwhile, they may have left less.
            let minor = if wanted.minor <= own.minor {
                wanted.minor
            } else {
                oldest(own, wanted.quantity, method)
            };
            taken.push(Slice { minor, ..*wanted });
            self.0[place].quantity -= wanted.quantity;
            self.0[place].minor -= minor;
        }
        (taken, missing)
    }
}
