//! What a comparison came across: it must not pass for want of cases.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::scan::{Expected, Found, Scan, Verdict, fine};

/// What the comparison came across, so that it cannot pass for want of cases.
#[derive(Default)]
pub struct Seen {
    fits: usize,
    near_misses: usize,
    on_an_end: usize,
    let_pass_unknown: usize,
    fails_unknown: usize,
    by_attribute: BTreeSet<String>,
    pub stocked: usize,
}

impl Seen {
    pub fn note(&mut self, expected: &Expected, demands: &[Value], scan: &Scan) {
        self.fits += expected.fits.len();
        self.near_misses += expected.near_misses.len();
        self.stocked += expected.fits.iter().filter(|fit| fit.available > 0).count();
        for miss in &expected.near_misses {
            self.by_attribute.extend(miss.fails.iter().cloned());
        }
        let unknown = |found: &Found| found.verdicts.contains(&Verdict::Unknown);
        self.let_pass_unknown += expected.fits.iter().filter(|fit| unknown(fit)).count();
        self.fails_unknown += expected
            .near_misses
            .iter()
            .filter(|miss| unknown(miss))
            .count();
        for fit in &expected.fits {
            let record = scan
                .records
                .iter()
                .find(|record| record.id == fit.id)
                .expect("a record");
            let on_an_end = |demand: &Value| {
                let ends = ["min", "max"].map(|end| demand["test"][end].as_f64().map(fine));
                let has = record.number(demand["attribute"].as_str().unwrap_or_default());
                has.is_some() && ends.contains(&has)
            };
            self.on_an_end += usize::from(demands.iter().any(on_an_end));
        }
    }

    pub fn are_worth_it(&self) {
        assert!(self.fits > 500, "only {} fits", self.fits);
        assert!(
            self.near_misses > 500,
            "only {} near misses",
            self.near_misses
        );
        assert!(
            self.on_an_end > 200,
            "only {} fits on the end of a demand",
            self.on_an_end
        );
        assert!(
            self.let_pass_unknown > 20,
            "only {} fits with something unknown",
            self.let_pass_unknown
        );
        assert!(
            self.fails_unknown > 20,
            "only {} near misses by something unknown",
            self.fails_unknown
        );
        for attribute in [
            "reach_mm",
            "hex_mm",
            "heat_index",
            "projection_mm",
            "resistor",
            "terminal",
            "gap_min_mm",
        ] {
            assert!(
                self.by_attribute.contains(attribute),
                "no near miss by {attribute}"
            );
        }
    }
}
