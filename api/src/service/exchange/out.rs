//! Tables out: the columns that come in, read page by page in one state of the shop; what is written
//! can be read in again.

use std::collections::{BTreeMap, HashMap};
use std::io::Write;

use plugwell_domain::attribute::Attr;
use plugwell_domain::instant;
use plugwell_domain::ledger::{Level, Lot, Place, PlaceKind};
use plugwell_domain::plug::Plug;
use plugwell_store::{LevelFilter, Session, StandInFilter};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::costs::{Families, Left};
use super::declared::declared;
use super::forms::{named, written};
use super::{TableKind, stand_ins};
use crate::cell::safe;
use crate::service::{Refusal, Shop};

/// Records that are read at a time.
const PAGE: i64 = 1_000;

/// Writes a table; gives back how many rows it has.
///
/// Of stock, what lies in bins and in quarantine; each lot's cost is the share of what is left of it,
/// and of what descends from it.
///
/// # Errors
/// Where the database cannot be read or the table not be written.
pub fn export(shop: &Shop, kind: TableKind, to: &mut dyn Write) -> Result<u64, Refusal> {
    shop.store.read(|session| {
        let mut sheet = Sheet::begin(kind, to)?;
        match kind {
            TableKind::Plugs => plugs(session, &mut sheet)?,
            TableKind::Stock => stock(session, &mut sheet)?,
            TableKind::HeatScales => heat_scales(session, &mut sheet)?,
            TableKind::StandIns => statements(session, &mut sheet)?,
        }
        sheet.end()
    })
}

/// A table that is being written.
struct Sheet<'w> {
    writer: csv::Writer<&'w mut dyn Write>,
    kind: TableKind,
    rows: u64,
}

impl<'w> Sheet<'w> {
    fn begin(kind: TableKind, to: &'w mut dyn Write) -> Result<Self, Refusal> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(to);
        let header = declared(kind).iter().map(|column| column.name);
        writer.write_record(header).map_err(unwritten)?;
        Ok(Self {
            writer,
            kind,
            rows: 0,
        })
    }

    /// Writes a row of members by their columns' names.
    fn row(&mut self, members: &Map<String, Value>) -> Result<(), Refusal> {
        for column in declared(self.kind) {
            let cell = members.get(column.name).map_or_else(String::new, written);
            let cell = safe(&cell);
            self.writer
                .write_field(cell.as_bytes())
                .map_err(unwritten)?;
        }
        self.rows += 1;
        self.writer.write_record(None::<&[u8]>).map_err(unwritten)
    }

    fn end(mut self) -> Result<u64, Refusal> {
        self.writer
            .flush()
            .map_err(|e| Refusal::Fault(format!("the table cannot be written: {e}")))?;
        Ok(self.rows)
    }
}

fn unwritten(e: csv::Error) -> Refusal {
    Refusal::Fault(format!("the table cannot be written: {e}"))
}

fn plugs(session: &mut Session, sheet: &mut Sheet<'_>) -> Result<(), Refusal> {
    let scales: HashMap<Uuid, String> = session
        .list_scales(None, None, i64::MAX)?
        .into_iter()
        .map(|scale| (scale.id, named(&scale.data.maker, &scale.data.name)))
        .collect();
    let mut last = -1;
    loop {
        let page = session.all_plugs(last, PAGE)?;
        let Some((ordinal, _)) = page.last() else {
            return Ok(());
        };
        last = i64::from(*ordinal);
        let successors: Vec<Uuid> = page
            .iter()
            .filter_map(|(_, plug)| plug.data.superseded_by)
            .collect();
        let successors = parts(session, &successors)?;
        for (_, plug) in &page {
            let mut members = plug.data.to_map();
            let scale = plug.data.heat_scale_id.and_then(|id| scales.get(&id));
            members.insert("heat_scale".into(), scale.cloned().into());
            let successor = plug.data.superseded_by.and_then(|id| successors.get(&id));
            let successor = successor.map(|p| named(&p.data.maker, &p.data.part_number));
            members.insert("superseded_by".into(), successor.into());
            members.insert("retired".into(), plug.retired.into());
            sheet.row(&members)?;
        }
    }
}

fn parts(session: &mut Session, ids: &[Uuid]) -> Result<HashMap<Uuid, Plug>, Refusal> {
    if ids.is_empty() {
        return Ok(HashMap::new());
    }
    let found = session.plugs_by_id(ids)?;
    Ok(found.into_iter().map(|plug| (plug.id, plug)).collect())
}

fn stock(session: &mut Session, sheet: &mut Sheet<'_>) -> Result<(), Refusal> {
    let mut lying = Lying::of(session)?;
    let mut families = Families::default();
    let filter = LevelFilter {
        kind: Some(PlaceKind::Bin),
        ..LevelFilter::default()
    };
    let (mut after, mut held) = (None, Vec::new());
    loop {
        let page = session.list_levels(&filter, after, PAGE)?;
        after = page.last().map(|level| (level.lot_id, level.place_id));
        let ended = page.is_empty();
        held.extend(page);
        // The levels of a lot lie together; the last one may go on.
        let last = held.last().map(|level: &Level| level.lot_id);
        let whole = held
            .iter()
            .position(|level| !ended && Some(level.lot_id) == last)
            .unwrap_or(held.len());
        let rest = held.split_off(whole);
        let mut lots: Vec<Uuid> = held.iter().map(|level| level.lot_id).collect();
        lots.dedup();
        for lot in lots {
            held.extend(lying.aside.remove(&lot).unwrap_or_default());
        }
        levels(session, &held, &lying.places, &mut families, sheet)?;
        held = rest;
        if ended {
            break;
        }
    }
    // Lots of which nothing lies in bins.
    let aside: Vec<Level> = lying.aside.into_values().flatten().collect();
    levels(session, &aside, &lying.places, &mut families, sheet)
}

