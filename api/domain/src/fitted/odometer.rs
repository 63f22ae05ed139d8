//! What the odometer of a build has been told to read: it never runs backwards.

use super::IssueForBuild;
use crate::fault::{Fault, FaultCode};

/// The greatest reading that is stored for a build: its own, or one told with an issue that stands.
pub fn latest_odometer(own: Option<i64>, issues: &[IssueForBuild]) -> Option<i64> {
    let told = issues.iter().filter_map(|issue| issue.odometer_km).max();
    own.max(told)
}

/// The fault of a reading that is less than one before it.
pub fn backwards(told: i64, latest: Option<i64>) -> Option<Fault> {
    let before = latest.filter(|before| told < *before)?;
    let detail = format!(
        "{told} km is less than the {before} km that are stored for this build, and an odometer does not run backwards: \
         read it again. A wrong reading of the build is put right at the build, one of an issue by its reversal."
    );
    Some(Fault::at("odometer_km", FaultCode::Contradiction, detail))
}
