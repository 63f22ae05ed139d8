//! Labels of lots and places, one by one as pictures and many as a page for print.

use actix_web::{get, web};
use plugwell_domain::fault::{Fault, FaultCode};
use utoipa::IntoParams;
use uuid::Uuid;

use crate::drawing::label::{self, Dpi, Medium, STYLE, Size};
use crate::http::answer::{Answer, ask, page_for_print, picture};
use crate::http::etag::IfNoneMatch;
use crate::http::problem::Problem;
use crate::http::query::{CheckedQuery, FromQuery, Members};
use crate::http::request::Id;
use crate::service::labels::{Label, of_all, of_lot, of_place};
use crate::service::{Refusal, Shop};

/// Most labels of one page for print.
pub const LABELS: usize = 200;

/// How a label is drawn.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct LabelQuery {
    /// Width by height in millimetres: `62x29` where it is not said, `57x32` or `50x25`.
    #[param(value_type = Option<String>, pattern = "^(62x29|57x32|50x25)$")]
    pub size: Option<Size>,
    /// Dots to the inch of the printer, of which every bar is a whole number: `203` where it is not
    /// said, or `300`.
    #[param(value_type = Option<String>, pattern = "^(203|300)$")]
    pub dpi: Option<Dpi>,
}

impl FromQuery for LabelQuery {
    fn take(members: &mut Members) -> Self {
        Self {
            size: members.word("size"),
            dpi: members.word("dpi"),
        }
    }
}

impl LabelQuery {
    fn draw(&self, one: &Label) -> Result<String, Problem> {
        let size = self.size.unwrap_or(Size::L62x29);
        let dpi = self.dpi.unwrap_or(Dpi::D203);
        label::label(one, size, dpi).map_err(Problem::internal)
    }
}

/// Draws the label of a lot: Code 128 of its code, the part, thread, reach, heat index, resistor in
/// words, and the gap where it is gapped.
#[utoipa::path(
    operation_id = "draw_lot_label", tag = "pictures", params(Id, LabelQuery),
    responses((status = 200, description = "The label.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/labels/lots/{id}.svg")]
pub async fn draw_lot_label(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<LabelQuery>, Problem>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let label = of_lot(shop, id.0)?;
        query?.0.draw(&label)
    });
    Ok(picture(drawn.await?, &known))
}

/// Draws the label of a place: Code 128 of its code, and its name large.
#[utoipa::path(
    operation_id = "draw_place_label", tag = "pictures", params(Id, LabelQuery),
    responses((status = 200, description = "The label.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/labels/places/{id}.svg")]
pub async fn draw_place_label(
    shop: web::Data<Shop>,
    id: Id,
    query: Result<CheckedQuery<LabelQuery>, Problem>,
    known: IfNoneMatch,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let label = of_place(shop, id.0)?;
        query?.0.draw(&label)
    });
    Ok(picture(drawn.await?, &known))
}

/// Which labels are printed, and on what.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct SheetQuery {
    /// Lots; may stand several times.
    #[param(required = false, max_items = 200)]
    pub lots: Vec<Uuid>,
    /// Places; may stand several times. All in all 1 to 200 labels.
    #[param(required = false, max_items = 200)]
    pub places: Vec<Uuid>,
    /// A roll of `62x29` where it is not said, `57x32` or `50x25` millimetres, or sheets `a4` or `letter`.
    #[param(value_type = Option<String>, pattern = "^(62x29|57x32|50x25|a4|letter)$")]
    pub size: Option<Medium>,
    /// Dots to the inch of the printer: `203`, on sheets `300`, where it is not said.
    #[param(value_type = Option<String>, pattern = "^(203|300)$")]
    pub dpi: Option<Dpi>,
}

impl FromQuery for SheetQuery {
    fn take(members: &mut Members) -> Self {
        let [lots, places] = ["lots", "places"].map(|name| {
            let (mut ids, mut wrong) = (Vec::new(), Vec::new());
            for text in members.all(name) {
                match text.parse() {
                    Ok(id) => ids.push(id),
                    Err(_) => wrong.push(text),
                }
            }
            for text in wrong {
                let detail = format!("{text:?} is not a UUID");
                members.fault(name, FaultCode::WrongForm, detail);
            }
            ids
        });
        let given = members.given();
        let count = given
            .iter()
            .filter(|(name, _)| name == "lots" || name == "places");
        let count = count.count();
        if count == 0 {
            let detail = "say which lots or places: lots=…&lots=…&places=…";
            members.fault("lots", FaultCode::Missing, detail);
        } else if count > LABELS {
            let detail = format!("at most {LABELS} labels at once, not {count}");
            members.fault("lots", FaultCode::OutOfRange, detail);
        }
        Self {
            lots,
            places,
            size: members.word("size"),
            dpi: members.word("dpi"),
        }
    }
}

/// A page for print with the labels of lots and places: one on each page of a roll, or side by side on
/// sheets to be cut.
#[utoipa::path(
    operation_id = "get_label_sheet", tag = "pictures", params(SheetQuery),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html"))
)]
#[get("/v1/labels/sheet")]
pub async fn get_label_sheet(
    shop: web::Data<Shop>,
    CheckedQuery(query): CheckedQuery<SheetQuery>,
) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let labels = of_all(shop, &query.lots, &query.places).map_err(in_query)?;
        let medium = query.size.unwrap_or(Medium::L62x29);
        let dpi = query.dpi.unwrap_or(medium.usual_dpi());
        label::sheet(&labels, medium, dpi).map_err(Problem::internal)
    });
    Ok(page_for_print(drawn.await?, &[STYLE]))
}

/// What the use case says of lots and places is said of the query here.
fn in_query(refusal: Refusal) -> Problem {
    let Refusal::Faults(faults) = refusal else {
        return refusal.into();
    };
    let named = faults.into_iter().map(|fault| Fault {
        pointer: fault.pointer.replace("#/", "?"),
        ..fault
    });
    Problem::faults(named.collect())
}
