//! What is equal to a part, and what is known of one that the catalogue lacks.

use actix_web::{get, web};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::fit::StockMode;
use plugwell_domain::plug::NAME_MAX;
use plugwell_domain::stand_in::PartName;
use utoipa::IntoParams;

use crate::http::answer::{Answer, ask, ok};
use crate::http::equivalent_answer::{equivalents, incomplete, named};
use crate::http::equivalent_shapes::{EquivalentsAnswer, NamedAnswer};
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Id;
use crate::service::equivalents::{self, Asked, Found};
use crate::service::{Shop, catalogue};

/// How equivalents are asked for.
#[derive(Debug, Clone, Copy, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct EquivalentQuery {
    /// How much of an equivalent has to be there: `ignore` where nothing is said.
    stock: Option<StockMode>,
    /// Plugs wanted; 1 where nothing is said.
    #[param(minimum = 1, maximum = 1_000_000)]
    quantity: Option<i64>,
    /// Most equivalents by attributes; 20 where nothing is said. Those that statements name as well
    /// are in the answer wherever they stand.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<usize>,
}

impl FromQuery for EquivalentQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            stock: members.word("stock"),
            quantity: members.within("quantity", "a whole number", 1..=1_000_000),
            limit: members.within("limit", "a whole number", 1..=200),
        }
    }
}

impl From<EquivalentQuery> for Asked {
    fn from(query: EquivalentQuery) -> Self {
        Self {
            quantity: query.quantity.unwrap_or(1),
            stock: query.stock.unwrap_or(StockMode::Ignore),
            limit: query.limit.unwrap_or(20),
        }
    }
}

/// A part by its name.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct NameQuery {
    /// The maker, case-blind.
    #[param(min_length = 1, max_length = 80)]
    maker: String,
    /// The part number, case-blind.
    #[param(min_length = 1, max_length = 80)]
    part_number: String,
}

impl FromQuery for NameQuery {
    fn take(members: &mut Members) -> Self {
        let mut name = |member: &str| {
            let Some(text) = members.text(member) else {
                let detail = format!("{member} has to be given");
                members.fault(member, FaultCode::Missing, detail);
                return String::new();
            };
            let text = text.trim().to_owned();
            if text.is_empty() || text.chars().count() > NAME_MAX {
                let detail = format!("a text of 1 to {NAME_MAX} characters");
                members.fault(member, FaultCode::OutOfRange, detail);
            }
            text
        };
        Self {
            maker: name("maker"),
            part_number: name("part_number"),
        }
    }
}

/// Shows what is equal to a part: by its attributes, graded in words, and by what statements say.
///
/// By attributes these are exactly the fits of the part's own requirement, in their order, the part
/// itself left out. What statements say and the attributes do not let in stands in `disagreements`.
#[utoipa::path(
    operation_id = "list_equivalents", tag = "matching", params(Id, EquivalentQuery),
    responses(
        (status = 200, description = "The equivalents, best first.", body = EquivalentsAnswer),
        (status = 409, description = "`requirement_incomplete`; the members `lacks`, `asserted`, `asserted_elsewhere` and `superseded_by` say what is known all the same.")
    )
)]
#[get("/v1/plugs/{id}/equivalents")]
pub async fn list_equivalents(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<EquivalentQuery>, Problem>,
) -> Answer {
    let found = ask(&shop, move |shop| {
        catalogue::get(shop, id.0)?;
        let CheckedQuery(query) = query?;
        Ok::<_, Problem>(equivalents::of(shop, id.0, query.into())?)
    });
    match found.await? {
        Found::Equivalents(found) => ok(&equivalents(&found, &shop.policy())),
        Found::Incomplete(found) => Err(incomplete(&found, &shop.policy())),
    }
}

/// Shows what is known of a part by its name, also where the catalogue lacks it: near spellings, what
/// statements say stands in for it, and what it stands in for itself.
#[utoipa::path(
    operation_id = "find_equivalents", tag = "matching", params(NameQuery, EquivalentQuery),
    responses((status = 200, description = "What is known of it.", body = NamedAnswer))
)]
#[get("/v1/equivalents")]
pub async fn find_equivalents(
    shop: web::Data<Shop>,
    query: CheckedQuery<(NameQuery, EquivalentQuery)>,
) -> Answer {
    let CheckedQuery((NameQuery { maker, part_number }, asked)) = query;
    let name = PartName { maker, part_number };
    let found = ask(&shop, move |shop| {
        equivalents::of_name(shop, name, asked.into())
    });
    ok(&named(&found.await?, &shop.policy()))
}
