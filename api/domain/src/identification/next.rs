//! Which further measurement would separate the leading candidates best.

use std::cmp::Reverse;

use serde::Serialize;

use super::means::Span;
use super::readings::Measurement;
use super::sought::Sought;
use crate::plug::Shows;
use crate::requirement::sentence::list;

/// The one measurement to take next.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NextMeasurement {
    /// The member of the request that it fills.
    pub attribute: Measurement,
    /// In words.
    pub why: String,
    /// What it is expected to tell, in bits: 1 halves what the plug can be.
    pub bits: f64,
}

/// Leading candidates that one measurement cannot tell from each other.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Group {
    weight: f64,
    candidates: usize,
}

/// Less than this is nothing, in bits: sums of floats leave as much.
const NOTHING: f64 = 1e-9;

/// The measurement that was not taken yet and is expected to tell most of candidates with their
/// likelihoods; of several the first in the list. `None` where nothing would tell them apart.
///
/// Candidates whose spans meet, or are joined by such a chain, cannot be told apart for certain and
/// form one group. What is expected is the entropy of the groups, weighted by how likely it is that
/// the plug is one of those whose record shows the attribute at all.
pub fn next_measurement<P: Shows>(
    sought: &Sought,
    candidates: &[(&P, f64)],
) -> Option<NextMeasurement> {
    let mut best: Option<(Measurement, f64, Vec<Group>)> = None;
    for measurement in Measurement::ALL {
        if sought
            .readings
            .iter()
            .any(|r| r.measurement == *measurement)
        {
            continue;
        }
        let groups = groups(sought, *measurement, candidates);
        let bits = expected_bits(&groups);
        let before = best.as_ref().map_or(NOTHING, |(_, bits, _)| *bits);
        if bits > before + NOTHING {
            best = Some((*measurement, bits, groups));
        }
    }
    let (attribute, bits, mut groups) = best?;
    groups.sort_by_key(|group| Reverse(group.candidates));
    let known: usize = groups.iter().map(|g| g.candidates).sum();
    let sizes: Vec<String> = groups.iter().map(|g| g.candidates.to_string()).collect();
    let mut why = format!(
        "The {} tells the {} leading candidates apart best, into groups of {}",
        attribute.label(),
        candidates.len(),
        list(&sizes, "and")
    );
    match candidates.len() - known {
        0 => why.push('.'),
        unknown => why.push_str(&format!("; of {unknown} it is not on record.")),
    }
    why.push_str(&format!(" How: {}.", attribute.how()));
    Some(NextMeasurement {
        attribute,
        why,
        bits: (bits * 1000.0).round() / 1000.0,
    })
}

fn groups<P: Shows>(
    sought: &Sought,
    measurement: Measurement,
    candidates: &[(&P, f64)],
) -> Vec<Group> {
    let mut spans: Vec<(Span, f64)> = candidates
        .iter()
        .filter_map(|(plug, weight)| Some((sought.means().span(measurement, *plug)?, *weight)))
        .collect();
    spans.sort_by_key(|(span, _)| *span);
    let mut groups: Vec<Group> = Vec::new();
    let mut end = i64::MIN;
    for ((least, most), weight) in spans {
        match groups.last_mut().filter(|_| least <= end) {
            Some(group) => {
                group.weight += weight;
                group.candidates += 1;
            }
            None => groups.push(Group {
                weight,
                candidates: 1,
            }),
        }
        end = end.max(most);
    }
    groups
}

/// The entropy of groups whose weights are shares of one.
fn expected_bits(groups: &[Group]) -> f64 {
    let known: f64 = groups.iter().map(|g| g.weight).sum();
    let weighed = groups.iter().filter(|g| g.weight > 0.0);
    let entropy: f64 = weighed.map(|g| g.weight * (known / g.weight).log2()).sum();
    entropy.max(0.0)
}
