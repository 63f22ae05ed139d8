//! Whatever the records and the readings.

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::identification::{
    Agreement, Crowd, Judged, Measurement, Readings, Sought, next_measurement,
};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use plugwell_domain::thread::Thread;
use plugwell_domain::thread_limits::thread_limits;
use proptest::prelude::*;
use serde_json::{Map, Value, json};

use crate::leading;

/// Values that a catalogue has of an attribute; lengths in 0.1 µm, ohms in tenths.
fn usual(attr: Attr) -> Vec<i64> {
    match attr {
        Attr::Reach => vec![127_000, 175_000, 190_000, 190_500, 265_000],
        Attr::Hex => vec![140_000, 158_750, 160_000, 206_375, 208_000],
        Attr::Projection => vec![-5_000, 0, 15_000, 30_000, 35_000],
        Attr::Resistance => vec![0, 20, 30_000, 50_000, 75_000],
        Attr::Overall => vec![550_000, 556_000, 620_000],
        Attr::Insulator => vec![350_000, 400_000, 411_000],
        // The five metric sizes.
        Attr::Thread => (0..5).collect(),
        _ => match attr.declared().kind {
            Kind::Choice(words) => (0..words.len() as i64).collect(),
            _ => vec![0, 1],
        },
    }
}

const MEASURED: [Attr; 10] = [
    Attr::Thread,
    Attr::Seat,
    Attr::Reach,
    Attr::Hex,
    Attr::HexKind,
    Attr::Resistance,
    Attr::Ground,
    Attr::Terminal,
    Attr::Projection,
    Attr::Overall,
];

prop_compose! {
    /// A record with each value known or not.
    fn any_record()(picks in proptest::collection::vec((any::<prop::sample::Index>(), 0..6_u8), MEASURED.len())) -> PlugData {
        let mut data = PlugData::named("Ferrowick", "FW-1");
        for (attr, (pick, known)) in MEASURED.iter().zip(picks) {
            if known > 0 {
                data.facts.set(*attr, Some(*pick.get(&usual(*attr))));
            }
        }
        data
    }
}

/// Which measurements are taken, and how far each is off, in thousandths of the instrument's
/// uncertainty.
fn taken() -> impl Strategy<Value = Vec<(Measurement, i64)>> {
    let off = proptest::collection::vec((any::<bool>(), -1000..=1000_i64), Measurement::ALL.len());
    off.prop_map(|all| {
        let taken = Measurement::ALL
            .iter()
            .zip(all)
            .filter(|(_, (taken, _))| *taken);
        taken.map(|(m, (_, off))| (*m, off)).collect()
    })
}

/// What an instrument reads of a record: its nominal value, off by so many thousandths of what the
/// instrument may be wrong by.
fn reading(of: &PlugData, measurement: Measurement, off: i64) -> Option<Value> {
    let attr = measurement.attr();
    let nominal = of.facts.get(attr)?;
    let limits =
        || thread_limits(Thread::at(nominal).expect("a thread").word()).expect("a metric size");
    // 0.05 mm and 5 %, the defaults.
    let mm = |raw: i64| json!((raw + off / 2) as f64 / 10_000.0);
    Some(match measurement {
        Measurement::MajorDiameter => {
            let major = limits().external_6e.major;
            mm(i64::from(major.min_um + major.max_um) * 5)
        }
        Measurement::Pitch => json!(f64::from(limits().pitch_um) / 1000.0),
        Measurement::Resistance => json!((nominal + nominal * off / 21_000) as f64 / 10.0),
        Measurement::Seat | Measurement::HexKind | Measurement::Ground | Measurement::Terminal => {
            attr.to_json(nominal)
        }
        _ => mm(nominal),
    })
}

fn readings(of: &PlugData, taken: &[(Measurement, i64)]) -> Option<Readings> {
    let values: Map<String, Value> = taken
        .iter()
        .filter_map(|(m, off)| Some((m.word().to_owned(), reading(of, *m, *off)?)))
        .collect();
    (!values.is_empty()).then(|| serde_json::from_value(values.into()).expect("readings"))
}

