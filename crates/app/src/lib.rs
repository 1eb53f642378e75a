//! The use cases: one function each, plain values in and out.
//!
//! A [`Workshop`] owns the ledger and the programme folded from it. [`load()`], [`export()`]
//! and [`verify()`] move a programme between its folder and the ledger and prove it;
//! [`plan_season()`] plans a season and refuses to hand out a plan that the independent
//! checker rejects; [`publish()`] writes a plan's charts and lists; [`solve()`] takes a scheduling
//! problem by itself, published or drawn. [`Workshop::act`] does what people sign for, or says every rule that
//! forbids it; [`sheet()`] and [`history()`] say what the record holds.
//!
//! **Knows** every crate below it. **Never knows** HTTP, the terminal, the wall clock or
//! the environment: times and paths arrive as parameters.

mod acting;
mod actuals;
mod adopted_days;
mod adopting;
mod bench;
mod beside;
mod breakdown;
mod bundle;
mod codes;
mod counting;
mod describing;
mod desk;
mod drawing;
mod driving;
mod entries;
mod error;
mod expiring;
mod files;
mod findings;
mod following;
mod forms;
mod history;
mod importing;
mod judging;
mod keeping;
mod left_behind;
mod missing;
mod moving;
mod named;
mod near;
mod notices;
mod opening;
mod overview;
mod papers;
mod passes;
mod pictures;
mod preferences;
mod progress;
mod proof_sheet;
mod proving;
mod publish;
mod reaching;
mod rules;
mod seal;
mod searching;
mod season;
mod second;
mod settings;
mod sheet;
mod sheets;
mod snapshot;
mod solve;
mod studio;
mod summary;
mod tables;
mod things;
mod thumbnails;
mod timeline;
mod today;
mod told;
mod touching;
mod view;
mod whereabouts;
mod workshop;

