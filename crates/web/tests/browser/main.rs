//! The pages as people meet them: in a real browser, by mouse, finger and keyboard.
//!
//! Each test has a browser of its own, without what others left, and a workshop of its own.
//! With `TURNBUCKLE_SHOTS` naming a folder, pictures of what is shown are kept there.

#![expect(clippy::print_stdout, reason = "without a browser the tests say so")]
#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod axe;
mod bench;
mod chart;
#[path = "../pages/client.rs"]
#[expect(dead_code, reason = "the tests without a browser use more of it")]
mod client;
mod driver;
mod floor;
mod keyboard;
mod lead;
mod mishaps;
mod offline;
#[path = "../pages/routes.rs"]
#[expect(dead_code, reason = "the tests without a browser use more of it")]
mod routes;
mod scriptless;
mod sweep;
mod tab;
mod tour;
mod validity;
#[path = "../pages/workshop.rs"]
#[expect(dead_code, reason = "the tests without a browser use more of it")]
mod workshop;
