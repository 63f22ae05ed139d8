//! Every route of the service with the least role that may take it: the one place that says who
//! may do what, read by the guard, by the OpenAPI document and by the tests.

use plugwell_domain::words::Role;
use plugwell_domain::words::Role::{Clerk, Manager, Reader, Tuner};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::http::{
    builds, equivalents, fitment_checks, heads, health, heat_scales, identifications, imports,
    lots, matches, movements, orders, pictures, places, plugs, policy, readings, reorder,
    reordering, reservations, stand_ins, suppliers, tokens, tuning_days,
};

/// Who may take a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Least {
    /// Everybody, without a token.
    Open,
    /// Everybody on this machine; from elsewhere a reader.
    Loopback,
    /// A token of this role, or of one that holds it.
    Role(Role),
}

/// What a request has to bring besides its body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Brings {
    /// Nothing.
    Nothing,
    /// `Idempotency-Key`: it moves or reserves stock, or books something in.
    OnceKey,
    /// `Idempotency-Key`, unless it is a dry run.
    OnceKeyOrDryRun,
    /// `If-Match`: it changes or removes a record.
    Version,
}

/// One operation.
#[derive(Debug, Clone, Copy)]
pub struct Route {
    /// Its method.
    pub method: &'static str,
    /// Its path; `{…}` stands for one segment.
    pub path: &'static str,
    /// Who may.
    pub least: Least,
    /// What it is called in the OpenAPI document.
    pub operation: &'static str,
    /// What it has to bring.
    pub brings: Brings,
}

const fn open(method: &'static str, path: &'static str, operation: &'static str) -> Route {
    Route {
        method,
        path,
        least: Least::Open,
        operation,
        brings: Brings::Nothing,
    }
}

const fn get(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "GET",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Nothing,
    }
}

const fn post(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "POST",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Nothing,
    }
}

const fn once(path: &'static str, least: Role, operation: &'static str) -> Route {
    Route {
        method: "POST",
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::OnceKey,
    }
}

const fn change(
    method: &'static str,
    path: &'static str,
    least: Role,
    operation: &'static str,
) -> Route {
    Route {
        method,
        path,
        least: Least::Role(least),
        operation,
        brings: Brings::Version,
    }
}

/// Every route.
#[rustfmt::skip]
pub const ROUTES: &[Route] = &[
    open("GET", "/livez",        "livez"),
    open("GET", "/readyz",       "readyz"),
    open("GET", "/openapi.json", "openapi"),
    Route { method: "GET", path: "/metrics", least: Least::Loopback, operation: "metrics", brings: Brings::Nothing },

    get ("/v1/plugs",                                Reader,  "list_plugs"),
    post("/v1/plugs",                                Clerk,   "create_plug"),
    get ("/v1/plugs/{id}",                           Reader,  "get_plug"),
    change("PATCH",  "/v1/plugs/{id}",               Clerk,   "patch_plug"),
    change("DELETE", "/v1/plugs/{id}",               Clerk,   "delete_plug"),
    get ("/v1/plugs/{id}/equivalents",               Reader,  "list_equivalents"),
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
    post("/v1/matches",                              Reader,  "match_plugs"),
    post("/v1/fitment-checks",                       Reader,  "check_fitment"),
    post("/v1/identifications",                      Reader,  "identify_plug"),

    get ("/v1/stock/places",                         Reader,  "list_places"),
    post("/v1/stock/places",                         Clerk,   "create_place"),
    get ("/v1/stock/places/{id}",                    Reader,  "get_place"),
    change("PATCH",  "/v1/stock/places/{id}",        Clerk,   "patch_place"),
    get ("/v1/stock/lots",                           Reader,  "list_lots"),
    get ("/v1/stock/lots/{id}",                      Reader,  "get_lot"),
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
    get ("/v1/reorder",                              Reader,  "list_reorder"),
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

    Route {
        method: "POST", path: "/v1/imports/plugs", least: Least::Role(Clerk), operation: "import_plugs",
        brings: Brings::OnceKeyOrDryRun,
    },

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
        // Before the scale with an identifier.
        .service(pictures::draw_heat_scales)
        .service(heat_scales::list_heat_scales).service(heat_scales::create_heat_scale)
        .service(heat_scales::calibrate_heat_scales)
        .service(heat_scales::get_heat_scale).service(heat_scales::patch_heat_scale).service(heat_scales::delete_heat_scale)
        .service(policy::get_policy).service(policy::put_policy)
        .service(pictures::draw_spark_of_build)
        .service(matches::derive_requirement).service(matches::match_plugs)
        .service(fitment_checks::check_fitment)
        .service(identifications::identify_plug)
        .service(places::list_places).service(places::create_place).service(places::get_place)
        .service(places::patch_place)
        .service(lots::list_lots).service(lots::get_lot).service(lots::list_levels)
        .service(movements::list_movements).service(movements::get_movement)
        .service(movements::receive).service(movements::issue).service(movements::give_back)
        .service(movements::transfer).service(movements::discard).service(movements::reverse)
        .service(reservations::list_reservations).service(reservations::reserve)
        .service(reservations::get_reservation).service(reservations::release)
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
        .service(imports::import_plugs)
        .service(tokens::list_tokens).service(tokens::create_token)
        .service(tokens::get_token).service(tokens::delete_token);
}

