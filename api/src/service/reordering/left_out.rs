//! Parts that nobody can order, and what to order instead.

use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Alike, LeftOut, LeftOutCode};
use plugwell_domain::words::Status;
use plugwell_store::Session;

use super::gathered::Gathered;
use crate::service::{Refusal, supersession};

/// Most equivalents that are named.
const MOST: usize = 2;

/// Why nobody can order a part.
pub(super) fn unorderable(plug: &Plug) -> Option<LeftOutCode> {
    if plug.retired {
        Some(LeftOutCode::Retired)
    } else if plug.data.superseded_by.is_some() {
        Some(LeftOutCode::Superseded)
    } else if plug.data.status == Status::Discontinued {
        Some(LeftOutCode::Discontinued)
    } else {
        None
    }
}

/// A part that is left out, with what to do about it; `equals` says what could be ordered instead
/// where nothing has taken its place.
pub(super) fn told(
    session: &mut Session,
    plug: &Plug,
    code: LeftOutCode,
    equals: impl Fn() -> String,
) -> Result<LeftOut, Refusal> {
    let text = match code {
        LeftOutCode::Superseded => {
            let line = supersession::line(session, plug.data.superseded_by)?;
            match line.last().map(|next| (name(next), gone(next))) {
                Some((next, None)) => format!("{next} took its place: order that one."),
                Some((next, Some(why))) => format!(
                    "{next} took its place, and cannot be ordered either: {why}. {}",
                    equals()
                ),
                None => format!("Nobody knows the part that took its place. {}", equals()),
            }
        }
        LeftOutCode::Discontinued => format!("Its maker no longer supplies it. {}", equals()),
        _ => "Its record is retired: bring it back before ordering more of it.".to_owned(),
    };
    Ok(LeftOut {
        plug_id: plug.id,
        maker: plug.data.maker.clone(),
        part_number: plug.data.part_number.clone(),
        code,
        text,
    })
}

/// What could be ordered instead of others.
pub(super) struct Instead<'a>(Alike<'a, ()>);

impl<'a> Instead<'a> {
    /// The parts that can be ordered among those that were read.
    pub fn of(gathered: &'a Gathered) -> Self {
        let parts = gathered.plugs().iter();
        let orderable = parts.filter(|plug| unorderable(plug).is_none());
        Self(orderable.map(|plug| (plug, ())).collect())
    }

    /// What equals a part and can be ordered.
    pub fn equals(&self, plug: &Plug, policy: &Policy) -> String {
        let found = self.0.to(plug, policy);
        if found.is_empty() {
            return "No part that the shop deals in equals it and can be ordered: look for an equivalent in the \
                    catalogue."
                .to_owned();
        }
        let named = found.iter().take(MOST).map(|(other, (), graded)| {
            let mut words = graded.words();
            for caution in graded.cautions() {
                words.push_str(". ");
                words.push_str(&caution.text);
            }
            format!("{} ({})", name(other), words.trim_end_matches('.'))
        });
        let named: Vec<String> = named.collect();
        format!(
            "What can be ordered and comes nearest: {}. Whether it fits, the makers of plug and head say.",
            named.join("; ")
        )
    }
}

fn name(plug: &Plug) -> String {
    format!("{} {}", plug.data.maker, plug.data.part_number)
}

/// Why the end of a line of successors cannot be ordered.
fn gone(plug: &Plug) -> Option<&'static str> {
    unorderable(plug).map(|code| match code {
        LeftOutCode::Retired => "its record is retired",
        LeftOutCode::Superseded => "nobody knows the part that took its place",
        _ => "its maker no longer supplies it",
    })
}
