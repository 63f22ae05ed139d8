//! Pictures, and the sheet for whoever fits a set.

use actix_web::{HttpRequest, get, post, web};
use plugwell_domain::build::Build;
use plugwell_domain::plug::Plug;
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

use crate::drawing::fitting_card::{Paper, STYLE, fitting_card};
use crate::drawing::{heat_scales, spark};
use crate::http::accept::preferred;
use crate::http::answer::{Answer, ask, by_accept, ok, picture, sheet};
use crate::http::etag::IfNoneMatch;
use crate::http::match_answer;
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members, of_query};
use crate::http::request::{Checked, Id};
use crate::service::fitting::{self, CardOf, FittingCard};
use crate::service::{Refusal, Shop, builds, scales, spark as use_case};
use crate::shown::{Reader, for_reader};

/// Most scales that one picture has room for.
const SCALES: usize = 100;

/// Draws the voltage that a stored build needs against the gap, beside what its coil gives.
#[utoipa::path(
    operation_id = "draw_spark", tag = "pictures", params(Id),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/builds/{id}/spark.svg")]
pub async fn draw_spark(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let (build, curves) = use_case::curves_of_stored(shop, id.0)?;
        Ok::<_, Refusal>(spark::spark(&build, &curves))
    });
    Ok(picture(drawn.await?, &known))
}

/// Draws the same of a build that is not stored.
#[utoipa::path(
    operation_id = "draw_spark_of_build", tag = "pictures", request_body = Build,
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[post("/v1/requirements/spark.svg")]
pub async fn draw_spark_of_build(
    shop: web::Data<Shop>,
    body: Checked<Build>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let curves = use_case::curves(shop, &body.0)?;
        Ok::<_, Refusal>(spark::spark(&body.0, &curves))
    });
    Ok(picture(drawn.await?, &known))
}

/// Whose scales are drawn.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ChartQuery {
    /// Only this maker's, compared case-blind.
    maker: Option<String>,
}

impl FromQuery for ChartQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            maker: members.text("maker"),
        }
    }
}

/// Draws the makers' heat scales side by side along the neutral index, colder up.
#[utoipa::path(
    operation_id = "draw_heat_scales", tag = "pictures", params(ChartQuery),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/heat-scales/chart.svg")]
pub async fn draw_heat_scales(
    shop: web::Data<Shop>,
    CheckedQuery(query): CheckedQuery<ChartQuery>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let (scales, more) = scales::side_by_side(shop, query.maker.as_deref(), SCALES)?;
        Ok::<_, Refusal>(heat_scales::heat_scales(&scales, more))
    });
    Ok(picture(drawn.await?, &known))
}

/// Which part, and on which paper.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct CardQuery {
    /// The part; without it that of the reservation, else the best fit of which there are enough.
    pub plug_id: Option<Uuid>,
    /// The reservation that the plugs are drawn from: what it keeps is there, what others keep is not.
    pub reservation_id: Option<Uuid>,
    /// The paper of the printed form: `a5` where it is not said, or `half_letter`.
    #[param(value_type = Option<String>, pattern = "^(a5|half_letter)$")]
    pub paper: Option<Paper>,
}

impl FromQuery for CardQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            plug_id: members.parsed("plug_id", "a UUID"),
            reservation_id: members.parsed("reservation_id", "a UUID"),
            paper: members.word("paper"),
        }
    }
}

/// The fitting card with the whole record of its part.
#[derive(Debug, Serialize, ToSchema)]
pub struct FittingCardAnswer {
    /// The part.
    #[schema(value_type = Plug)]
    plug: Map<String, Value>,
    /// What to do with it.
    #[serde(flatten)]
    card: FittingCard,
}

/// Says all that whoever fits a set has to know; as a page for print where HTML is accepted.
#[utoipa::path(
    operation_id = "get_fitting_card", tag = "pictures", params(Id, CardQuery),
    responses(
        (status = 200, description = "The card.", content(
            (FittingCardAnswer = "application/json"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`."),
        (status = 409, description = "`does_not_fit` with `fails`, `plug_retired`, `reservation_closed`, or `not_enough_stock` where no part is named.")
    )
)]
#[get("/v1/builds/{id}/fitting-card")]
pub async fn get_fitting_card(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<CardQuery>, Problem>,
    request: HttpRequest,
) -> Answer {
    let form = preferred(&request, &["application/json", "text/html"]);
    let made = ask(&shop, move |shop| {
        builds::get(shop, id.0)?;
        let (form, CheckedQuery(query)) = (form?, query?);
        let of = CardOf {
            plug_id: query.plug_id,
            reservation_id: query.reservation_id,
        };
        let card = fitting::card(shop, id.0, of)
            .map_err(|refusal| of_query(refusal, &["plug_id", "reservation_id"]))?;
        if form == "text/html" {
            let paper = query.paper.unwrap_or_default();
            let html = for_reader(Reader::of(&shop.policy()), || fitting_card(&card, paper));
            let html = html.map_err(|e| Problem::internal(format!("card: {e}")))?;
            return Ok::<_, Problem>(Err(html));
        }
        let plug = match_answer::plug(&card.plug, &shop.policy());
        Ok(Ok(FittingCardAnswer { plug, card }))
    });
    match made.await? {
        Ok(card) => ok(&card).map(by_accept),
        Err(html) => Ok(sheet(html, STYLE)),
    }
}
