//! The pages as browsers and others meet them: a served instance, and real HTTP.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod client;
mod forms;
mod guards;
mod html;
mod import;
mod routes;
mod season;
mod sheets;
mod signing;
mod uploads;
mod workshop;
