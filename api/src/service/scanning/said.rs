//! What a scan was understood as, in sentences, and the requests that can follow it.

use plugwell_domain::fault::{Check, Fault};
use plugwell_domain::ledger::{PlaceKind, QUANTITY_MAX};
use plugwell_domain::plug::PlugData;
use plugwell_domain::scan::barcode::BarcodeData;
use plugwell_domain::scan::{ScanKind, ScanStep};
use plugwell_domain::spelling::Nearness;
use plugwell_domain::wording::{agreeing, counted};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::{NextStep, Scan};

/// Says what was understood, and what can be done with it.
pub(super) fn put_into_words(scan: &mut Scan) {
    let mut said = vec![subject(scan)];
    said.extend(scan.held_back());
    said.extend(quantity(scan));
    said.extend(scan.batch.iter().map(|batch| format!("Batch {batch}.")));
    said.extend(
        scan.serial
            .iter()
            .map(|serial| format!("Serial number {serial}.")),
    );
    if let Some(bin) = &scan.proposed_bin {
        said.push(format!("Bin {}: {}.", bin.name, bin.why));
    }
    if let Some(line) = scan.waiting.first() {
        let (code, from) = (&line.order_code, &line.supplier);
        let are = agreeing(line.missing, "is", "are");
        said.push(format!(
            "{} {are} still to come by order {code} from {from}.",
            line.missing
        ));
    }
    scan.said = said.join(" ");
    scan.next = next(scan);
}

fn subject(scan: &Scan) -> String {
    if let Some(plug) = &scan.plug {
        let part = format!("{} {}", plug.data.maker, plug.data.part_number);
        let retired = if plug.retired { ", retired" } else { "" };
        return match &scan.lot {
            Some(lot) => format!(
                "Lot {} of {part}{retired}, from {}.",
                lot.code, lot.supplier
            ),
            None => format!("{part}{retired}."),
        };
    }
    if let Some(place) = &scan.place {
        return format!("{} {}, {}.", place.code, place.name, place.kind);
    }
    if scan.order_id.is_some() {
        return format!("Order {}.", scan.text.to_uppercase());
    }
    let bear = scan.near.iter();
    let bear = bear.filter(|near| near.spelling == Nearness::Same).count();
    match &scan.gtin {
        Some(gtin) if scan.is_carton => format!(
            "{gtin} numbers a carton of the part below; how many are in it nobody has said: attach it with that."
        ),
        _ if bear > 1 => "Several parts bear this number: say which one it is.".into(),
        _ if scan.near.len() == 1 => {
            "No part has this very number; one is spelled nearly so: look whether it is the one meant.".into()
        }
        _ if scan.near.len() > 1 => "No part has this very number; these come near.".into(),
        Some(gtin) => format!(
            "{gtin} is a GTIN that no part here has: attach it to a part, or make a record of a new one."
        ),
        None if scan.kind == ScanKind::ElementString => {
            "There is no GTIN in these element strings, so that no part is named.".into()
        }
        None => "Nothing here has this number, code or name.".into(),
    }
}

fn quantity(scan: &Scan) -> Option<String> {
    let packs = scan.packs?;
    let packed = counted(packs, "pack");
    let misplaced =
        scan.elements.iter().any(|e| e.ai == "37") && scan.elements.iter().any(|e| e.ai == "01");
    let note = if misplaced {
        " The count (37) goes with what is contained (02); it was taken for packs of the item."
    } else {
        ""
    };
    scan.plug.as_ref()?;
    Some(match (scan.plugs_per_pack, scan.quantity) {
        (Some(each), Some(all)) => format!("{packed} of {each}: {}.{note}", counted(all, "plug")),
        (Some(each), None) => format!(
            "{packed} of {each} are more than the {QUANTITY_MAX} plugs that one receipt takes: count what \
             is there, and book it in parts.{note}"
        ),
        (None, _) => {
            format!("{packed}; how many plugs are in one nobody has said: count them.{note}")
        }
    })
}

fn look(path: String, why: &str) -> NextStep {
    NextStep {
        step: ScanStep::Look,
        method: "GET",
        path,
        body: Map::new(),
        why: why.to_owned(),
    }
}

fn decide(check: Uuid) -> NextStep {
    NextStep {
        step: ScanStep::Decide,
        method: "POST",
        path: format!("/v1/stock/incoming-checks/{check}/decision"),
        body: Map::new(),
        why: "A manager decides: release it into a bin, scrap it, or send it back.".into(),
    }
}

