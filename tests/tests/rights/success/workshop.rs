//! Heads and builds, what is asked about them, and what is kept of a tuning day.

use plugwell_tests::bodies::{build, head};
use serde_json::json;

use super::{Asks, Row};

pub const ASKED: &[Row] = &[
    ("create_head", 201, |_| Asks::at("/v1/heads").json(head())),
    ("patch_head", 200, |floor| {
        Asks::at(format!("/v1/heads/{}", floor.head())).json(json!({ "heat_index": 60 }))
    }),
    ("delete_head", 204, |floor| {
        Asks::at(format!("/v1/heads/{}", floor.head()))
    }),
    ("create_build", 201, |_| {
        Asks::at("/v1/builds").json(build())
    }),
    ("patch_build", 200, |floor| {
        Asks::at(format!("/v1/builds/{}", floor.build())).json(json!({ "odometer_km": 41_200 }))
    }),
    ("delete_build", 204, |floor| {
        Asks::at(format!("/v1/builds/{}", floor.build()))
    }),
    ("derive_requirement", 200, |_| {
        Asks::at("/v1/requirements").json(build())
    }),
    ("draw_section_of_build", 200, |floor| {
        let plug = floor.plug();
        Asks::at(format!("/v1/requirements/section.svg?plug_id={plug}")).json(build())
    }),
    ("draw_spark_of_build", 200, |_| {
        Asks::at("/v1/requirements/spark.svg").json(build())
    }),
    ("match_plugs", 200, |floor| {
        Asks::at("/v1/matches").json(json!({ "build_id": floor.build() }))
    }),
    ("match_batch", 200, |floor| {
        let requests = json!([{ "build": build() }, { "plug_id": floor.plug() }]);
        Asks::at("/v1/match-batches").json(json!({ "requests": requests }))
    }),
    ("check_fitment", 200, |floor| {
        let fitted = json!({ "plug_id": floor.plug(), "gap_mm": 1.1 });
        let body =
            json!({ "build": build(), "fitted": fitted, "symptoms": ["misfire_under_load"] });
        Asks::at("/v1/fitment-checks").json(body)
    }),
    ("identify_plug", 200, |_| {
        let body = json!({ "major_diameter_mm": 13.9, "pitch_mm": 1.25, "seat": "gasket" });
        Asks::at("/v1/identifications").json(body)
    }),
    ("record_reading", 201, |floor| {
        let (build, _, movement) = floor.fitted();
        let body = json!({
            "build_id": build, "movement_id": movement, "run": 1, "cylinder": 3, "speckles": "none"
        });
        Asks::at("/v1/readings").json(body)
    }),
    ("plan_tuning_day", 201, |floor| {
        Asks::at("/v1/tuning-days").json(floor.planning())
    }),
    ("top_up_tuning_day", 200, |floor| {
        Asks::at(format!("/v1/tuning-days/{}/reservation", floor.day()))
    }),
    ("withdraw_tuning_day", 200, |floor| {
        Asks::at(format!("/v1/tuning-days/{}/withdrawal", floor.day()))
    }),
];
