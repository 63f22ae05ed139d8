//! What forms know of the shop: its currency, and the parts, lots, places and records that a text means.

use plugwell_domain::ledger::{Place, PlaceKind};

use crate::pages::part::{self, Meant};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, builds, heads, scales, stock_lists};

/// Most records of a kind that a form knows by name.
const OFFERED: i64 = 10_000;

/// Records that a form offers by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stored {
    Head,
    Build,
    HeatScale,
}

/// What a form has to know of the shop.
pub(super) trait Known {
    /// The shop's currency.
    fn currency(&self) -> String;
    /// The part that a text means, or a sentence.
    fn part(&self, text: &str) -> Result<Result<String, String>, Refusal>;
    /// The lot that a text means, or a sentence.
    fn lot(&self, text: &str) -> Result<Result<String, String>, Refusal>;
    /// Places of some kinds that are in use.
    fn places(&self, kinds: &[PlaceKind]) -> Result<Vec<Place>, Refusal>;
    /// Records by id and name.
    fn stored(&self, which: Stored) -> Result<Vec<(String, String)>, Refusal>;
}

impl Known for Shop {
    fn currency(&self) -> String {
        self.policy().values.currency.value.clone()
    }

    fn part(&self, text: &str) -> Result<Result<String, String>, Refusal> {
        Ok(match part::meant(self, text)? {
            Meant::This(plug) => Ok(plug.id.to_string()),
            Meant::Perhaps(some) if some.is_empty() => Err(say("pages-no-part-known").into()),
            Meant::Perhaps(some) => {
                let names: Vec<_> = some.iter().map(part::name).collect();
                Err(say_with(
                    "pages-write-whole-part-number-names",
                    &[("names", &names.join(", "))],
                ))
            }
        })
    }

    fn lot(&self, text: &str) -> Result<Result<String, String>, Refusal> {
        let found = stock_lists::lot_coded(self, text)?;
        Ok(found.map(|lot| lot.id.to_string()).ok_or_else(|| {
            say_with(
                "pages-no-lot-here-bears-text",
                &[("text", &format!("{text:?}"))],
            )
        }))
    }

    fn places(&self, kinds: &[PlaceKind]) -> Result<Vec<Place>, Refusal> {
        let mut all = Vec::new();
        for kind in kinds {
            all.extend(stock_lists::places(self, Some(*kind), None, None, OFFERED)?);
        }
        all.retain(|place| !place.retired);
        Ok(all)
    }

    fn stored(&self, which: Stored) -> Result<Vec<(String, String)>, Refusal> {
        let named =
            |name: Option<String>| name.unwrap_or_else(|| say("pages-without-a-name").into());
        Ok(match which {
            Stored::Head => heads::list(self, None, OFFERED)?
                .into_iter()
                .map(|head| (head.id.to_string(), named(head.data.name)))
                .collect(),
            Stored::Build => builds::list(self, None, OFFERED)?
                .into_iter()
                .map(|build| (build.id.to_string(), named(build.data.name)))
                .collect(),
            Stored::HeatScale => scales::list(self, None, OFFERED)?
                .into_iter()
                .map(|scale| {
                    let data = scale.data;
                    (
                        scale.id.to_string(),
                        format!("{} {}", data.maker, data.name),
                    )
                })
                .collect(),
        })
    }
}

/// A shop of tests: it knows one part, and nothing else.
#[cfg(test)]
pub(super) struct OnePart;

#[cfg(test)]
impl Known for OnePart {
    fn currency(&self) -> String {
        "USD".into()
    }

    fn part(&self, text: &str) -> Result<Result<String, String>, Refusal> {
        Ok(if text == "FW-1" {
            Ok("7".to_owned())
        } else {
            Err("no part".to_owned())
        })
    }

    fn lot(&self, text: &str) -> Result<Result<String, String>, Refusal> {
        Ok(Err(format!("no lot {text}")))
    }

    fn places(&self, _: &[PlaceKind]) -> Result<Vec<Place>, Refusal> {
        Ok(Vec::new())
    }

    fn stored(&self, _: Stored) -> Result<Vec<(String, String)>, Refusal> {
        Ok(vec![("5".into(), "Cormorant".into())])
    }
}
