//! Parts that could stand in for others, found quickly among many.

use std::collections::HashMap;

use crate::attribute::Attr;
use crate::equivalent::{Graded, Opinion};
use crate::fit::fits;
use crate::plug::{Plug, Shows};
use crate::policy::Policy;
use crate::requirement::of_part;

/// Parts, each with something that is known of it, by what equivalents have to share.
#[derive(Debug, Clone)]
pub struct Alike<'a, T>(HashMap<[Option<i64>; 2], Vec<(&'a Plug, T)>>);

/// Thread and seat: never interchangeable.
fn shape(plug: &Plug) -> [Option<i64>; 2] {
    [plug.shown(Attr::Thread), plug.shown(Attr::Seat)]
}

impl<'a, T> FromIterator<(&'a Plug, T)> for Alike<'a, T> {
    fn from_iter<I: IntoIterator<Item = (&'a Plug, T)>>(parts: I) -> Self {
        let mut by_shape: HashMap<_, Vec<(&Plug, T)>> = HashMap::new();
        for (plug, known) in parts {
            by_shape.entry(shape(plug)).or_default().push((plug, known));
        }
        Self(by_shape)
    }
}

impl<'a, T> Alike<'a, T> {
    /// The parts that pass every must of another, never hotter than scales can tell, the nearest
    /// first. None for a part that lacks what equivalents are found by, and never the part itself.
    pub fn to(&self, part: &Plug, policy: &Policy) -> Vec<(&'a Plug, &T, Graded)> {
        let Some(like) = self.0.get(&shape(part)) else {
            return Vec::new();
        };
        let Ok(need) = of_part(part, policy) else {
            return Vec::new();
        };
        // Why a part is no equivalent is not asked here, and takes longer to say than that it is none.
        let others = like
            .iter()
            .filter(|(other, _)| other.id != part.id && fits(&need, *other));
        let mut found: Vec<_> = others
            .filter_map(
                |(other, known)| match Opinion::of(part, *other, &need, &policy.values) {
                    Opinion::Equivalent(graded) => Some((*other, known, graded)),
                    Opinion::Unconfirmed(_) | Opinion::Contradicted(_) => None,
                },
            )
            .collect();
        found.sort_by_key(|(other, _, graded)| (graded.grade, other.id));
        found
    }
}
