//! Every route of the service with the least role that may take it: the one place that says who
//! may do what, read by the guard, by the OpenAPI document and by the tests.

mod patterns;
mod route;

use plugwell_domain::words::Role::{Clerk, Manager, Reader, Tuner};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::http::{
    barcodes, builds, changes, count_reports, counts, dead_stock, equivalents, exports,
    fitment_checks, fitted_sets, heads, health, heat_scales, identifications, imports,
    incoming_checks, labels, lot_life, lots, match_batches, matches, movements, orders, outlines,
    pick_lists, pictures, places, plugs, policy, readings, reorder, reordering, reservations,
    scans, scrap_report, stand_ins, stock_outs, suppliers, tokens, tuning_days, turns, usage,
    value_report, waiting_jobs, webhooks,
};

pub use patterns::{allowed, cost, is_api, label, method, of_pattern, pattern, taken};
pub use route::{Brings, Least, Route};
use route::{change, get, once, open, post, table};

/// Every route.
#[rustfmt::skip]
pub const ROUTES: &[Route] = &[
    open("GET", "/livez",        "livez").costing(0),
    open("GET", "/readyz",       "readyz"),
    open("GET", "/openapi.json", "openapi"),
    Route { method: "GET", path: "/metrics", least: Least::Loopback, operation: "metrics", brings: Brings::Nothing, cost: 1, retires: None },

    get ("/v1/plugs",                                Reader,  "list_plugs"),
    post("/v1/plugs",                                Clerk,   "create_plug"),
    get ("/v1/plugs/{id}",                           Reader,  "get_plug"),
    change("PATCH",  "/v1/plugs/{id}",               Clerk,   "patch_plug"),
    change("DELETE", "/v1/plugs/{id}",               Clerk,   "delete_plug"),
    get ("/v1/plugs/{id}/equivalents",               Reader,  "list_equivalents"),
    get ("/v1/plugs/{id}/barcodes",                  Reader,  "list_barcodes"),
    post("/v1/plugs/{id}/barcodes",                  Clerk,   "create_barcode"),
    get ("/v1/plugs/{id}/outline.svg",               Reader,  "draw_outline"),
    get ("/v1/barcodes/{id}",                        Reader,  "get_barcode"),
    change("DELETE", "/v1/barcodes/{id}",            Clerk,   "delete_barcode"),
    get ("/v1/scans",                                Reader,  "read_scan"),
    get ("/v1/equivalents",                          Reader,  "find_equivalents"),

    get ("/v1/stand-ins",                            Reader,  "list_stand_ins"),
    post("/v1/stand-ins",                            Clerk,   "create_stand_in"),
    get ("/v1/stand-ins/{id}",                       Reader,  "get_stand_in"),
    change("DELETE", "/v1/stand-ins/{id}",           Clerk,   "delete_stand_in"),

    get ("/v1/heads",                                Reader,  "list_heads"),
    post("/v1/heads",                                Tuner,   "create_head"),
    get ("/v1/heads/{id}",                           Reader,  "get_head"),
    change("PATCH",  "/v1/heads/{id}",               Tuner,   "patch_head"),
    change("DELETE", "/v1/heads/{id}",               Tuner,   "delete_head"),

    get ("/v1/builds",                               Reader,  "list_builds"),
    post("/v1/builds",                               Tuner,   "create_build"),
    get ("/v1/builds/{id}",                          Reader,  "get_build"),
    change("PATCH",  "/v1/builds/{id}",              Tuner,   "patch_build"),
    change("DELETE", "/v1/builds/{id}",              Tuner,   "delete_build"),

    get ("/v1/builds/{id}/spark.svg",                Reader,  "draw_spark"),
    get ("/v1/builds/{id}/section.svg",              Reader,  "draw_section"),
    get ("/v1/builds/{id}/fitting-card",             Reader,  "get_fitting_card"),

    get ("/v1/heat-scales/chart.svg",                Reader,  "draw_heat_scales"),
    get ("/v1/heat-scales",                          Reader,  "list_heat_scales"),
    post("/v1/heat-scales",                          Clerk,   "create_heat_scale"),
    get ("/v1/heat-scales/{id}",                     Reader,  "get_heat_scale"),
    change("PATCH",  "/v1/heat-scales/{id}",         Clerk,   "patch_heat_scale"),
    change("DELETE", "/v1/heat-scales/{id}",         Clerk,   "delete_heat_scale"),
    post("/v1/heat-scales/calibrations",             Reader,  "calibrate_heat_scales"),

    get ("/v1/policy",                               Reader,  "get_policy"),
    change("PUT",    "/v1/policy",                   Manager, "put_policy"),

    post("/v1/requirements",                         Reader,  "derive_requirement"),
    post("/v1/requirements/spark.svg",               Reader,  "draw_spark_of_build"),
    post("/v1/requirements/section.svg",             Reader,  "draw_section_of_build"),
    post("/v1/matches",                              Reader,  "match_plugs"),
    post("/v1/match-batches",                        Reader,  "match_batch").costing(20),
    post("/v1/fitment-checks",                       Reader,  "check_fitment"),
    post("/v1/identifications",                      Reader,  "identify_plug"),

    get ("/v1/stock/places",                         Reader,  "list_places"),
    post("/v1/stock/places",                         Clerk,   "create_place"),
    get ("/v1/stock/places/{id}",                    Reader,  "get_place"),
    change("PATCH",  "/v1/stock/places/{id}",        Clerk,   "patch_place"),
    get ("/v1/stock/lots",                           Reader,  "list_lots"),
    get ("/v1/stock/lots/{id}",                      Reader,  "get_lot"),
    get ("/v1/stock/lots/{id}/life",                 Reader,  "get_lot_life"),
    get ("/v1/stock/lots/{id}/life.svg",             Reader,  "draw_lot_life"),
    get ("/v1/stock/levels",                         Reader,  "list_levels"),
    get ("/v1/stock/movements",                      Reader,  "list_movements"),
    get ("/v1/stock/movements/{id}",                 Reader,  "get_movement"),
    once("/v1/stock/receipts",                       Clerk,   "receive"),
    once("/v1/stock/issues",                         Tuner,   "issue"),
    once("/v1/stock/returns",                        Clerk,   "give_back"),
    once("/v1/stock/transfers",                      Clerk,   "transfer"),
    once("/v1/stock/scrappings",                     Tuner,   "discard"),
    once("/v1/stock/reversals",                      Clerk,   "reverse"),
    get ("/v1/stock/reservations",                   Reader,  "list_reservations"),
    once("/v1/stock/reservations",                   Tuner,   "reserve"),
    get ("/v1/stock/reservations/{id}",              Reader,  "get_reservation"),
    once("/v1/stock/reservations/{id}/release",      Tuner,   "release"),

    get ("/v1/stock/counts",                         Reader,  "list_counts"),
    post("/v1/stock/counts",                         Clerk,   "begin_count"),
    get ("/v1/stock/counts/{id}",                    Reader,  "get_count"),
    change("PATCH",  "/v1/stock/counts/{id}",        Clerk,   "patch_count"),
    once("/v1/stock/counts/{id}/approval",           Manager, "approve_count"),
    get ("/v1/pick-lists",                           Reader,  "get_pick_list"),
    get ("/v1/fitted-sets",                          Reader,  "list_fitted_sets"),
    get ("/v1/fitted-sets/{id}",                     Reader,  "get_fitted_set"),
    get ("/v1/due",                                  Reader,  "list_due"),
    get ("/v1/stock/incoming-checks",                Reader,  "list_incoming_checks"),
    once("/v1/stock/incoming-checks",                Clerk,   "check_incoming"),
    get ("/v1/stock/incoming-checks/{id}",           Reader,  "get_incoming_check"),
    once("/v1/stock/incoming-checks/{id}/decision",  Manager, "decide_incoming"),
    get ("/v1/suppliers",                            Reader,  "list_suppliers"),
    post("/v1/suppliers",                            Clerk,   "create_supplier"),
    get ("/v1/suppliers/{id}",                       Reader,  "get_supplier"),
    change("PATCH",  "/v1/suppliers/{id}",           Clerk,   "patch_supplier"),
    get ("/v1/orders",                               Reader,  "list_orders"),
    post("/v1/orders",                               Clerk,   "create_order"),
    get ("/v1/orders/{id}",                          Reader,  "get_order"),
    change("PATCH",  "/v1/orders/{id}",              Clerk,   "patch_order"),

    get ("/v1/plugs/{id}/reordering",                Reader,  "get_reordering"),
    change("PATCH",  "/v1/plugs/{id}/reordering",    Clerk,   "patch_reordering"),
    get ("/v1/reorder",                              Reader,  "list_reorder").costing(5),
    get ("/v1/reorder/{id}/chart.svg",               Reader,  "draw_reorder"),
    once("/v1/reorder/orders",                       Clerk,   "order_proposed"),

    get ("/v1/tuning-days",                          Reader,  "list_tuning_days"),
    once("/v1/tuning-days",                          Tuner,   "plan_tuning_day"),
    get ("/v1/tuning-days/{id}",                     Reader,  "get_tuning_day"),
    once("/v1/tuning-days/{id}/reservation",         Tuner,   "top_up_tuning_day"),
    once("/v1/tuning-days/{id}/withdrawal",          Tuner,   "withdraw_tuning_day"),
    get ("/v1/readings",                             Reader,  "list_readings"),
    post("/v1/readings",                             Tuner,   "record_reading"),
    get ("/v1/readings/{id}",                        Reader,  "get_reading"),

    // It moves and reserves nothing: no once-only key.
    get ("/v1/waiting-jobs",                         Reader,  "list_waiting_jobs"),
    post("/v1/waiting-jobs",                         Tuner,   "ask_for_plugs"),
    get ("/v1/waiting-jobs/{id}",                    Reader,  "get_waiting_job"),
    change("DELETE", "/v1/waiting-jobs/{id}",        Tuner,   "delete_waiting_job"),

    get ("/v1/reports/count-accuracy",               Reader,  "report_count_accuracy").costing(5),
    get ("/v1/reports/count-accuracy/chart.svg",     Reader,  "draw_count_accuracy"),
    get ("/v1/reports/usage",                        Reader,  "report_usage").costing(5),
    get ("/v1/reports/usage/chart.svg",              Reader,  "draw_usage"),
    get ("/v1/reports/stock-outs",                   Reader,  "report_stock_outs").costing(5),
    get ("/v1/reports/dead-stock",                   Reader,  "report_dead_stock").costing(5),
    get ("/v1/reports/turns",                        Reader,  "report_turns").costing(5),
    get ("/v1/reports/turns/chart.svg",              Reader,  "draw_turns"),
    get ("/v1/reports/value",                        Reader,  "report_value").costing(5),
    get ("/v1/reports/scrap",                        Reader,  "report_scrap").costing(5),
    get ("/v1/reports/scrap/chart.svg",              Reader,  "draw_scrap"),

    get ("/v1/imports/columns",                      Reader,  "list_table_columns"),
    table("/v1/imports/plugs",                       Clerk,   "import_plugs"),
    table("/v1/imports/stock",                       Clerk,   "import_stock"),
    table("/v1/imports/heat-scales",                 Clerk,   "import_heat_scales"),
    table("/v1/imports/stand-ins",                   Clerk,   "import_stand_ins"),
    get ("/v1/exports/plugs",                        Reader,  "export_plugs").costing(20),
    get ("/v1/exports/stock",                        Reader,  "export_stock").costing(20),
    get ("/v1/exports/heat-scales",                  Reader,  "export_heat_scales").costing(20),
    get ("/v1/exports/stand-ins",                    Reader,  "export_stand_ins").costing(20),

    get ("/v1/labels/lots/{id}.svg",                 Reader,  "draw_lot_label"),
    get ("/v1/labels/places/{id}.svg",               Reader,  "draw_place_label"),
    get ("/v1/labels/sheet",                         Reader,  "get_label_sheet").costing(5),

    get ("/v1/changes",                              Reader,  "list_changes"),
    get ("/v1/webhooks",                             Manager, "list_webhooks"),
    post("/v1/webhooks",                             Manager, "create_webhook"),
    get ("/v1/webhooks/{id}",                        Manager, "get_webhook"),
    change("PATCH",  "/v1/webhooks/{id}",            Manager, "patch_webhook"),
    change("DELETE", "/v1/webhooks/{id}",            Manager, "delete_webhook"),
    post("/v1/webhooks/{id}/secrets",                Manager, "add_webhook_secret"),
    change("DELETE", "/v1/webhooks/{id}/secrets/{secret_id}", Manager, "delete_webhook_secret"),
    get ("/v1/webhooks/{id}/deliveries",             Manager, "list_deliveries"),
    post("/v1/webhooks/{id}/deliveries/{delivery_id}/resend", Manager, "resend_delivery"),

    get ("/v1/tokens",                               Manager, "list_tokens"),
    post("/v1/tokens",                               Manager, "create_token"),
    get ("/v1/tokens/{id}",                          Manager, "get_token"),
    change("DELETE", "/v1/tokens/{id}",              Manager, "delete_token"),
];

