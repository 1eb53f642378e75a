//! The pages as browsers and others meet them: a served instance, and real HTTP.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod aircraft;
mod api;
mod client;
mod codes;
mod crawl;
mod findings;
mod floor;
mod forms;
mod guards;
mod html;
mod import;
mod kept;
mod me;
mod record;
mod roles;
mod routes;
mod season;
mod sheets;
mod signing;
mod survey;
mod uploads;
mod workshop;
