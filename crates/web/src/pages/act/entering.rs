//! An act that was typed: read, its signer's secret proven, entered.

use app::{
    Act, ActForm, AppError, Changed, HidingKey, Kept, Problem, Refused, Secret, Signed,
};

use super::Why;
use crate::pages::bench;
use crate::sign_in::{Fields, field};
use crate::site::{Site, Unproven};
use crate::viewer::Viewer;

/// Why an act was not entered.
pub(crate) enum Failed {
    Secret(String),
    Unread(Vec<Problem>),
    Refused(Vec<Refused>),
    Changed(Box<Changed>),
    /// The form was entered before with other content.
    Spent(String),
    Other(String),
}

impl Failed {
    /// The same as a form that comes back has it.
    pub(crate) fn why(&self) -> Why<'_> {
        match self {
            Self::Secret(wrong) => Why::Secret(wrong),
            Self::Unread(problems) => Why::Unread(problems),
            Self::Refused(refused) => Why::Refused(refused),
            Self::Changed(changed) => Why::Changed(changed),
            Self::Spent(what) | Self::Other(what) => Why::Other(what),
        }
    }
}

/// Enters the act of a form that carried the right token, signed by whoever sent it: what was
/// typed, and what was wrong with the files beside it.
pub(crate) async fn enter(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    (typed, unfit): (&Fields, Vec<Problem>),
) -> Result<Vec<Kept>, Failed> {
    // What can't be read is told before a secret is looked at.
    let act = if form.word == "enrol" { None } else { Some(act(form, typed)) };
    let mut wrong = unfit;
    if let Some(Err(AppError::Act(problems))) = &act {
        wrong.extend(problems.iter().cloned());
    }
    if !wrong.is_empty() {
        return Err(Failed::Unread(wrong));
    }
    let secret = Secret::new(field(typed, "_secret"));
    let unlocked = match site.prove_again(viewer, &secret).await {
        Ok(unlocked) => unlocked,
        Err(unproven) => return Err(Failed::Secret(unproven.told(&viewer.person))),
    };
    let act = match act {
        Some(act) => act.map_err(Unproven::Failed),
        None => enrolment(site, typed).await,
    };
    let act = act.map_err(|other| Failed::Other(other.told(&viewer.person)))?;
    let kept = keep(site, viewer, act, secret, typed).await;
    if kept.is_ok() && form.word == "enrol" && field(typed, "person") == viewer.person {
        keep_second(site, viewer, unlocked, Secret::new(field(typed, "_new"))).await;
    }
    kept.map_err(|error| match error {
        AppError::Forbidden(refused) => Failed::Refused(refused),
        AppError::Changed(changed) => Failed::Changed(changed),
        AppError::Spent { entry, by } => Failed::Spent(format!(
            "This form was sent before with other content, and {by} entered that as entry \
             {entry}, which stands. What it says now was not entered: if it is to be entered \
             besides, sign it."
        )),
        AppError::Act(problems) => Failed::Unread(problems),
        other => {
            let hint = other.hint().unwrap_or_default();
            Failed::Other(format!("{other}. {hint}"))
        }
    })
}

/// What was typed, to be sent as a new one if that form was entered before with other content.
pub(crate) fn as_new(typed: &Fields, failed: &Failed) -> Fields {
    let spent = matches!(failed, Failed::Spent(_));
    let kept = typed.iter().filter(|(name, _)| !(spent && name == "_request"));
    kept.cloned().collect()
}

/// The act that was typed. What is blank counts as not given, parts of nothing but blanks too.
fn act(form: &ActForm, typed: &Fields) -> Result<Act, AppError> {
    let given = typed
        .iter()
        .filter(|(name, value)| !name.starts_with('_') && !value.trim().is_empty());
    let mut given: Fields =
        given.map(|(name, value)| (name.clone(), value.replace("\r\n", "\n"))).collect();
    given.extend(bench::composed(typed));
    app::act_of_fields(form.word, &given)
}

/// A new secret makes the key here, so that it never stands in a form.
async fn enrolment(site: &Site, typed: &Fields) -> Result<Act, Unproven> {
    let value = |name: &str| field(typed, name).to_owned();
    let (person, reason) = (value("person"), value("reason"));
    let (secret, once_more) = (value("_new"), value("_again"));
    if secret != once_more {
        let what = "the two new secrets are not the same: type both again";
        return Err(Unproven::Failed(AppError::Unknown(what.to_owned())));
    }
    site.derive(move || app::enrolment(&person, &Secret::new(&secret), &reason)).await
}

/// Whoever changes their own secret keeps their second step: here alone both are known. If
/// it fails the act stands all the same; their page says that only recovery codes count.
async fn keep_second(site: &Site, viewer: &Viewer, old: HidingKey, new: Secret) {
    let person = viewer.person.clone();
    let settings = site.config.desk.settings();
    if !app::has_second(&settings, &person) {
        return;
    }
    let desk = site.config.desk.clone();
    let kept = site.derive(move || {
        let new = app::unlock(&desk.snapshot().programme, &person, &new)?;
        new.map_or(Ok(false), |new| app::keep_second(&desk, &person, (&old, &new)))
    });
    if kept.await.is_err() {
        (site.config.log)(
            "a second step could not be kept when its owner changed their secret",
        );
    }
}

async fn keep(
    site: &Site,
    viewer: &Viewer,
    act: Act,
    secret: Secret,
    typed: &Fields,
) -> Result<Vec<Kept>, AppError> {
    let (desk, by, at) = (site.config.desk.clone(), viewer.person.clone(), site.stamp());
    let signed = Signed { by, at, secret: Some(secret) };
    let request = Some(field(typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let seen = field(typed, "_seen").parse().ok();
    site.aside(move || desk.act(vec![act], signed, request, seen)).await
}
