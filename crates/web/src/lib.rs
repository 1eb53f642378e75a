//! The pages: what people read and sign in a browser.
//!
//! They are written by the server and need no script: every list can be read and every form
//! sent without one. Scripts are files of their own (`assets/live.js`) and only make it
//! quicker; the content security policy forbids any other.
//!
//! **Knows** the use cases, and nothing below them. **Never knows** SQL, solvers, files of a
//! programme, or the clock: it arrives with the [`Config`]. The reactor stops here.
//!
//! # How a page is added
//!
//! 1. A module in `pages` with a handler. It takes `State(site): State<Site>` and
//!    `viewer: Viewer`; by the second alone whoever is not signed in is sent to sign in.
//! 2. It takes one `site.snapshot()` and computes from that, by a function of `app` that
//!    gives plain values. Nothing is computed in a page. What takes longer than some
//!    milliseconds goes through `site.aside`.
//! 3. It gives `layout::page(&site, &viewer, (path, title), &content)`, with `content` made by
//!    `maud::html!`, which escapes. Names become links by `site.index(&snapshot).linked(column,
//!    text)`; a thing's page is `links::path_of(noun, name)`, the form of an act with fields
//!    filled in `pages::act::path(word, fields)`.
//! 4. Its style goes to a file in `assets`, with the colours of `themes`: no `style` attributes, they are forbidden.
//!    What may be loaded again when somebody enters something gets `data-part="a name"`.
//! 5. One line in `router.rs`, one in `ways.rs` with to whom it is open, one row in the table of
//!    `tests/pages/routes.rs`, and a link from where people look for it (`layout::WAYS` and
//!    `MORE`, or the list in `pages::show`).
//! 6. Days are written as `2032-01-14` and quantities as they were typed: `shown` makes of them
//!    what whoever looks prefers. What is to stay as it stands gets `data-as-is`.
//!
//! A form that carries files goes through `upload`, whose head says how.
//!
//! What changes something is a POST: `sign_in` and `pages::act` show how a form carries its
//! token, how the signer's secret is proven, and how a refused form comes back filled in. A
//! handler that takes `sign_in::Sent` keeps what was typed through signing in again; the page
//! to which it comes back is a line of `sign_in::again`.

mod api;
mod assets;
mod config;
mod device;
mod fault;
mod guard;
mod kept;
mod layout;
mod limit;
mod links;
mod pages;
mod qr;
mod rate;
mod router;
mod second;
mod serve;
mod session;
mod shown;
mod sign_in;
mod site;
mod table;
mod themes;
mod thumbnails;
mod upload;
mod view;
mod viewer;
mod ways;

pub use config::{Clock, Config, Log, Now, Sessions, Transport, Unsafe};
pub use rate::{Rate, Rates};
pub use router::router;
pub use serve::{ServeError, Serving, serve};
pub use site::Site;
pub use ways::roles_reference;