fn next(scan: &Scan) -> Vec<NextStep> {
    if let Some(lot) = &scan.lot {
        let check = NextStep {
            step: ScanStep::Check,
            method: "POST",
            path: "/v1/stock/incoming-checks".into(),
            body: object(json!({ "lot_id": lot.id })),
            why: "Measure a sample: say how many, and what was read.".into(),
        };
        let path = format!("/v1/stock/lots/{}", lot.id);
        let seen = look(path, "Look at the lot.");
        return match scan.waiting_check_id {
            Some(id) => vec![seen, decide(id)],
            None => vec![seen, check],
        };
    }
    if let Some(plug) = &scan.plug {
        let receive = (!plug.retired).then(|| NextStep {
            step: ScanStep::Receive,
            method: "POST",
            path: "/v1/stock/receipts".into(),
            body: receipt(scan),
            why: "Book it in: fill in what is missing of supplier, bin and quantity.".into(),
        });
        let look = look(format!("/v1/plugs/{}", plug.id), "Look at the record.");
        return receive.into_iter().chain([look]).collect();
    }
    if let Some(place) = &scan.place {
        let (path, why) = match place.kind {
            PlaceKind::Supplier => (
                format!("/v1/suppliers/{}", place.id),
                "Look at the supplier.",
            ),
            _ => (
                format!("/v1/stock/levels?place_id={}", place.id),
                "Look at what lies there.",
            ),
        };
        return vec![look(path, why)];
    }
    if let Some(id) = scan.order_id {
        return vec![look(format!("/v1/orders/{id}"), "Look at the order.")];
    }
    unknown(scan)
}

/// Nothing is known by this number: which part it is, or a new record.
fn unknown(scan: &Scan) -> Vec<NextStep> {
    let code = match &scan.gtin {
        Some(gtin) => gtin.as_str().to_owned(),
        None if scan.kind == ScanKind::ElementString => return Vec::new(),
        None => scan.text.clone(),
    };
    let attach = |path: String, why: String| NextStep {
        step: ScanStep::AttachBarcode,
        method: "POST",
        path,
        body: object(json!({ "code": code })),
        why,
    };
    let mut steps: Vec<NextStep> = Vec::new();
    for near in &scan.near {
        steps.push(NextStep {
            step: ScanStep::Choose,
            method: "GET",
            path: format!("/v1/plugs/{}", near.plug_id),
            body: Map::new(),
            why: format!("It is {} {}.", near.maker, near.part_number),
        });
        // What several parts bear is refused as a barcode of one of them.
        if scan.is_carton {
            let why = format!(
                "Attach it to {} {}, and say how many plugs are in it.",
                near.maker, near.part_number
            );
            steps.push(attach(format!("/v1/plugs/{}/barcodes", near.plug_id), why));
        }
    }
    if !scan.near.is_empty() {
        return steps;
    }
    let barcode = BarcodeData {
        code: code.clone(),
        plugs: None,
    };
    if barcode.faults().is_empty() {
        let why = "Attach it to a part of the catalogue: put its id into the path.";
        steps.push(attach("/v1/plugs/{id}/barcodes".into(), why.into()));
    }
    let body = match &scan.gtin {
        Some(gtin) => json!({ "gtin": gtin }),
        None => json!({ "part_number": scan.text }),
    };
    if may_be_called(&body) {
        steps.push(NextStep {
            step: ScanStep::CreatePart,
            method: "POST",
            path: "/v1/plugs".into(),
            body: object(body),
            why: "Make a record of a new part: maker and part number at least.".into(),
        });
    }
    steps
}

/// Whether a new part could have this; what the record lacks besides is for the clerk to fill in.
fn may_be_called(body: &Value) -> bool {
    let faults = PlugData::from_map(&object(body.clone())).err();
    let given = |fault: &Fault| body.get(fault.pointer.trim_start_matches("#/")).is_some();
    !faults.unwrap_or_default().iter().any(given)
}

impl Scan {
    /// What a receipt is told of its delivery: the maker's batch.
    pub fn reference(&self) -> Option<String> {
        self.batch.as_ref().map(|batch| format!("batch {batch}"))
    }
}

/// What is known of a receipt.
fn receipt(scan: &Scan) -> Map<String, Value> {
    let line = scan.waiting.first();
    let known = [
        ("plug_id", scan.plug.as_ref().map(|plug| json!(plug.id))),
        ("supplier", line.map(|line| json!(line.supplier))),
        ("order_line_id", line.map(|line| json!(line.order_line_id))),
        (
            "place_id",
            scan.proposed_bin.as_ref().map(|bin| json!(bin.place_id)),
        ),
        ("quantity", scan.quantity.map(Value::from)),
        ("pack_size", scan.plugs_per_pack.map(Value::from)),
        ("reference", scan.reference().map(Value::from)),
    ];
    known
        .into_iter()
        .filter_map(|(name, value)| Some((name.to_owned(), value?)))
        .collect()
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}
