//! The curves that a picture of the spark is drawn from.

use plugwell_domain::build::Build;
use plugwell_domain::requirement::{SparkCurves, spark_curves};
use uuid::Uuid;

use crate::service::{Refusal, Shop, builds};

/// The curves of a build.
///
/// # Errors
/// Faults where it points to records that there are not.
pub fn curves(shop: &Shop, build: &Build) -> Result<SparkCurves, Refusal> {
    let policy = shop.policy();
    shop.store.read(|s| {
        let (head, _) = builds::resolved(s, build)?;
        Ok(spark_curves(&build.engine, &head, &policy.values))
    })
}

/// The curves of a stored build, and the build.
///
/// # Errors
/// `NotFound`; faults where it points to records that there are no more.
pub fn curves_of_stored(shop: &Shop, id: Uuid) -> Result<(Build, SparkCurves), Refusal> {
    let build = builds::get(shop, id)?.data;
    let curves = curves(shop, &build)?;
    Ok((build, curves))
}