fn sought(readings: &Readings) -> Sought {
    Sought::of(readings, &Policy::default())
}

/// How a record stands to each reading.
fn verdicts(sought: &Sought, plug: &PlugData) -> Vec<(Measurement, Judged)> {
    sought
        .readings
        .iter()
        .map(|r| (r.measurement, sought.judge(r, plug)))
        .collect()
}

/// The entropy over the groups that a measurement tells apart, put together pair by pair.
fn bits(sought: &Sought, measurement: Measurement, candidates: &[(PlugData, f64)]) -> f64 {
    let known: Vec<((i64, i64), f64)> = candidates
        .iter()
        .filter_map(|(plug, weight)| Some((sought.means().span(measurement, plug)?, *weight)))
        .collect();
    let mut group: Vec<usize> = (0..known.len()).collect();
    for i in 0..known.len() {
        for j in 0..known.len() {
            let (a, b) = (known[i].0, known[j].0);
            if a.0 <= b.1 && b.0 <= a.1 {
                let (from, to) = (group[i], group[j]);
                group
                    .iter_mut()
                    .filter(|g| **g == from)
                    .for_each(|g| *g = to);
            }
        }
    }
    let all: f64 = known.iter().map(|(_, weight)| weight).sum();
    let of = |wanted: usize| -> f64 {
        let in_it = group.iter().zip(&known).filter(|(g, _)| **g == wanted);
        in_it.map(|(_, (_, weight))| weight).sum()
    };
    let shares = (0..known.len()).map(of).filter(|weight| *weight > 0.0);
    all * shares
        .map(|weight| -(weight / all) * (weight / all).log2())
        .sum::<f64>()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A record that was measured within what its instruments may be wrong by is a candidate, and
    /// every reading agrees with it.
    #[test]
    fn the_truth_is_never_contradicted(truth in any_record(), taken in taken()) {
        let Some(readings) = readings(&truth, &taken) else { return Ok(()) };
        let sought = sought(&readings);
        for reading in &sought.readings {
            let judged = sought.judge(reading, &truth);
            prop_assert_eq!(judged.verdict, Agreement::Agrees, "{:?}", reading);
        }
        prop_assert!(sought.tally(&truth).is_some());
    }

    /// A reading that was not taken tells nothing: the others stand as they stood, the truth stays a
    /// candidate, every record is freed of just what the reading had cost it, and none that shows of
    /// it what the truth shows gains on the truth or comes in.
    #[test]
    fn a_missing_reading_is_neutral(truth in any_record(), other in any_record(), taken in taken()) {
        let Some(all) = readings(&truth, &taken) else { return Ok(()) };
        let whole = sought(&all);
        for left_out in &whole.readings {
            let fewer: Vec<_> = taken.iter().copied().filter(|(m, _)| *m != left_out.measurement).collect();
            let Some(rest) = readings(&truth, &fewer) else { continue };
            let without = sought(&rest);
            let mut same = other.clone();
            for attr in [Some(left_out.measurement.attr()), left_out.otherwise].into_iter().flatten() {
                same.facts.set(attr, truth.facts.get(attr));
            }
            for plug in [&truth, &other, &same] {
                let mut others = verdicts(&whole, plug);
                others.retain(|(measurement, _)| *measurement != left_out.measurement);
                prop_assert_eq!(verdicts(&without, plug), others);
                if let (Some(was), Some(is)) = (whole.tally(plug), without.tally(plug)) {
                    prop_assert_eq!(was.cost, is.cost + whole.judge(left_out, plug).cost);
                }
            }
            let (was, is) = (whole.tally(&truth), without.tally(&truth));
            prop_assert!(was.is_some() && is.is_some(), "{:?} {:?}", was, is);
            let behind = |sought: &Sought| Some(i64::from(sought.tally(&same)?.cost) - i64::from(sought.tally(&truth)?.cost));
            if let Some(now) = behind(&without) {
                prop_assert_eq!(behind(&whole), Some(now), "it gained, or came in");
            }
        }
    }

    /// One more true reading never helps a record that it tells from the truth: the truth gains on it.
    #[test]
    fn a_true_reading_lets_the_truth_gain(truth in any_record(), other in any_record(), taken in taken()) {
        let Some(all) = readings(&truth, &taken) else { return Ok(()) };
        let sought = sought(&all);
        for reading in &sought.readings {
            let span = |plug| sought.means().span(reading.measurement, plug);
            let (Some(own), Some(others)) = (span(&truth), span(&other)) else { continue };
            if own.1 < others.0 || others.1 < own.0 {
                prop_assert!(sought.judge(reading, &truth).cost < sought.judge(reading, &other).cost);
            }
        }
    }

    /// A reading agrees with a record exactly where it lies in the span of what the record could give.
    #[test]
    fn spans_are_what_agrees(plug in any_record(), near in any_record(), taken in taken()) {
        let Some(all) = readings(&near, &taken) else { return Ok(()) };
        let sought = sought(&all);
        for reading in sought.readings.iter().filter(|r| r.measurement != Measurement::Terminal) {
            let Some((least, most)) = sought.means().span(reading.measurement, &plug) else { continue };
            let agrees = sought.judge(reading, &plug).verdict == Agreement::Agrees;
            // A resistance is rounded to its last place.
            let at_the_edge = [least, most].iter().any(|end| (end - reading.read).abs() <= 1);
            if !at_the_edge {
                prop_assert_eq!(agrees, (least..=most).contains(&reading.read), "{:?} {} {}", reading, least, most);
            }
        }
    }

    /// What is to be measured next has the greatest entropy of all that was not measured.
    #[test]
    fn the_next_measurement_tells_most(
        records in proptest::collection::vec((any_record(), 1..100_u32), 1..8), taken in taken(), truth in any_record()
    ) {
        let Some(all) = readings(&truth, &taken) else { return Ok(()) };
        let sought = sought(&all);
        let sum: u32 = records.iter().map(|(_, weight)| weight).sum();
        let candidates: Vec<_> = records.into_iter().map(|(plug, weight)| (plug, f64::from(weight) / f64::from(sum))).collect();
        let open: Vec<Measurement> = Measurement::ALL.iter().copied()
            .filter(|m| sought.readings.iter().all(|r| r.measurement != *m)).collect();
        let most = open.iter().map(|m| bits(&sought, *m, &candidates)).fold(0.0, f64::max);
        match next_measurement(&sought, &leading(&candidates)) {
            None => prop_assert!(most < 1e-6, "{}", most),
            Some(next) => {
                prop_assert!(open.contains(&next.attribute));
                let own = bits(&sought, next.attribute, &candidates);
                prop_assert!((own - most).abs() < 1e-6, "{:?}: {} of {}", next, own, most);
                prop_assert!((next.bits - own).abs() <= 5.1e-4);
            }
        }
    }

    /// Likelihoods are shares of one, in the order of the costs.
    #[test]
    fn likelihoods_are_shares(costs in proptest::collection::vec(0..60_000_u32, 1..50)) {
        let mut crowd = Crowd::default();
        costs.iter().for_each(|cost| crowd.add(*cost));
        let shares = crowd.likelihoods(&costs);
        prop_assert_eq!(crowd.count(), costs.len() as u64);
        prop_assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        for (a, b) in costs.iter().zip(&shares) {
            for (c, d) in costs.iter().zip(&shares) {
                prop_assert!(a > c || b >= d);
                // A thousand is a factor of e.
                prop_assert!((b * (f64::from(*a) / 1000.0).exp() - d * (f64::from(*c) / 1000.0).exp()).abs() <= 1e-9 * b.max(*d) * (f64::from(*a.max(c)) / 1000.0).exp());
            }
        }
    }
}
