//! The worked example that the demo prints: the first build of the shop, matched.

use serde_json::Value;

use crate::cli::table;
use crate::http::match_answer;
use crate::service::matching::{self, Asked, Subject};
use crate::service::{Refusal, Shop, builds};

/// The example as text.
///
/// # Errors
/// Where database or index fail.
pub fn worked(shop: &Shop) -> Result<String, Refusal> {
    let Some(build) = builds::list(shop, None, 1)?.into_iter().next() else {
        return Err(Refusal::Fault("the demo shop has no build".into()));
    };
    let mut shown = serde_json::to_value(&build.data).map_err(|e| Refusal::Fault(e.to_string()))?;
    if let (Some(id), Value::Object(map)) = (build.data.head_id, &mut shown) {
        let head = crate::service::heads::get(shop, id)?;
        map.insert("head_name".into(), head.data.name.into());
    }
    let matched = matching::find(shop, &Asked::of(Subject::Stored(build.id)))?;
    let answer = match_answer::matched(&matched, &shop.policy());
    let head = shown["head_name"]
        .as_str()
        .map_or(String::new(), |name| format!("  over {name}\n"));
    Ok(format!(
        "{}{head}\n{}",
        table::build(&shown),
        table::matched(&answer)
    ))
}
