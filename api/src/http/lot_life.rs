//! The whole life of a lot: JSON, a table, a page with its picture.

use actix_web::{get, web};
use plugwell_domain::instant::text;
use plugwell_domain::ledger::{Money, MovementKind, PlaceKind};
use plugwell_domain::money::decimal;
use plugwell_domain::report::life::{LifeOrder, LifeStep, LotLife};
use plugwell_domain::wording::counted;

use crate::drawing::lot_life as drawing;
use crate::http::answer::{Answer, ask, picture};
use crate::http::csv_answer::{ReportForm, Table, report};
use crate::http::etag::IfNoneMatch;
use crate::http::problem::Problem;
use crate::http::request::Id;
use crate::service::{Refusal, Shop, lot_life};
use crate::shown::{clock, day};

impl Table for LotLife {
    const NAME: &'static str = "lot-life";
    const COLUMNS: &'static [&'static str] = &[
        "at",
        "kind",
        "lot",
        "quantity",
        "from_kind",
        "from",
        "from_balance",
        "to_kind",
        "to",
        "to_balance",
        "build",
        "odometer_km",
        "distance_km",
        "readings",
        "reason",
        "note",
        "actor",
        "sequence",
        "order",
    ];

    fn rows(&self) -> impl Iterator<Item = Vec<String>> {
        self.steps.iter().map(|step| row(self, step))
    }

    fn title(&self) -> String {
        format!(
            "The life of lot {}: {} {}",
            self.lot.code, self.maker, self.part_number
        )
    }

    fn about(&self) -> String {
        match self.family.len() {
            1 => format!("From its receipt to now; times are {}.", clock()),
            lots => format!(
                "From its receipt to now, {lots} lots of one family; times are {}.",
                clock()
            ),
        }
    }

    fn notes(&self) -> Vec<String> {
        let came = self.family.iter().filter(|lot| lot.from_lot_id.is_none());
        let mut notes: Vec<String> = came
            .map(|lot| {
                let day = day(lot.received_at);
                format!(
                    "{} came as lot {} from {} on {day}{}.",
                    plugs(lot.quantity_received),
                    lot.code,
                    lot.supplier,
                    cost(lot.total_cost.as_ref())
                )
            })
            .collect();
        notes.extend(self.orders.iter().map(ordered));
        notes.extend(self.now.iter().map(|end| {
            let place = match end.kind {
                PlaceKind::Job => "with jobs and in engines",
                PlaceKind::Bin => "in bins",
                PlaceKind::Quarantine => "in quarantine",
                _ => "in the scrap drum",
            };
            let cost = cost(end.cost.as_ref());
            let now = match self.family.len() {
                1 => "Now",
                _ => "Of the whole family, now",
            };
            format!("{now} {place}: {}{cost}.", plugs(end.quantity))
        }));
        let sound = self.balance.sum == 0 && self.balance.agrees_with_levels;
        notes.push(match sound {
            true => "The books of this lot agree: what left one place came to another.".to_owned(),
            false => "The books do not agree: run plugwell audit.".to_owned(),
        });
        notes
    }

    fn chart(&self) -> Option<String> {
        Some(drawing::lot_life(self))
    }
}

fn plugs(quantity: i64) -> String {
    counted(quantity, "plug")
}

fn cost(money: Option<&Money>) -> String {
    money.map_or_else(String::new, |cost| {
        let sum = decimal(cost.minor, &cost.currency);
        format!(" for {sum} {}", cost.currency)
    })
}

/// The order that a receipt was for.
fn order(life: &LotLife, step: &LifeStep) -> String {
    let mut orders = life.orders.iter();
    let own =
        orders.find(|order| step.kind == MovementKind::Receipt && order.lot_id == step.lot_id);
    own.map(|order| order.order_code.clone())
        .unwrap_or_default()
}

fn ordered(order: &LifeOrder) -> String {
    let expected = order.expected_on.map_or_else(
        || "without a date".to_owned(),
        |day| format!("expected on {}", day.format("%-d %b %Y")),
    );
    format!(
        "Lot {} was ordered with line {} of order {}: {}, {expected}.",
        order.lot_code,
        order.line,
        order.order_code,
        plugs(order.quantity)
    )
}

fn row(life: &LotLife, step: &LifeStep) -> Vec<String> {
    let known = |number: Option<i64>| number.map(|n| n.to_string()).unwrap_or_default();
    let engine = step.engine.as_ref();
    let build = engine.map(|engine| {
        let id = || engine.build_id.to_string();
        engine.build_name.clone().unwrap_or_else(id)
    });
    let readings = engine.map(|engine| engine.readings.len() as i64);
    vec![
        text(&step.at),
        step.kind.word().to_owned(),
        step.lot_code.clone(),
        step.quantity.to_string(),
        step.from.kind.word().to_owned(),
        step.from.name.clone(),
        step.from.balance.to_string(),
        step.to.kind.word().to_owned(),
        step.to.name.clone(),
        step.to.balance.to_string(),
        build.unwrap_or_default(),
        known(engine.and_then(|engine| engine.odometer_km)),
        known(engine.and_then(|engine| engine.distance_km)),
        known(readings),
        step.reason.clone().unwrap_or_default(),
        step.note.clone().unwrap_or_default(),
        step.actor.clone(),
        step.sequence.to_string(),
        order(life, step),
    ]
}

/// Tells the whole life of a lot and of those that descend from it: from the supplier through bins,
/// jobs and quarantine to an engine or the scrap drum, with what each place had after every step.
#[utoipa::path(
    operation_id = "get_lot_life", tag = "stock", params(Id),
    responses(
        (status = 200, description = "The life; its steps as a table, or on a page for print with a picture.", content(
            (LotLife = "application/json"), (String = "text/csv"), (String = "text/html")
        )),
        (status = 406, description = "`not_acceptable`.")
    )
)]
#[get("/v1/stock/lots/{id}/life")]
pub async fn get_lot_life(
    shop: web::Data<Shop>,
    id: Id,
    form: Result<ReportForm, Problem>,
) -> Answer {
    let life = ask(&shop, move |shop| lot_life::of(shop, id.0)).await?;
    report(&shop, form?, &life)
}

/// Draws the life of a lot.
#[utoipa::path(
    operation_id = "draw_lot_life", tag = "pictures", params(Id),
    responses((status = 200, description = "The picture.", body = String, content_type = "image/svg+xml"))
)]
#[get("/v1/stock/lots/{id}/life.svg")]
pub async fn draw_lot_life(shop: web::Data<Shop>, id: Id, known: IfNoneMatch) -> Answer {
    let drawn = ask(&shop, move |shop| {
        let life = lot_life::of(shop, id.0)?;
        Ok::<_, Refusal>(drawing::lot_life(&life))
    });
    Ok(picture(drawn.await?, &known))
}
