//! Acts about plans.

use jiff::civil::DateTime;
use record::act::DatedJob;
use record::{JobKey, PersonId, SeasonId};

use crate::acts::table::declare;

declare! {
    part DatedJob "planned job" "A job with its dates in a plan." {
        must job: JobKey, "The job.", "ON:ENG-P";
        must from: DateTime, "When it begins.", "2032-02-02 08:00";
        must until: DateTime, "When it is done.", "2032-02-03 12:00";
        list people: PersonId, "Who is meant to do it.", "bruno";
    }
    act Adopt "adopt" "Adopts a plan: from now on it is the one that people work by. `turnbuckle plan --adopt` writes it." {
        must season: SeasonId, "The season.", "W31";
        must complete: DateTime, "When the aircraft stands complete by it.", "2032-04-20 16:00";
        may earliest: DateTime, "No plan that keeps the due dates as well is complete earlier; nothing if that was not proven.", "2032-04-09 08:00";
        must reason: String, "Why this plan, and what of the one before it changes.", "The port mount is two weeks late at the firm";
        must problem: String, "The digest of the problem that was solved.", "3f0a5c";
        must engine: String, "The program that solved it, with its version.", "turnbuckle 0.1.0";
        must seed: u64, "Where its random streams began.", "1";
        rows jobs: DatedJob, "The jobs with their dates.", "";
    }
}
