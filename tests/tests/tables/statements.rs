//! Statements from a table: met by both parts and who says so; what is said otherwise is said anew.

use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared};
use serde_json::json;

use crate::{attempt, import, numbers, told};

const HEADER: &str = "maker,part_number,for_maker,for_part_number,direction,who,source,note";

#[test]
fn a_statement_is_entered_left_or_stated_anew() {
    for shop in shared() {
        let maker = unique("Stated");
        let csv = format!(
            "{HEADER}\n{maker},A-1,Other,B-1,both,Alder,\"a sheet,\nsecond line\",\n{maker},A-2,Other,B-1,one_way,Alder,,\n"
        );
        assert_eq!(
            numbers(&import(shop, "stand-ins", &csv).expect(201)),
            [2, 2, 0, 0]
        );
        let all = || shop.all(Who::Reader, &format!("/v1/stand-ins?maker={maker}"));
        let stored = all();
        assert_eq!(stored[0]["source"], "a sheet,\nsecond line");
        assert_eq!(
            (&stored[0]["recorded_by"], &stored[0]["note"]),
            (&json!("test clerk"), &json!(null))
        );
        assert_eq!(
            numbers(&import(shop, "stand-ins", &csv).expect(201)),
            [2, 0, 0, 2]
        );
        assert_eq!(all(), stored, "left as they were");
        let other = csv.replace("one_way", "both");
        let tried = attempt(shop, "stand-ins", &other).expect(200);
        assert_eq!(
            tried.json["differences"],
            json!([{
                "row": 3, "record": format!("{maker} A-2 for Other B-1 by Alder"), "change": "updated",
                "members": [{ "member": "direction", "old": "one_way", "new": "both" }]
            }])
        );
        assert_eq!(
            numbers(&import(shop, "stand-ins", &other).expect(201)),
            [2, 0, 1, 1]
        );
        let now = all();
        assert_eq!((now.len(), &now[0]), (2, &stored[0]));
        assert_eq!(now[1]["direction"], "both");
        assert_ne!(now[1]["id"], stored[1]["id"], "withdrawn, and stated anew");
    }
}

#[test]
fn faults_are_told_by_the_columns_of_the_table() {
    for shop in shared() {
        let maker = unique("Misstated");
        let long = "x".repeat(81);
        let csv = format!(
            "{HEADER}\n\
             {maker},A-1,{maker},a-1,both,Alder,,\n\
             {maker},A-1,Other,B-1,sideways,Alder,,\n\
             {maker},A-1,{long},B-1,both,,,\n\
             {maker},A-1,{long},B-1,both,Alder,,\n\
             {maker},A-1,Other,B-1,both,Alder,,\n\
             other,b-1,{maker},A-1,one_way,ALDER,,\n\
             ,A-1,{maker},{long},sideways,,,\n"
        );
        let wanted = [
            "2 for_part_number contradiction",
            "3 direction not_in_list",
            "4 for_maker out_of_range",
            "4 who missing",
            "5 for_maker out_of_range",
            "6 who duplicate",
            "7 who duplicate",
            "8 direction not_in_list",
            "8 for_part_number out_of_range",
            "8 maker missing",
            "8 who missing",
        ];
        assert_eq!(told(import(shop, "stand-ins", &csv)), wanted);
        assert_eq!(
            shop.all(Who::Reader, &format!("/v1/stand-ins?maker={maker}"))
                .len(),
            0
        );
    }
}
