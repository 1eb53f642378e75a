//! The pages as browsers and others meet them: a served instance, and real HTTP.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod api;
mod client;
mod forms;
mod guards;
mod html;
mod me;
mod record;
mod routes;
mod season;
mod sheets;
mod signing;
mod workshop;
