//! The pages, one module each.

pub(crate) mod act;
pub(crate) mod aircraft;
pub(crate) mod attachment;
pub(crate) mod bench;
pub(crate) mod beside;
pub(crate) mod calendar;
pub(crate) mod code;
pub(crate) mod findings;
pub(crate) mod form;
pub(crate) mod gates;
pub(crate) mod history;
pub(crate) mod home;
pub(crate) mod import;
pub(crate) mod live;
pub(crate) mod me;
pub(crate) mod parts;
pub(crate) mod people;
pub(crate) mod print;
pub(crate) mod reach;
pub(crate) mod record;
pub(crate) mod search;
pub(crate) mod season;
pub(crate) mod show;
pub(crate) mod standing;
pub(crate) mod survey;
pub(crate) mod today;