/// The pattern that a path follows: of several the one with the fewest placeholders.
pub fn pattern(path: &str) -> Option<&'static str> {
    let followed = ROUTES
        .iter()
        .map(|route| route.path)
        .filter(|pattern| follows(pattern, path));
    followed.min_by_key(|pattern| pattern.matches('{').count())
}

fn follows(pattern: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (pattern.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(w), Some(g)) if w == g || (w.starts_with('{') && !g.is_empty()) => {}
            _ => return false,
        }
    }
}

/// The routes of a pattern.
pub fn of_pattern(pattern: &str) -> impl Iterator<Item = &'static Route> {
    ROUTES.iter().filter(move |route| route.path == pattern)
}

/// The methods that a pattern takes, as the header `Allow` lists them.
pub fn allowed(pattern: &str) -> String {
    let mut methods: Vec<&str> = of_pattern(pattern).map(|route| route.method).collect();
    if methods.contains(&"GET") {
        methods.push("HEAD");
    }
    methods.push("OPTIONS");
    methods.join(", ")
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::http::openapi;

    #[test]
    fn paths_are_found_by_their_segments() {
        assert_eq!(pattern("/v1/plugs"), Some("/v1/plugs"));
        assert_eq!(pattern("/v1/plugs/7"), Some("/v1/plugs/{id}"));
        assert_eq!(
            pattern("/v1/stock/reservations/7/release"),
            Some("/v1/stock/reservations/{id}/release")
        );
        for unknown in [
            "/v1/plugs/",
            "/v1",
            "/v1/plugs/7/8",
            "/v2/plugs",
            "",
            "/",
            "/v1/stock",
        ] {
            assert_eq!(pattern(unknown), None, "{unknown}");
        }
        assert_eq!(
            allowed("/v1/plugs/{id}"),
            "GET, PATCH, DELETE, HEAD, OPTIONS"
        );
        assert_eq!(allowed("/v1/matches"), "POST, OPTIONS");
    }

    #[test]
    fn the_table_and_the_registered_handlers_are_the_same() {
        let listed: BTreeSet<_> = ROUTES
            .iter()
            .map(|r| {
                (
                    r.method.to_lowercase(),
                    r.path.to_owned(),
                    r.operation.to_owned(),
                )
            })
            .collect();
        let registered: BTreeSet<_> = openapi::operations(openapi::document())
            .map(|(method, path, operation)| {
                (
                    method.to_owned(),
                    path.to_owned(),
                    operation["operationId"]
                        .as_str()
                        .unwrap_or_default()
                        .to_owned(),
                )
            })
            .collect();
        assert_eq!(listed, registered);
        assert_eq!(listed.len(), ROUTES.len(), "no route stands twice");
    }
}
