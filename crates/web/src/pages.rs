//! The pages, one module each.

pub(crate) mod act;
pub(crate) mod aircraft;
pub(crate) mod attachment;
pub(crate) mod beside;
pub(crate) mod findings;
pub(crate) mod form;
pub(crate) mod history;
pub(crate) mod home;
pub(crate) mod live;
pub(crate) mod reach;
pub(crate) mod search;
pub(crate) mod season;
pub(crate) mod show;
pub(crate) mod standing;
pub(crate) mod survey;
