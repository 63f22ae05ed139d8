//! Parts, scales, statements, tables, and what a manager keeps: policy, tokens, webhooks.

use plugwell_tests::Who;
use plugwell_tests::bodies::{heat_scale, plug, unique};
use serde_json::json;

use super::floor::Floor;
use super::{Asks, Row};

pub const ASKED: &[Row] = &[
    ("create_plug", 201, |_| {
        Asks::at("/v1/plugs").json(plug(&unique("RT")))
    }),
    ("patch_plug", 200, |floor| {
        Asks::at(format!("/v1/plugs/{}", floor.plug())).json(json!({ "description": "measured" }))
    }),
    ("delete_plug", 204, |floor| {
        Asks::at(format!("/v1/plugs/{}", floor.plug()))
    }),
    ("create_barcode", 201, |floor| {
        let body = json!({ "code": unique("RT-box"), "plugs": 4 });
        Asks::at(format!("/v1/plugs/{}/barcodes", floor.plug())).json(body)
    }),
    ("delete_barcode", 204, |floor| {
        let path = format!("/v1/plugs/{}/barcodes", floor.plug());
        let barcode = floor.made(&path, &json!({ "code": unique("RT-box") }));
        Asks::at(format!("/v1/barcodes/{barcode}"))
    }),
    ("patch_reordering", 200, |floor| {
        Asks::at(format!("/v1/plugs/{}/reordering", floor.plug())).json(json!({ "pack_size": 4 }))
    }),
    ("create_heat_scale", 201, |_| {
        Asks::at("/v1/heat-scales").json(heat_scale(&unique("Maker"), "numbers"))
    }),
    ("patch_heat_scale", 200, |floor| {
        Asks::at(format!("/v1/heat-scales/{}", floor.scale()))
            .json(json!({ "name": "numbers, second printing" }))
    }),
    ("delete_heat_scale", 204, |floor| {
        Asks::at(format!("/v1/heat-scales/{}", floor.scale()))
    }),
    ("calibrate_heat_scales", 200, |floor| {
        let (anchor, other) = (floor.scale(), floor.scale());
        let code = |scale: &str, code: &str| json!({ "scale_id": scale, "code": code });
        let alike = |of: &str| json!({ "a": code(&anchor, of), "b": code(&other, of) });
        let body = json!({ "anchor_scale_id": anchor, "statements": [alike("9"), alike("5")] });
        Asks::at("/v1/heat-scales/calibrations").json(body)
    }),
    ("create_stand_in", 201, |_| {
        Asks::at("/v1/stand-ins").json(Floor::said())
    }),
    ("delete_stand_in", 204, |floor| {
        let said = floor.made("/v1/stand-ins", &Floor::said());
        Asks::at(format!("/v1/stand-ins/{said}"))
    }),
    ("import_plugs", 201, |_| {
        let header = "maker,part_number,thread,reach_mm,seat,heat_index";
        let row = format!("Ferrowick,{},M14x1.25,19,gasket,80", unique("RT"));
        Asks::at("/v1/imports/plugs").csv(format!("{header}\n{row}\n"))
    }),
    ("import_heat_scales", 201, |_| {
        let rows = ["5,50", "4,60"].map(|row| format!("Tarnmere,street,{row}\n"));
        let table = format!("maker,scale,code,heat_index\n{}", rows.concat());
        Asks::at("/v1/imports/heat-scales").csv(table)
    }),
    ("import_stand_ins", 201, |_| {
        let header = "maker,part_number,for_maker,for_part_number,direction,who";
        let row = "Ferrowick,RT-own,Quellmar,RT-other,one_way,a test";
        Asks::at("/v1/imports/stand-ins").csv(format!("{header}\n{row}\n"))
    }),
    ("import_stock", 201, |floor| {
        let (number, bin) = (unique("RT"), unique("Bin"));
        floor.made("/v1/plugs", &plug(&number));
        floor.made("/v1/stock/places", &json!({ "kind": "bin", "name": bin }));
        let header = "maker,part_number,supplier,place,quantity,total_cost_minor,currency";
        let row = format!("Ferrowick,{number},Quayside Parts,{bin},8,7200,USD");
        Asks::at("/v1/imports/stock").csv(format!("{header}\n{row}\n"))
    }),
    ("put_policy", 200, |floor| {
        let mut policy = floor.shop.get(Who::Manager, "/v1/policy").expect(200).json;
        policy["values"]["dead_stock_days"]["value"] = json!(200);
        Asks::at("/v1/policy").json(policy)
    }),
    ("create_token", 201, |_| {
        Asks::at("/v1/tokens").json(json!({ "name": unique("Screen"), "role": "reader" }))
    }),
    ("delete_token", 204, |floor| {
        let body = json!({ "name": unique("Screen"), "role": "reader" });
        Asks::at(format!("/v1/tokens/{}", floor.made("/v1/tokens", &body)))
    }),
    ("create_webhook", 201, |_| {
        Asks::at("/v1/webhooks").json(Floor::webhook())
    }),
    ("patch_webhook", 200, |floor| {
        let webhook = floor.made("/v1/webhooks", &Floor::webhook());
        Asks::at(format!("/v1/webhooks/{webhook}")).json(json!({ "enabled": false }))
    }),
    ("delete_webhook", 204, |floor| {
        let webhook = floor.made("/v1/webhooks", &Floor::webhook());
        Asks::at(format!("/v1/webhooks/{webhook}"))
    }),
    ("add_webhook_secret", 201, |floor| {
        let webhook = floor.made("/v1/webhooks", &Floor::webhook());
        Asks::at(format!("/v1/webhooks/{webhook}/secrets"))
    }),
    ("delete_webhook_secret", 204, |floor| {
        let webhook = floor.made("/v1/webhooks", &Floor::webhook());
        let of = format!("/v1/webhooks/{webhook}");
        let secrets = format!("{of}/secrets");
        let made = floor.shop.send("POST", &secrets, Who::Manager, &[], "");
        let secret = made.expect(201).text("id");
        Asks::at(format!("{secrets}/{secret}")).of(of)
    }),
    ("resend_delivery", 200, |floor| {
        let (webhook, delivery) = floor.delivery();
        Asks::at(format!(
            "/v1/webhooks/{webhook}/deliveries/{delivery}/resend"
        ))
    }),
];
