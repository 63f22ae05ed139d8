//! Questions behind the counter.

use plugwell_client::domain::fitment::{FindingCode, Symptom};
use plugwell_client::domain::identification::ThreadVerdict;
use plugwell_client::{Build, EngineOf, FitmentCheck, FittedPlugs, PlugData, Readings, Thread};
use plugwell_tests::bodies::build;
use plugwell_tests::{Who, shared, wait};

use crate::{mm, part, stored};

#[test]
fn what_is_fitted_gets_a_second_opinion() {
    for shop in shared() {
        let plug = stored(shop).record;
        let build: Build = serde_json::from_value(build()).expect("a build");
        let check = FitmentCheck {
            engine: EngineOf::Build(Box::new(build)),
            fitted: FittedPlugs {
                plug_id: Some(plug.id),
                gap_mm: Some(mm(1.1)),
                dropped: Some(1),
                ..FittedPlugs::default()
            },
            symptoms: vec![Symptom::MisfireUnderLoad],
        };
        let said = wait(shop.typed(Who::Reader).check_fitment(&check)).expect("an opinion");
        for code in [FindingCode::Dropped, FindingCode::GapTooLarge] {
            let found = said.findings.iter().find(|finding| finding.code == code);
            let found = found.unwrap_or_else(|| panic!("{code} in {:?}", said.findings));
            assert!(!found.text.is_empty() && !found.remedy.text.is_empty());
        }
        assert!(said.unexplained.is_empty(), "the gap explains the misfire");
        assert!(!said.cautions.is_empty());
    }
}

#[test]
fn an_unmarked_plug_is_named() {
    for shop in shared() {
        let plug = stored(shop).record;
        let readings = Readings {
            major_diameter_mm: Some(mm(13.9)),
            pitch_mm: Some(mm(1.25)),
            reach_mm: Some(mm(19.0)),
            hex_mm: Some(mm(15.9)),
            ..Readings::default()
        };
        let named = wait(shop.typed(Who::Reader).identify(&readings)).expect("an answer");
        let thread = named.thread.expect("a thread");
        assert!(thread.verdict == ThreadVerdict::Clear, "{thread:?}");
        assert_eq!(
            thread.designation.and_then(|word| word.known()),
            Some(Thread::M14x125)
        );
        assert!(!named.candidates.is_empty() && plug.data.reach_mm.is_some());
        assert!(
            named
                .candidates
                .iter()
                .all(|one| (0.0..=1.0).contains(&one.likelihood))
        );
    }
}

#[test]
fn a_part_has_its_equivalents() {
    for shop in shared() {
        let clerk = shop.typed(Who::Clerk);
        // A hexagon that no other test's part has: the two find each other among few.
        let rare = || PlugData {
            hex_mm: Some(mm(20.8)),
            projection_mm: Some(mm(1.7)),
            ..part()
        };
        let one = wait(clerk.store(&rare())).expect("one").record;
        let other = wait(clerk.store(&PlugData {
            maker: "Quellmar".to_owned(),
            ..rare()
        }));
        let other = other.expect("another").record;
        let equal = wait(clerk.equivalents(one.id)).expect("equivalents");
        assert_eq!(equal.plug_id, one.id);
        let found = equal.items.iter().find(|item| item.plug.id == other.id);
        let found = found.expect("the other one");
        assert!(
            !found.grade.is_empty() && found.colder_by.0 == 0,
            "{found:?}"
        );
    }
}
