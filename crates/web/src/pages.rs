//! The pages, one module each.

pub(crate) mod act;
pub(crate) mod calendar;
pub(crate) mod form;
pub(crate) mod gates;
pub(crate) mod history;
pub(crate) mod home;
pub(crate) mod live;
pub(crate) mod me;
pub(crate) mod people;
pub(crate) mod record;
pub(crate) mod search;
pub(crate) mod season;
pub(crate) mod show;