pub use acting::{
    Kept, Refused, acts_of_file, refused_json, try_acts, try_acts_on, typed_act,
};
pub use actuals::{JobHeld, JobStands, PackHeld, PlanHeld, plan_held};
pub use adopted_days::calendar_of;
pub use adopting::{Moves, OtherDay, adoption, moves};
pub use bench::{
    Bench, BenchLimit, BenchStep, Offered, Signature, bench, cautions, instruments,
    is_supervised, next_query, reading_text,
};
pub use beside::{BesideEachOther, Matters, MovedJob, Side, beside};
pub use breakdown::{Breakdown, BrokenBy, Node, breakdown};
pub use bundle::{
    BundleAbout, BundleVerdict, Bundled, PackedBundle, bundle, check_bundle,
    packed_bundle,
};
pub use charts::{RegionState, Setting, regions_style};
pub use codes::{CodeFound, Coded, code_of, despatch_name, find_code, plain_code};
pub use counting::counted;
pub use describing::{
    ActFault, act_faults, act_schemas, acts_of_json, acts_of_values, is_request,
};
pub use desk::{Desk, Snapshot};
pub use drawing::{
    AboutItem, Drawing, DrawnMark, DrawnOutline, ItemState, ItemWord, ZoneFacts,
    ZonePage, about_item, drawing, drawing_svg, item_state, views, zone_list, zone_page,
    zones_of_items,
};
pub use driving::{DrivingJob, driving};
pub use entries::{
    Correction, Entries, EntriesWanted, EntryShown, EntryWhole, entries, entries_json,
    entry, entry_json,
};
pub use error::AppError;
pub use expiring::{RunsOut, running_out};
pub use files::write as write_file;
pub use findings::{
    Choices, Deciding, FINDING_SORTS, FindingFilter, FindingRow, FindingWord, Findings,
    GateNow, Mark, Way, deciding, findings, findings_sheet, mark_of, next_finding,
};
pub use following::follows;
pub use forms::{
    ActForm, FieldForm, FieldSort, OF_THE_BENCH, Problem, Takes, act_forms,
    act_of_fields, all_powers, choices, files_of, is_digest, is_founding, may, observes,
    person, powers, powers_for, problem,
};
pub use history::history;
pub use importing::{
    DateOrder, Decimal, Heading, ListChanges, ListChoice, ListColumn, ListFile, ListForm,
    ListFormat, ListImport, ListLoaded, ListLook, ListProblem, MOST_UPLOAD, Seen, Upload,
    Uploads, list_file, list_forms, list_template, look_at_list,
};
pub use keeping::{
    Attached, Attachment, Fit, attach, attach_all, attachment, backup, backup_warning,
    checkpoint, fit, new_key, restore,
};
pub use ledger::{Derivation, HidingKey};
pub use ledger::{LedgerError, Place};
pub use left_behind::{Cleared, LeftBehind, clear_left_behind, left_behind, would_clear};
pub use moving::{
    Checked, Loaded, check, export, load, new_folder, read_folder, schemas,
};
pub use notices::{leave_notice, notices, notices_told};
pub use opening::{OpeningAnswer, opening};
pub use overview::{Mine, NextGate, Off, Overview, PlanNow, Waiting, mine, overview};
pub use papers::{Head, Paper, despatch_paper, head, tag_paper};
pub use passes::{
    MadePass, NewPass, Pass, PassScope, find_pass, make_pass, pass_used, passes,
    revoke_pass,
};
pub use pictures::{Picture, files_named, pictures};
pub use preferences::{PREFERENCES, Preferences};
pub use progress::SearchProgress;
pub use proof_sheet::proof_sheet;
pub use proving::{Proof, Witnesses, forget_snapshots, verify};
pub use publish::{Published, chart, chart_script, chart_style, publish};
pub use reaching::{
    AskedWrong, ReachAsked, ReachChoices, Reaching, ReachingStep, StepKindOf,
    reach_choices, reaching, reaching_svg, reaching_table,
};
pub use record::{Act, Condition, Difference, JobKey, Programme, View};
pub use seal::{
    Secret, enrolment, enrolment_by, has_keys, has_secret, key_of, proves, random_token,
    unlock,
};
pub use search::{Bound, News, Silent, Stop, Watch};
pub use searching::{Fits, Hit, Searchable};
pub use season::{
    CardRequest, Ending, PlanRequest, SeasonPlan, choose_season, conflict_told,
    draft_cards, ending_told, news_told, plan_season, season_names, season_problem,
    under_way, what_if,
};
pub use second::{
    CodeVerdict, check_code, code_at, code_link, has_second, keep_second, new_code_key,
    remove_second, second_of, set_second,
};
pub use settings::{Change, Settings};
pub use sheet::{List, Sheet};
pub use sheets::{About, sheet};
pub use snapshot::FORMAT as SNAPSHOT_FORMAT;
pub use solve::{
    Judgement, ProblemSize, Run, SolveAnswer, SolveRequest, draw_problem, judge, solve,
};
pub use studio::{Proposal, SearchState, Studio};
pub use summary::{json, summary};
pub use things::{Thing, steps, things};
pub use thumbnails::{Small, Thumbnail, thumbnail};
pub use timeline::{
    JobLine, JobTold, LaneWord, Timeline, TimelineAsk, job_told, timeline, timeline_data,
};
pub use timetable::Measures;
pub use today::{
    Air, AirAt, AirLimit, AirVerdict, AirWork, AtWork, FRESH_HOURS, Held, JobNow,
    JobToday, MARGIN, Obstacle, PersonToday, ToInspect, Today, Travelling, moment_of,
    today,
};
pub use told::overview_json;
pub use touching::{Changed, Since, changed_json};
pub use whereabouts::{
    Board, BoardAsked, BoardPart, ShelfLife, StoreDue, Whereabout, board_part,
    whereabouts,
};
pub use workshop::{Signed, Workshop};
