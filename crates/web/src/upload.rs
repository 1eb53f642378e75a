//! Forms that carry files: photographs from a phone, documents.
//!
//! A form with a field that may name a file is sent as `multipart/form-data` (RFC 7578). A
//! file is known by what it is and not by its name, a picture loses what tells where and with
//! what it was taken, and then it is attached: from there on the field holds its digest. That
//! happens before the act is judged, so that a form that is refused comes back with the
//! digests, and nobody chooses the same photographs again. A file that no act names belongs
//! to no record, and goes when whoever keeps the ledger clears away what was left behind.
//!
//! # How a page takes files
//!
//! 1. Its form has `enctype=[upload::enctype(&form.fields)]`; the fields of `pages::form`
//!    make the controls, each named `_file.` and the name of its field.
//! 2. Its handler takes the whole `Request`, and after it has found who sent it,
//!    `upload::read(request, Files::Keep)`; for whoever is not signed in `Files::Drop`.
//! 3. Once the token is right, `upload::attach(&site, &form.fields, sent)` gives the fields
//!    with the digests in them, and what was wrong with the files, each said of its field.
//! 4. Its route stands in `router.rs` among those with the longer limits.

use std::time::Duration;

use app::{FieldForm, FieldSort, Fit, Problem, Takes};
use axum::extract::multipart::{Field, Multipart, MultipartError};
use axum::extract::{DefaultBodyLimit, Form, FromRequest, Request};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

use crate::fault;
use crate::router::FORM_LIMIT;
use crate::sign_in::{Fields, field};
use crate::site::Site;

/// What the controls of files are called, before the name of their field.
pub(crate) const PREFIX: &str = "_file.";
/// The greatest file, in bytes.
pub(crate) const FILE_LIMIT: usize = 20_000_000;
/// So many files at once.
pub(crate) const FILES: usize = 12;
/// All files of one form together, in bytes.
const TOGETHER: usize = 60_000_000;
/// What a form may come to with all that is passed over, in bytes: no request is read for ever.
pub(crate) const BODY_LIMIT: usize = 300_000_000;
/// How long sending may take.
pub(crate) const LONGEST: Duration = Duration::from_mins(5);
/// So many are read at once, because each is held whole.
static TURNS: Semaphore = Semaphore::const_new(4);

/// What becomes of files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Files {
    /// They are read.
    Keep,
    /// They are passed over.
    Drop,
}

/// A file that was sent.
#[derive(Debug)]
struct Sent {
    /// The field that is to name it.
    field: String,
    /// What it was called.
    name: String,
    content: Vec<u8>,
}

/// What a form carried.
#[derive(Debug, Default)]
pub(crate) struct Carried {
    /// Its fields, in order.
    pub(crate) fields: Fields,
    files: Vec<Sent>,
    problems: Vec<Problem>,
}

/// How a form with these fields is sent; nothing for the usual way.
pub(crate) fn enctype(fields: &[FieldForm]) -> Option<&'static str> {
    takes_files(fields).then_some("multipart/form-data")
}

/// Whether a field, or one of a part, may name a file.
pub(crate) fn takes_files(fields: &[FieldForm]) -> bool {
    fields.iter().any(|field| match &field.sort {
        FieldSort::Row(parts) | FieldSort::Rows(parts) => takes_files(parts),
        _ => field.takes != Takes::Nothing,
    })
}

/// Reads a form, whichever way it was sent.
///
/// # Errors
/// A page that says why it could not be read.
pub(crate) async fn read(
    mut request: Request,
    files: Files,
) -> Result<Carried, Response> {
    let kind = request.headers().get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    let parts = kind.is_some_and(|kind| kind.starts_with("multipart/form-data"));
    if !parts {
        DefaultBodyLimit::max(FORM_LIMIT).apply(&mut request);
        let form = Form::<Fields>::from_request(request, &()).await;
        let Form(fields) =
            form.map_err(|refused| match refused.into_response().status() {
                StatusCode::PAYLOAD_TOO_LARGE => fault::too_large(),
                _ => fault::unread(),
            })?;
        return Ok(Carried { fields, ..Carried::default() });
    }
    // Whoever is passed over holds nothing, and takes nobody's turn by sending slowly.
    let _turn = match files {
        Files::Keep => TURNS.acquire().await.ok(),
        Files::Drop => None,
    };
    let multipart = Multipart::from_request(request, &()).await;
    let mut multipart = multipart.map_err(|_| fault::unread())?;
    let mut reading = Reading::default();
    loop {
        match multipart.next_field().await {
            Ok(Some(part)) => reading.part(part, files).await?,
            Ok(None) => return Ok(reading.carried),
            Err(error) => return Err(broken(&error)),
        }
    }
}

