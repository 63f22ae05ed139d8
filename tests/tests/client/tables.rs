//! Tables out and in.

use std::io::Cursor;

use plugwell_client::Code;
use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared, wait};

use crate::stored;

#[test]
fn a_table_goes_out_part_by_part_and_comes_in_again() {
    for shop in shared() {
        let (clerk, plug) = (shop.typed(Who::Clerk), stored(shop).record);
        let mut table = Vec::new();
        wait(clerk.export("plugs", &mut table)).expect("a table");
        let table = String::from_utf8(table).expect("UTF-8");
        assert!(table.contains(&plug.data.part_number));

        let number = unique("TB");
        let csv = format!("maker,part_number,reach_mm\nFerrowick,{number},19\n");
        let dry = wait(clerk.import("plugs", csv.clone(), true)).expect("tried");
        assert_eq!((&dry["rows"], &dry["created"]), (&1.into(), &1.into()));
        let open = move || Ok(Cursor::new(csv.clone().into_bytes()));
        let done = wait(clerk.import_from("plugs", open, false)).expect("taken");
        assert_eq!(done["created"], 1);

        let faulty =
            wait(clerk.import("plugs", "maker,part_number,reach_mm\nFerrowick,,x\n", false));
        let refused = faulty.expect_err("two faults");
        let problem = refused.problem().expect("a problem");
        assert_eq!(
            (problem.code(), problem.errors.len()),
            (Code::Invalid, 2),
            "{problem}"
        );
        assert!(
            problem
                .errors
                .iter()
                .all(|fault| fault.row.is_some() && fault.column.is_some())
        );
    }
}