/// Puts every handler into the application and its operation into the document.
#[rustfmt::skip]
pub fn register(config: &mut ServiceConfig<'_>) {
    config
        .service(health::livez).service(health::readyz).service(health::openapi).service(health::metrics)
        .service(plugs::list_plugs).service(plugs::create_plug)
        .service(plugs::get_plug).service(plugs::patch_plug).service(plugs::delete_plug)
        .service(equivalents::list_equivalents).service(equivalents::find_equivalents)
        .service(stand_ins::list_stand_ins).service(stand_ins::create_stand_in)
        .service(stand_ins::get_stand_in).service(stand_ins::delete_stand_in)
        .service(heads::list_heads).service(heads::create_head)
        .service(heads::get_head).service(heads::patch_head).service(heads::delete_head)
        .service(builds::list_builds).service(builds::create_build)
        .service(builds::get_build).service(builds::patch_build).service(builds::delete_build)
        .service(pictures::draw_spark).service(pictures::get_fitting_card)
        .service(outlines::draw_outline).service(outlines::draw_section).service(outlines::draw_section_of_build)
        // Before the scale with an identifier.
        .service(pictures::draw_heat_scales)
        .service(heat_scales::list_heat_scales).service(heat_scales::create_heat_scale)
        .service(heat_scales::calibrate_heat_scales)
        .service(heat_scales::get_heat_scale).service(heat_scales::patch_heat_scale).service(heat_scales::delete_heat_scale)
        .service(policy::get_policy).service(policy::put_policy)
        .service(pictures::draw_spark_of_build)
        .service(matches::derive_requirement).service(matches::match_plugs).service(match_batches::match_batch)
        .service(fitment_checks::check_fitment)
        .service(identifications::identify_plug)
        .service(places::list_places).service(places::create_place).service(places::get_place)
        .service(places::patch_place)
        .service(lots::list_lots).service(lots::get_lot).service(lots::list_levels)
        .service(lot_life::get_lot_life).service(lot_life::draw_lot_life)
        .service(movements::list_movements).service(movements::get_movement)
        .service(movements::receive).service(movements::issue).service(movements::give_back)
        .service(movements::transfer).service(movements::discard).service(movements::reverse)
        .service(reservations::list_reservations).service(reservations::reserve)
        .service(reservations::get_reservation).service(reservations::release)
        .service(counts::list_counts).service(counts::begin_count).service(counts::get_count)
        .service(counts::patch_count).service(counts::approve_count)
        .service(count_reports::report_count_accuracy).service(count_reports::draw_count_accuracy)
        .service(pick_lists::get_pick_list)
        .service(fitted_sets::list_fitted_sets).service(fitted_sets::get_fitted_set).service(fitted_sets::list_due)
        .service(barcodes::list_barcodes).service(barcodes::create_barcode)
        .service(barcodes::get_barcode).service(barcodes::delete_barcode)
        .service(scans::read_scan)
        .service(incoming_checks::list_incoming_checks).service(incoming_checks::check_incoming)
        .service(incoming_checks::get_incoming_check).service(incoming_checks::decide_incoming)
        .service(suppliers::list_suppliers).service(suppliers::create_supplier)
        .service(suppliers::get_supplier).service(suppliers::patch_supplier)
        .service(orders::list_orders).service(orders::create_order)
        .service(orders::get_order).service(orders::patch_order)
        .service(reordering::get_reordering).service(reordering::patch_reordering)
        .service(reorder::list_reorder).service(reorder::order_proposed).service(reorder::draw_reorder)
        .service(tuning_days::list_tuning_days).service(tuning_days::plan_tuning_day)
        .service(tuning_days::get_tuning_day).service(tuning_days::withdraw_tuning_day)
        .service(tuning_days::top_up_tuning_day)
        .service(readings::list_readings).service(readings::record_reading).service(readings::get_reading)
        .service(waiting_jobs::list_waiting_jobs).service(waiting_jobs::ask_for_plugs)
        .service(waiting_jobs::get_waiting_job).service(waiting_jobs::delete_waiting_job)
        .service(usage::report_usage).service(usage::draw_usage)
        .service(imports::list_table_columns)
        .service(imports::import_plugs).service(imports::import_stock)
        .service(imports::import_heat_scales).service(imports::import_stand_ins)
        .service(exports::export_plugs).service(exports::export_stock)
        .service(exports::export_heat_scales).service(exports::export_stand_ins)
        .service(labels::draw_lot_label).service(labels::draw_place_label).service(labels::get_label_sheet)
        .service(stock_outs::report_stock_outs).service(dead_stock::report_dead_stock)
        .service(turns::report_turns).service(turns::draw_turns)
        .service(value_report::report_value)
        .service(scrap_report::report_scrap).service(scrap_report::draw_scrap)
        .service(tokens::list_tokens).service(tokens::create_token)
        .service(tokens::get_token).service(tokens::delete_token);
    register_told(config);
}

/// What tells others of what happens.
#[rustfmt::skip]
fn register_told(config: &mut ServiceConfig<'_>) {
    config
        .service(changes::list_changes)
        .service(webhooks::list_webhooks).service(webhooks::create_webhook)
        .service(webhooks::get_webhook).service(webhooks::patch_webhook).service(webhooks::delete_webhook)
        .service(webhooks::add_webhook_secret).service(webhooks::delete_webhook_secret)
        .service(webhooks::list_deliveries).service(webhooks::resend_delivery);
}

#[cfg(test)]
mod tests;