/// Where stock lies: the places, and what is put aside of each lot, few as they are.
struct Lying {
    places: HashMap<Uuid, Place>,
    aside: BTreeMap<Uuid, Vec<Level>>,
}

impl Lying {
    fn of(session: &mut Session) -> Result<Self, Refusal> {
        let mut places = HashMap::new();
        for kind in [PlaceKind::Bin, PlaceKind::Quarantine] {
            let some = session.list_places(Some(kind), None, None, i64::MAX)?;
            places.extend(some.into_iter().map(|place| (place.id, place)));
        }
        let filter = LevelFilter {
            kind: Some(PlaceKind::Quarantine),
            ..LevelFilter::default()
        };
        let mut aside: BTreeMap<Uuid, Vec<Level>> = BTreeMap::new();
        for level in session.list_levels(&filter, None, i64::MAX)? {
            aside.entry(level.lot_id).or_default().push(level);
        }
        Ok(Self { places, aside })
    }
}

/// Writes the levels of whole lots.
fn levels(
    session: &mut Session,
    levels: &[Level],
    places: &HashMap<Uuid, Place>,
    families: &mut Families,
    sheet: &mut Sheet<'_>,
) -> Result<(), Refusal> {
    let ids: Vec<Uuid> = levels.iter().map(|level| level.plug_id).collect();
    let plugs = parts(session, &ids)?;
    let ids: Vec<Uuid> = levels.iter().map(|level| level.lot_id).collect();
    let lots: HashMap<Uuid, Lot> = session
        .lots_by_id(&ids)?
        .into_iter()
        .map(|lot| (lot.id, lot))
        .collect();
    let references: HashMap<Uuid, String> = session.references_of(&ids)?.into_iter().collect();
    let mut left: HashMap<Uuid, Left> = HashMap::new();
    for level in levels {
        let came_in = lots.get(&level.lot_id);
        if let Some(lot) = came_in.filter(|lot| lot.from_lot_id.is_none()) {
            let left = left.entry(lot.id).or_insert_with(|| Left::none(lot));
            left.and(level.quantity);
        }
    }
    for level in levels {
        let (Some(plug), Some(lot), Some(place)) = (
            plugs.get(&level.plug_id),
            lots.get(&level.lot_id),
            places.get(&level.place_id),
        ) else {
            return Err(Refusal::Fault("a level without part, lot or place".into()));
        };
        let cost = match left.get_mut(&lot.id) {
            Some(left) => left.next(level.quantity),
            None => families.next(session, (lot, level.quantity), places)?,
        };
        let row = json!({
            "maker": plug.data.maker,
            "part_number": plug.data.part_number,
            "place": place.name,
            "place_kind": place.kind,
            "quantity": level.quantity,
            "supplier": lot.supplier,
            "total_cost_minor": cost.as_ref().map(|cost| cost.minor),
            "currency": cost.as_ref().map(|cost| &cost.currency),
            "pack_size": lot.pack_size,
            "condition": lot.condition,
            "gap_mm": lot.gap_mm.map(|gap| Attr::GapPreset.to_json(gap.0)),
            "reference": references.get(&lot.id),
        });
        sheet.row(row.as_object().unwrap_or(&Map::new()))?;
    }
    Ok(())
}

fn heat_scales(session: &mut Session, sheet: &mut Sheet<'_>) -> Result<(), Refusal> {
    let mut after = None;
    loop {
        let page = session.list_scales(None, after, PAGE)?;
        let Some(last) = page.last() else {
            return Ok(());
        };
        after = Some(last.id);
        for scale in &page {
            let calibrated_at = scale.calibrated_at.map(|at| instant::text(&at));
            for code in &scale.data.codes {
                let mut members = Map::new();
                members.insert("maker".into(), scale.data.maker.clone().into());
                members.insert("scale".into(), scale.data.name.clone().into());
                members.insert("code".into(), code.code.clone().into());
                let index = Attr::Heat.to_json(code.heat_index.0);
                members.insert("heat_index".into(), index);
                members.insert("calibrated_at".into(), calibrated_at.clone().into());
                sheet.row(&members)?;
            }
        }
    }
}

fn statements(session: &mut Session, sheet: &mut Sheet<'_>) -> Result<(), Refusal> {
    let mut after = None;
    loop {
        let page = session.list_stand_ins(&StandInFilter::default(), after, PAGE)?;
        let Some(last) = page.last() else {
            return Ok(());
        };
        after = Some(last.id);
        for stand_in in &page {
            sheet.row(&stand_ins::flat(&stand_in.data))?;
        }
    }
}
