//! The ledger seen from outside: used as it is meant to be, tampered with, and killed.
//!
//! What must hold for every database is a case of the suite: a function that is generic
//! over a [`Place`]. Each runs as a test of its own on SQLite, and all of them in one test
//! on PostgreSQL, so that one server is started and not one for each.

#![expect(clippy::unwrap_used, reason = "a helper that fails must fail its test")]

mod attachments;
mod backup;
mod checkpoints;
mod crash;
mod format;
mod group;
mod open;
mod settings;
mod snapshots;
mod stores;
mod tamper;
mod tamper_at_random;
mod using;

use std::ops::ControlFlow;
use std::path::Path;

use ledger::{Batch, Entry, Head, LedgerError, LedgerId, NewEntry, SqliteStore, Store};
use stores::{Found, Place, Postgres, Sqlite};

const ID: LedgerId = LedgerId::from_bytes(*b"test of a ledger");

macro_rules! suite {
    ($($module:ident { $($case:ident,)* })*) => {
        mod sqlite {
            $(mod $module {
                $(#[test]
                fn $case() {
                    crate::$module::$case::<crate::Sqlite>();
                })*
            })*
        }

        const POSTGRES: &[(&str, fn())] = &[
            $($((
                concat!(stringify!($module), "::", stringify!($case)),
                $module::$case::<Postgres>,
            ),)*)*
        ];
    };
}

suite! {
    attachments {
        an_attachment_is_stored_once_and_read_back,
        an_attachment_in_several_parts_is_read_back,
        damage_to_an_attachment_is_found,
        what_no_entry_names_is_told_and_cleared_once_it_is_old,
        what_any_entry_names_is_never_cleared,
        what_is_sent_again_is_young_again,
        a_ledger_that_cannot_be_read_is_not_cleared,
        a_mark_that_lets_attachments_go_is_found,
        arrivals_go_along_with_a_backup_and_its_restoring,
    }
    backup {
        a_backup_is_the_same_ledger_in_another_file,
        a_backup_never_replaces_a_file,
        a_damaged_ledger_gives_no_backup,
        a_backup_taken_while_someone_writes_holds_whole_batches,
        a_backup_is_restored_and_what_stood_there_set_aside,
        a_damaged_backup_is_never_restored,
        the_last_backup_is_noted,
    }
    checkpoints {
        a_checkpoint_is_stored_and_holds,
        a_checkpoint_speaks_against_a_history_written_anew,
        a_changed_checkpoint_is_found,
        only_trusted_keys_count_where_some_are_named,
    }
    crash {
        a_killed_writer_loses_nothing_that_it_acknowledged,
        whoever_is_killed_while_clearing_leaves_all_or_nothing,
    }
    format {
        a_ledger_of_format_3_is_read_as_it_is_and_notes_arrivals_after_an_update,
        files_of_every_older_format_are_restored_whole,
    }
    group {
        batches_of_a_group_stand_one_behind_the_other,
        a_request_counts_once_however_often_it_is_sent,
        a_bad_entry_refuses_the_whole_group,
        a_changed_request_is_found,
        two_writers_never_append_at_once,
    }
    settings {
        a_setting_is_kept_changed_and_taken_away,
        a_setting_that_is_too_long_is_refused,
        nobody_changes_a_setting_while_it_is_decided_on,
        settings_are_in_a_backup_and_no_part_of_the_record,
    }
    snapshots {
        the_newest_snapshot_that_holds_is_found,
        all_snapshots_can_be_thrown_away,
        old_snapshots_go,
        a_snapshot_of_another_history_is_refused,
    }
    tamper {
        an_untouched_ledger_is_sound,
        a_change_to_any_column_is_found,
        text_moved_from_one_column_to_the_next_is_found,
        a_missing_row_is_named_wherever_it_was,
        a_gap_closed_by_renumbering_is_found,
        exchanged_rows_are_found,
        rows_added_behind_the_ledgers_back_are_found,
        a_changed_id_or_head_is_found,
        an_empty_ledger_is_covered_too,
        only_a_witness_finds_a_cut_that_sets_the_head_back,
        only_a_witness_finds_a_history_written_anew,
        the_list_of_faults_is_bounded_and_the_rest_counted,
        nothing_is_built_on_a_damaged_end,
        reading_stops_before_the_first_entry_that_does_not_fit,
        other_programs_cannot_change_what_is_recorded,
        a_trigger_taken_away_or_put_in_is_found,
    }
    using {
        what_was_appended_is_read_back_with_its_batches,
        reading_goes_on_after_any_entry_and_stops_when_told,
        reading_inside_reading_is_harmless,
        whoever_comes_late_is_told_and_nothing_is_written,
        one_bad_entry_refuses_the_batch_and_all_problems_are_told,
        readers_see_whole_batches_while_the_writer_appends,
        long_ledgers_are_read_whole,
        there_is_one_writer_and_readers_never_wait,
        creating_never_replaces_a_ledger,
        anything_that_is_taken_comes_back_unchanged,
    }
}