fn broken(error: &MultipartError) -> Response {
    match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => fault::too_large(),
        _ => fault::unread(),
    }
}

#[derive(Default)]
struct Reading {
    carried: Carried,
    /// How many bytes of text there are, and of files.
    text: usize,
    held: usize,
}

impl Reading {
    async fn part(&mut self, part: Field<'_>, files: Files) -> Result<(), Response> {
        let name = part.name().unwrap_or_default().to_owned();
        match (part.file_name().map(plain), name.strip_prefix(PREFIX)) {
            (Some(file), Some(field)) => self.file(part, field, file, files).await,
            // What is no control of ours.
            (Some(_), None) | (None, Some(_)) => Ok(()),
            (None, None) => self.words(part, name).await,
        }
    }

    async fn words(&mut self, mut part: Field<'_>, name: String) -> Result<(), Response> {
        let mut bytes = Vec::new();
        while let Some(chunk) = part.chunk().await.map_err(|error| broken(&error))? {
            self.text += chunk.len();
            if self.text > FORM_LIMIT {
                return Err(fault::too_large());
            }
            bytes.extend_from_slice(&chunk);
        }
        let value = String::from_utf8(bytes).map_err(|_| fault::unread())?;
        self.carried.fields.push((name, value));
        Ok(())
    }

    async fn file(
        &mut self,
        mut part: Field<'_>,
        field: &str,
        name: String,
        files: Files,
    ) -> Result<(), Response> {
        let full = self.carried.files.len() >= FILES;
        let (mut content, mut size) = (Vec::new(), 0_usize);
        while let Some(chunk) = part.chunk().await.map_err(|error| broken(&error))? {
            size += chunk.len();
            let fits = size <= FILE_LIMIT && self.held + size <= TOGETHER;
            if files == Files::Keep && fits && !full {
                content.extend_from_slice(&chunk);
            }
        }
        // Where no file was chosen, browsers send one without a name and without content.
        if files == Files::Drop || (name.is_empty() && size == 0) {
            return Ok(());
        }
        let why = if size > FILE_LIMIT {
            let (size, limit) = (size.div_ceil(1_000_000), FILE_LIMIT / 1_000_000);
            format!("is {size} MB, more than the {limit} MB that one may be")
        } else if full {
            format!("is one too many: {FILES} at once")
        } else if self.held + size > TOGETHER {
            format!("makes all of them together more than {} MB", TOGETHER / 1_000_000)
        } else {
            self.held += size;
            self.carried.files.push(Sent { field: field.to_owned(), name, content });
            return Ok(());
        };
        let hint = if size > FILE_LIMIT {
            "make it smaller: a picture of 4000 pixels a side is enough for print"
        } else {
            "those before it are kept: choose the rest now, and send it once more"
        };
        self.carried.problems.push(problem(field, &name, &why, hint));
        Ok(())
    }
}

/// The name of a file as it can be shown.
fn plain(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(80).collect()
}

fn problem(field: &str, file: &str, why: &str, hint: &str) -> Problem {
    let own = field.rsplit('.').next().unwrap_or(field);
    let file = if file.is_empty() { "the file" } else { file };
    app::problem(format!("`{own}`: {file} {why}"), hint)
}

/// Attaches the files of a form, and puts the digest of each into its field; the fields, and
/// what was wrong with files. It is for whoever is signed in and sent the form's token.
pub(crate) async fn attach(
    site: &Site,
    form: &[FieldForm],
    carried: Carried,
) -> (Fields, Vec<Problem>) {
    let Carried { mut fields, files, mut problems } = carried;
    let mut wanted = Vec::new();
    for file in files {
        match find(form, &file.field) {
            Some(about) => wanted.push((about.takes, room(about, &fields, &file), file)),
            None => problems.push(problem(&file.field, &file.name, "goes nowhere", "")),
        }
    }
    if wanted.is_empty() {
        return (fields, problems);
    }
    let (place, at) = (site.config.desk.place().clone(), site.stamp());
    let attached = site.aside(move || {
        let looked = wanted.into_iter().map(|(takes, room, file)| {
            let fit = room.and_then(|()| looked_at(takes, &file));
            (file.field, fit)
        });
        let (mut fits, mut names, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
        for (field, fit) in looked {
            match fit {
                Ok(fit) => {
                    fits.push(fit);
                    names.push(field);
                }
                Err(problem) => wrong.push(problem),
            }
        }
        let stored = app::attach_all(&place, &fits, &at)?;
        let digests = stored.into_iter().map(|stored| stored.digest);
        Ok((names.into_iter().zip(digests).collect::<Fields>(), wrong))
    });
    match attached.await {
        Ok((digests, wrong)) => {
            problems.extend(wrong);
            for (name, digest) in digests {
                put(form, &mut fields, name, digest);
            }
        }
        Err(error) => {
            let hint =
                "nothing was entered: choose the files again, and send it once more";
            problems
                .push(app::problem(format!("the files were not kept: {error}"), hint));
        }
    }
    (fields, problems)
}

/// The field of a form by the name of its control: `steps.2.photographs`.
fn find<'a>(fields: &'a [FieldForm], name: &str) -> Option<&'a FieldForm> {
    let (own, rest) = name.split_once('.').unwrap_or((name, ""));
    let field = fields.iter().find(|field| field.name == own)?;
    match &field.sort {
        FieldSort::Row(parts) => find(parts, rest),
        FieldSort::Rows(parts) => find(parts, rest.split_once('.')?.1),
        _ => (rest.is_empty() && field.takes != Takes::Nothing).then_some(field),
    }
}

