//! The equivalents of a part as a page shows them: grade in words, differences, who says so.

use plugwell_domain::fit::StockMode;
use plugwell_domain::plug::Plug;
use uuid::Uuid;

use crate::pages::part::name;
use crate::pages::words::{say, say_with};
use crate::service::equivalents::{self, Asked, Found, Item, Stocked, Successor, Way};
use crate::service::{Refusal, Shop};
use crate::shown::marked;

/// Most equivalents that are shown.
const SHOWN: usize = 12;

/// What is told of a part's equivalents.
#[derive(Debug, Default)]
pub(super) struct Equals {
    /// How many there are, or why none can be told.
    pub said: String,
    /// Those that pass every must.
    pub items: Vec<Equal>,
    /// Statements that the attributes do not bear out.
    pub disagreements: Vec<String>,
    /// Parts that statements name and the catalogue lacks, or that nothing was compared of.
    pub by_word_only: Vec<Equal>,
    /// What took its place.
    pub successors: Vec<Equal>,
}

/// Another part.
#[derive(Debug)]
pub(super) struct Equal {
    pub name: String,
    /// Where it stands; empty where the catalogue lacks it.
    pub path: String,
    /// How near it comes, in words.
    pub words: String,
    /// In what it differs: what, here, there.
    pub differences: Vec<(&'static str, String, String)>,
    /// Plugs that can be had; nothing where the catalogue lacks it.
    pub available: Option<i64>,
    /// Who signed that it stands in, where anybody did.
    pub signed: String,
    pub cautions: Vec<String>,
    /// Where both stand side by side.
    pub compare: String,
}

/// Tells a part's equivalents, those on the shelf or not; the order is that of fits.
pub(super) fn of(shop: &Shop, plug: &Plug) -> Result<Equals, Refusal> {
    let asked = Asked {
        quantity: 1,
        stock: StockMode::Ignore,
        limit: SHOWN,
    };
    let by_word = |name: String, way: &Way| Equal {
        signed: way.signed_by.join(say("pages-and")),
        ..unknown(name)
    };
    Ok(match equivalents::of(shop, plug.id, asked)? {
        Found::Equivalents(found) => Equals {
            said: match found.in_catalogue {
                0 => say("parts-no-other-part-catalogue-passes").to_owned(),
                others => say_with(
                    "parts-others-pass-every-must",
                    &[("others", &others), ("in_stock", &found.in_stock)],
                ),
            },
            items: found
                .items
                .iter()
                .map(|item| equal(plug.id, item))
                .collect(),
            disagreements: found
                .disagreements
                .iter()
                .map(|d| marked(d.text.clone()))
                .collect(),
            by_word_only: found
                .elsewhere
                .iter()
                .map(|e| by_word(e.name.to_string(), &e.way))
                .collect(),
            successors: found
                .successors
                .iter()
                .map(|s| successor(plug.id, s))
                .collect(),
        },
        Found::Incomplete(found) => {
            let lacks: Vec<_> = found
                .lacks
                .iter()
                .map(|a| a.declared().label.to_lowercase())
                .collect();
            let asserted = found.asserted.iter().map(|one| Equal {
                signed: one.way.signed_by.join(say("pages-and")),
                ..stocked(plug.id, &one.part)
            });
            let elsewhere = found.elsewhere.iter();
            let elsewhere = elsewhere.map(|e| by_word(e.name.to_string(), &e.way));
            Equals {
                said: say_with(
                    "parts-nobody-has-established-lacks-part",
                    &[("lacks", &lacks.join(", "))],
                ),
                by_word_only: asserted.chain(elsewhere).collect(),
                successors: found
                    .successors
                    .iter()
                    .map(|s| successor(plug.id, s))
                    .collect(),
                ..Equals::default()
            }
        }
    })
}

fn unknown(name: String) -> Equal {
    Equal {
        name,
        path: String::new(),
        words: String::new(),
        differences: Vec::new(),
        available: None,
        signed: String::new(),
        cautions: Vec::new(),
        compare: String::new(),
    }
}

fn stocked(own: Uuid, part: &Stocked) -> Equal {
    Equal {
        path: format!("/parts/{}", part.plug.id),
        available: Some(part.available),
        compare: format!("/compare?part={own}&part={}", part.plug.id),
        ..unknown(name(&part.plug))
    }
}

fn successor(own: Uuid, successor: &Successor) -> Equal {
    Equal {
        words: successor
            .opinion
            .as_ref()
            .map(|o| o.words())
            .unwrap_or_default(),
        ..stocked(own, &successor.part)
    }
}

fn equal(own: Uuid, item: &Item) -> Equal {
    let plug = &item.fit.plug;
    let differences = item.graded.differences.iter().map(|difference| {
        let attr = difference.attribute;
        let shown = |raw: Option<i64>| {
            raw.map_or_else(
                || say("pages-unknown").to_owned(),
                |raw| marked(attr.show(raw)),
            )
        };
        (
            attr.declared().label,
            shown(difference.own),
            shown(difference.other),
        )
    });
    let signed = item
        .way
        .as_ref()
        .map(|way| way.signed_by.join(say("pages-and")));
    Equal {
        name: name(plug),
        path: format!("/parts/{}", plug.id),
        words: item.graded.words(),
        differences: differences.collect(),
        available: Some(item.fit.available),
        signed: signed.unwrap_or_default(),
        cautions: item
            .fit
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        compare: format!("/compare?part={own}&part={}", plug.id),
    }
}
