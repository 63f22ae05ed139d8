//! From what was read off an unmarked plug to what it can be.

use std::collections::HashMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::identification::{
    NextMeasurement, Readings, Shell, Sought, ThreadVerdict, next_measurement,
};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_indexer::Likely;
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// Leading candidates that the next measurement is chosen for, and the most that are answered.
pub const LEADING: usize = 200;

/// A record that the plug can be.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The record.
    pub plug: Plug,
    /// Its share among all records that the plug can be.
    pub likelihood: f64,
    /// Sealed plugs of it that nobody has reserved.
    pub available: i64,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Identified {
    /// What the readings say without a catalogue.
    pub shell: Shell,
    /// The readings, to be put to each candidate.
    pub sought: Sought,
    /// The likeliest first.
    pub candidates: Vec<Candidate>,
    /// Records that the plug can be, shown or not.
    pub in_catalogue: u64,
    /// What to measure next.
    pub next: Option<NextMeasurement>,
    /// All of it in words.
    pub text: String,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// Names an unmarked plug by what was read off it.
///
/// # Errors
/// Where database or index fail.
pub fn identify(shop: &Shop, readings: &Readings, limit: usize) -> Result<Identified, Refusal> {
    let policy = shop.policy();
    let shell = Shell::of(readings, &policy);
    let sought = Sought::of(readings, &policy);
    let found = shop.index.identify(&sought, LEADING)?;
    let costs: Vec<u32> = found.likeliest.iter().map(|likely| likely.cost).collect();
    let likelihoods = found.crowd.likelihoods(&costs);
    let mut candidates = recorded(shop, &found.likeliest, &likelihoods)?;
    // The leading ones by themselves: what is expected of a measurement is a matter of shares.
    let all: f64 = candidates.iter().map(|c| c.likelihood).sum();
    let leading: Vec<(&Plug, f64)> = candidates
        .iter()
        .map(|c| (&c.plug, c.likelihood / all))
        .collect();
    let next = next_measurement(&sought, &leading);
    let in_catalogue = found.crowd.count();
    let text = told(
        &candidates,
        in_catalogue,
        found.crowd.equally_likely(),
        next.is_some(),
    );
    candidates.truncate(limit);
    Ok(Identified {
        cautions: cautions(&shell, &candidates),
        shell,
        sought,
        candidates,
        in_catalogue,
        next,
        text,
    })
}

fn recorded(
    shop: &Shop,
    likeliest: &[Likely],
    likelihoods: &[f64],
) -> Result<Vec<Candidate>, Refusal> {
    let ids: Vec<Uuid> = likeliest.iter().map(|likely| likely.id).collect();
    let records = shop.store.read(|s| s.plugs_by_id(&ids))?;
    let mut records: HashMap<Uuid, Plug> = records.into_iter().map(|p| (p.id, p)).collect();
    let shelves = shop.shelves.read();
    let tolerance = shop.policy().values.gap_tolerance_mm.value;
    let candidates = likeliest
        .iter()
        .zip(likelihoods)
        .filter_map(|(likely, likelihood)| {
            Some(Candidate {
                plug: records.remove(&likely.id)?,
                likelihood: *likelihood,
                available: shelves.get(likely.ordinal).available(None, tolerance),
            })
        });
    Ok(candidates.collect())
}

fn cautions(shell: &Shell, shown: &[Candidate]) -> Vec<Caution> {
    let worn = shell
        .thread
        .as_ref()
        .is_some_and(|t| t.verdict != ThreadVerdict::Clear && t.can_be.len() < 2);
    let mut codes = vec![CautionCode::NamedByMeasurement];
    codes.extend(worn.then_some(CautionCode::WornThread));
    let retired = shown.iter().any(|c| c.plug.retired);
    codes.extend(retired.then_some(CautionCode::RetiredRecord));
    codes.extend([
        CautionCode::ConfirmWithHeadMaker,
        CautionCode::MakersStandAbove,
    ]);
    codes.into_iter().map(Caution::of).collect()
}

/// How sure it is, and what cannot be told.
fn told(leading: &[Candidate], in_catalogue: u64, equally_likely: u64, next: bool) -> String {
    let Some(first) = leading.first() else {
        return "No record of the catalogue agrees with these readings; what they say of thread, reach, hexagon and \
                resistor stands."
            .to_owned();
    };
    let data = &first.plug.data;
    let retired = if first.plug.retired { " (retired)" } else { "" };
    let name = format!("{} {}{retired}", data.maker, data.part_number);
    let share = first.likelihood * 100.0;
    let share = if share < 1.0 {
        "less than 1 %".to_owned()
    } else {
        format!("about {share:.0} %")
    };
    let mut text = match (in_catalogue, equally_likely) {
        (1, _) => format!("Of the catalogue only {name} can be it."),
        (many, 1) => format!("{many} records can be it; the likeliest is {name}: {share}."),
        (many, alike) if many == alike => {
            format!("{many} records can be it, all of them equally likely.")
        }
        (many, alike) => {
            format!("{many} records can be it; {alike} share the first place: {share} each.")
        }
    };
    if in_catalogue > 1 && !next {
        text.push_str(" No further measurement tells the leading ones apart.");
    }
    let heats: Vec<i64> = leading
        .iter()
        .filter_map(|c| c.plug.shown(Attr::Heat))
        .collect();
    if let (Some(hottest), Some(coldest)) = (heats.iter().min(), heats.iter().max())
        && hottest < coldest
    {
        text.push_str(&format!(
            " Heat cannot be measured, and theirs runs from {} to {}.",
            Attr::Heat.show(*hottest),
            Attr::Heat.show(*coldest)
        ));
    }
    text
}