/// Whether a field of words is free for a file: words that were typed are not overwritten.
fn room(about: &FieldForm, fields: &Fields, file: &Sent) -> Result<(), Problem> {
    let typed = field(fields, &file.field).trim();
    let words = matches!(about.sort, FieldSort::Text);
    if !words || typed.is_empty() || app::is_digest(typed) {
        return Ok(());
    }
    let why = "was chosen, and the field holds words too";
    Err(problem(&file.field, &file.name, why, "keep one: empty the field, or no file"))
}

fn looked_at(takes: Takes, file: &Sent) -> Result<Fit, Problem> {
    let wrong = |why: &str, hint: &str| problem(&file.field, &file.name, why, hint);
    let fit = app::fit(&file.content, FILE_LIMIT);
    // What is wrong names what to do.
    let fit = fit.map_err(|why| wrong(&format!("can't be attached: {why}"), ""))?;
    if takes == Takes::Photographs && !fit.is_picture() {
        return Err(wrong("is no photograph", "take a JPEG, PNG or WebP picture"));
    }
    Ok(fit)
}

/// Puts a digest into a field: beside others where it holds several, else in their place.
fn put(form: &[FieldForm], fields: &mut Fields, name: String, digest: String) {
    let several = find(form, &name).is_some_and(|about| about.sort == FieldSort::Files);
    if several {
        let there = |(field, value): &(String, String)| {
            *field == name && value.split(';').any(|value| value.trim() == digest)
        };
        if fields.iter().any(there) {
            return;
        }
        fields.retain(|(field, value)| *field != name || !value.trim().is_empty());
    } else {
        fields.retain(|(field, _)| *field != name);
    }
    fields.push((name, digest));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(word: &str) -> Vec<FieldForm> {
        let found = app::act_forms().into_iter().find(|form| form.word == word);
        found.unwrap().fields
    }

    #[test]
    fn forms_that_may_name_files_are_sent_in_parts() {
        for (word, parts) in
            [("raise", true), ("tag", true), ("evidence", true), ("start", false)]
        {
            assert_eq!(enctype(&form(word)).is_some(), parts, "{word}");
        }
    }

    #[test]
    fn a_control_is_found_by_its_whole_name() {
        let raise = form("raise");
        assert!(find(&raise, "photographs").is_some());
        for odd in ["what", "photographs.1", "", "photograph", "mark"] {
            assert!(find(&raise, odd).is_none(), "{odd}");
        }
    }

    #[test]
    fn digests_stand_beside_others_or_in_their_place() {
        let one = |name: &str, value: &str| (name.to_owned(), value.to_owned());
        let mut fields = vec![one("photographs", "a"), one("what", "x")];
        let raise = form("raise");
        for digest in ["b", "a", "b"] {
            put(&raise, &mut fields, "photographs".to_owned(), digest.to_owned());
        }
        let names: Vec<&str> = fields.iter().map(|(_, value)| value.as_str()).collect();
        assert_eq!(names, ["a", "x", "b"]);
        let mut fields = vec![one("photograph", "old")];
        put(&form("tag"), &mut fields, "photograph".to_owned(), "new".to_owned());
        assert_eq!(fields, [one("photograph", "new")]);
    }

    #[test]
    fn what_a_file_is_called_is_shown_harmlessly() {
        assert_eq!(plain("a\r\nb\u{0}.jpg"), "ab.jpg");
        assert_eq!(plain(&"x".repeat(500)).len(), 80);
    }
}
