//! Every method of a session, the same on both engines.

#[path = "../cluster/mod.rs"]
mod cluster;
#[path = "../made_up/mod.rs"]
mod made_up;

mod access;
mod audit;
mod bulk;
mod catalogue;
mod counts;
mod demand;
mod engines;
mod events;
mod history;
mod ledger;
mod lists;
mod orders;
mod outbox;
mod places;
mod readings;
mod shelf;
mod stand_ins;
mod tables;
mod transactions;
mod valued;

use plugwell_store::{Options, Store, Target};

/// Runs a test on a new database of each engine.
macro_rules! on_both {
    ($($subject:ident: $($test:ident),+ $(,)?;)+) => {
        mod sqlite {
            $(mod $subject { $(#[test] fn $test() { crate::on_sqlite(crate::$subject::$test); })+ })+
        }
        mod postgres {
            $(mod $subject { $(#[test] fn $test() { crate::on_postgres(crate::$subject::$test); })+ })+
        }
    };
}

on_both! {
    catalogue: every_attribute_survives, names_are_unique_case_blind,
        parts_are_found, ordinals_run_on, edits_and_deletes, a_stale_edit_is_not_written, history_shows;
    demand: demand_is_counted_by_week_and_month, what_comes_back_is_taken_off_where_it_went_out,
        what_lots_tell_and_what_is_there, what_orders_tell, what_is_given_by_hand;
    engines: heads, builds_are_listed, builds_change_and_go, scales;
    events: what_is_written_is_told_with_it, stock_is_told_of_by_movement_and_reservation,
        old_events_are_forgotten_with_their_deliveries, deliveries_of_one_subject_go_one_after_the_other,
        nobody_else_gets_what_somebody_claims;
    orders: an_order_survives_and_changes, what_is_to_come_is_summed_up,
        lead_times_are_those_of_deliveries, a_line_that_counts_wrong_is_found, checks_and_barcodes,
        barcodes_are_found_by_what_they_can_mean;
    places: codes_run_on, names_are_unique_within_a_kind, suppliers_and_jobs_are_made_on_first_use,
        there_is_one_scrap_drum;
    ledger: a_plan_is_written, what_came_back, a_movement_is_put_right_once, nothing_goes_below_zero;
    history: movements_in_any_combination, flows, changes_in_bins, parts_in_stock, families_of_lots;
    lists: plugs_by_attribute, plugs_by_the_rest, plugs_page_by_page, movements, reservations, lots, levels;
    audit: a_spoilt_level_is_found, a_missing_level_is_found, a_spoilt_movement_or_reservation_is_found;
    shelf: a_shelf_shows_what_the_rules_need, live_stock_equals_the_shelves;
    readings: tuning_days, tuning_days_change_and_keep_what_they_name, readings, shelves_of_several_parts;
    access: once_only_answers, tokens, policies, meta;
    counts: a_count_is_kept, a_bin_is_counted_once_at_a_time, a_level_names_its_last_movement, approved_counts_are_summed_up;
    outbox: marks_follow_the_writes;
    bulk: many_parts_are_stored_and_found_by_name, a_write_alone_is_all_or_nothing_and_others_wait,
        a_panic_alone_keeps_nothing;
    stand_ins: statements_come_and_go, one_says_it_once, statements_are_found_from_either_side,
        statements_are_found_by_bare_spellings;
    tables: a_table_that_was_read_is_found_by_its_digest, lots_are_found_as_they_were_received;
    valued: books_are_handed_over, scrap_of_a_period;
    transactions: an_error_keeps_nothing, a_read_is_one_state, a_command_that_goes_on_after_an_error_is_not_kept,
        values_come_after_the_commit, a_panic_keeps_nothing, the_last_set_goes_to_one, edits_at_once_are_not_lost;
}

fn on_sqlite(test: fn(&Store)) {
    let folder = tempfile::tempdir().unwrap();
    test(
        &Store::open(
            &Target::Sqlite(folder.path().join("shop.db")),
            &Options::default(),
        )
        .unwrap(),
    );
}

fn on_postgres(test: fn(&Store)) {
    let Some(url) = cluster::new_database() else {
        return;
    };
    test(&Store::open(&Target::parse(&url).unwrap(), &Options::default()).unwrap());
}
