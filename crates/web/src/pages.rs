//! The pages, one module each.

pub(crate) mod act;
pub(crate) mod aircraft;
pub(crate) mod attachment;
pub(crate) mod bench;
pub(crate) mod code;
pub(crate) mod findings;
pub(crate) mod form;
pub(crate) mod history;
pub(crate) mod home;
pub(crate) mod import;
pub(crate) mod live;
pub(crate) mod parts;
pub(crate) mod print;
pub(crate) mod reach;
pub(crate) mod search;
pub(crate) mod season;
pub(crate) mod show;
pub(crate) mod standing;
pub(crate) mod survey;
pub(crate) mod today;