#[test]
fn the_whole_suite_on_postgresql() {
    if let Found::Nothing(why) = stores::find_server() {
        println!("SKIPPED, nothing was tested on PostgreSQL: {why}");
        return;
    }
    // Whoever says how often to kill wants that case alone.
    let killing = std::env::var_os(crash::KILLS).is_some();
    let failed: Vec<&str> = POSTGRES
        .iter()
        .filter(|(name, _)| !killing || name.starts_with("crash::"))
        .filter(|(name, case)| {
            let begun = std::time::Instant::now();
            let failed = std::panic::catch_unwind(case).is_err();
            println!("{:5.1} s {name}", begun.elapsed().as_secs_f64());
            failed
        })
        .map(|(name, _)| *name)
        .collect();
    assert!(
        failed.is_empty(),
        "on PostgreSQL {} cases failed: {failed:#?}",
        failed.len()
    );
}

/// An entry whose every field depends on `n`.
fn entry(n: u64) -> NewEntry {
    NewEntry {
        kind: format!("kind {}", n % 5),
        version: (n % 3) as u32,
        body: format!("{{\"n\":{n}}}").into_bytes(),
        at: format!("2031-01-{:02}T09:30:00Z", n % 28 + 1),
        by: format!("Fitter {}", n % 7),
    }
}

/// A ledger with batches of the given sizes, closed, and its heads after each.
fn filled<P: Place>(batches: &[u64]) -> (P, Vec<Head>) {
    let place = P::vacant();
    let heads = fill(&mut place.create().unwrap(), batches);
    (place, heads)
}

/// The same in a file.
fn create(path: &Path, batches: &[u64]) -> Vec<Head> {
    fill(&mut SqliteStore::create_with_id(path, ID).unwrap(), batches)
}

fn fill(store: &mut impl Store, batches: &[u64]) -> Vec<Head> {
    let mut number = 0;
    batches
        .iter()
        .map(|&size| {
            let batch: Vec<NewEntry> = (number + 1..=number + size).map(entry).collect();
            let head = store.append(number, &batch).unwrap();
            number = head.number;
            head
        })
        .collect()
}

/// A batch of entries `from` to `to`, perhaps with a request id.
fn batch(request: Option<&str>, from: u64, to: u64) -> Batch {
    let request = request.map(|id| id.parse().unwrap());
    Batch { request, entries: (from..=to).map(entry).collect() }
}

fn read_all(store: &impl Store, after: u64) -> Result<Vec<Entry>, LedgerError> {
    let mut entries = Vec::new();
    store.read(after, &mut |entry| {
        entries.push(entry);
        ControlFlow::Continue(())
    })?;
    Ok(entries)
}

/// The database behind the ledger's back, with its constraints and triggers off.
fn raw(path: &Path) -> rusqlite::Connection {
    let conn = rusqlite::Connection::open(path).unwrap();
    let triggers = rusqlite::config::DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER;
    conn.set_db_config(triggers, false).unwrap();
    conn.pragma_update(None, "ignore_check_constraints", true).unwrap();
    conn.pragma_update(None, "synchronous", "OFF").unwrap();
    conn
}

/// The names of the files in a folder.
fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|found| found.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
