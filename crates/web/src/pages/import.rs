//! Lists from spreadsheets: given, looked at with every mistake and every difference, and loaded
//! by signature; and lists and templates to take away.

mod preview;

use std::sync::Arc;

use app::{
    AppError, DateOrder, Decimal, ListChoice, ListFormat, ListImport, ListLook,
    MOST_UPLOAD, Secret, Signed, Upload,
};
use axum::extract::multipart::{Multipart, MultipartError};
use axum::extract::{FromRequest, Path, Query, Request, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::{encoded, query};
use crate::pages::show;
use crate::router::FORM_LIMIT;
use crate::sign_in::{self, Fields, SIGNED_IN_AGAIN, Sent, field};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::{self, Viewer};
use crate::ways::LOADS;

/// What pages of imports load besides.
const STEMS: [&str; 1] = ["import"];

fn may(viewer: &Viewer) -> bool {
    LOADS.iter().any(|power| viewer.powers.contains(power))
}

/// `GET /import`.
pub(crate) async fn get(State(site): State<Site>, viewer: Viewer) -> Response {
    shown(&site, &viewer, StatusCode::OK, "", "")
}

fn shown(
    site: &Site,
    viewer: &Viewer,
    status: StatusCode,
    list: &str,
    wrong: &str,
) -> Response {
    let content = html! {
        h1 { "Set up from spreadsheets" }
        p.doc { "A list of the programme comes in as it stands in a spreadsheet: choose it, look at \
            what it would change, and sign for that. Nothing is entered before." }
        @if may(viewer) { (given(viewer, list, wrong)) }
        @else { p.none { "Lists are loaded by those who have an authority to plan or to appoint. \
            Everybody can take them away." } }
        h2 #lists { "Lists and templates" }
        p { "A list that is taken away and given back changes nothing. A template has the columns and, \
            as a workbook, explains them." }
        (taken_away())
    };
    let page = page_with(site, viewer, ("/import", "Set up"), &STEMS, &content);
    (status, page).into_response()
}

fn given(viewer: &Viewer, list: &str, wrong: &str) -> Markup {
    html! {
        form.plain method="post" action="/import" enctype="multipart/form-data" {
            h2 { "Give a list" }
            @if !wrong.is_empty() { p.wrong role="alert" { (wrong) } }
            input type="hidden" name="_csrf" value=(viewer.csrf);
            div.field {
                label for="list" { "Which list it is" }
                select #list name="list" {
                    option value="" { "the one that the file is named after" }
                    @for form in app::list_forms() {
                        option value=(form.list) selected[form.list == list] { (sentence(form.list)) }
                    }
                }
            }
            div.field {
                label for="file" { "The file" }
                p.meaning #file-about { "CSV, an .xlsx workbook, or TOML; "
                    (MOST_UPLOAD >> 20) " MB at most" }
                input #file name="file" type="file" required aria-describedby="file-about"
                    accept=".csv,.xlsx,.toml,text/csv,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
            }
            button { "Look at it" }
        }
    }
}

fn taken_away() -> Markup {
    html! {
        div.wide { table {
            caption.unseen { "Lists and templates" }
            thead { tr {
                th scope="col" { "list" } th scope="col" { "one of it is" }
                th scope="col" { "as it stands" } th scope="col" { "template" }
            } }
            tbody {
                @for form in app::list_forms() {
                    @let endings: &[&str] = if form.is_table { &["csv", "xlsx"] } else { &["toml"] };
                    tr {
                        th scope="row" data-column="list" { (sentence(form.list)) }
                        td data-column="one of it is" { span { (form.doc) } }
                        @for (column, path) in [("as it stands", "export"), ("template", "template")] {
                            td data-column=(column) { span.take {
                                @for ending in endings {
                                    a href={ "/import/" (path) "/" (form.list) "." (ending) } download=""
                                        aria-label={ (form.list) ", " (column) ", " (ending) } { (ending.to_uppercase()) }
                                    " "
                                }
                            } }
                        }
                    }
                }
            }
        } }
    }
}

/// `POST /import`: a file is kept to be looked at.
pub(crate) async fn give(State(site): State<Site>, request: Request) -> Response {
    let viewer = viewer::find(&site, request.headers());
    let parts = Multipart::from_request(request, &site).await;
    let taken = match parts {
        Ok(parts) => Some(taken(parts, viewer.is_some()).await),
        Err(_) => None,
    };
    let Some(viewer) = viewer else {
        // Files of whoever is not signed in are not kept: anybody could fill the memory.
        let why = "The file that you chose was not kept, because you are not signed in any \
                   more: choose it again once you are.";
        return sign_in::lost(&site, "/import", why);
    };
    let Some(taken) = taken else { return fault::unread() };
    let (typed, upload) = match taken {
        Ok(taken) => taken,
        Err(error) => {
            let told = format!(
                "The file did not arrive whole: {}. Send it again.",
                error.body_text()
            );
            return shown(&site, &viewer, error.status(), "", &told);
        }
    };
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let asked = field(&typed, "list").to_owned();
    let unready = StatusCode::UNPROCESSABLE_ENTITY;
    let stem = upload.name.rsplit_once('.').map_or("", |(stem, _)| stem).to_lowercase();
    if upload.content.len() > MOST_UPLOAD {
        let told = format!(
            "{} is larger than {} MB: give the list alone, without pictures and other sheets.",
            upload.name,
            MOST_UPLOAD >> 20
        );
        return shown(&site, &viewer, StatusCode::PAYLOAD_TOO_LARGE, &asked, &told);
    }
    let forms = app::list_forms();
    let list = if asked.is_empty() { stem } else { asked.clone() };
    if !forms.iter().any(|form| form.list == list) {
        let told = if upload.name.is_empty() {
            "Choose a file first.".to_owned()
        } else {
            format!("No list is called as {} is: say which list it is.", upload.name)
        };
        return shown(&site, &viewer, unready, &asked, &told);
    }
    match site.uploads.put(&viewer.person, upload) {
        Ok(token) => {
            Redirect::to(&format!("/import/file/{token}?list={}", encoded(&list)))
                .into_response()
        }
        Err(error) => shown(&site, &viewer, unready, &list, &error.to_string()),
    }
}

/// The fields of a form, and the file in it. Of a file that is too large, or of somebody who is
/// not signed in, the rest is passed over: a browser shows no answer before it has sent all.
async fn taken(
    mut parts: Multipart,
    keeps: bool,
) -> Result<(Fields, Upload), MultipartError> {
    let (mut typed, mut upload) =
        (Fields::new(), Upload { name: String::new(), content: Vec::new() });
    while let Some(mut part) = parts.next_field().await? {
        let name = part.name().unwrap_or_default().to_owned();
        let is_file = name == "file";
        if is_file {
            let whole = part.file_name().unwrap_or_default();
            // Some browsers send the path; a place in a message needs the name alone.
            let file = whole.rsplit(['/', '\\']).next().unwrap_or_default();
            let plain = |c: &char| !c.is_control();
            upload.name = file.chars().filter(plain).take(100).collect();
        }
        let (most, mut content) =
            (if is_file { MOST_UPLOAD } else { FORM_LIMIT }, Vec::new());
        while let Some(chunk) = part.chunk().await? {
            if keeps && content.len() <= most {
                content.extend_from_slice(&chunk);
            }
        }
        if is_file {
            upload.content = content;
        } else {
            typed.push((name, String::from_utf8_lossy(&content).into_owned()));
        }
    }
    Ok((typed, upload))
}

fn refuse(viewer: &Viewer, typed: &Fields) -> Option<Response> {
    if !viewer.sent(field(typed, "_csrf")) {
        return Some(fault::foreign());
    }
    let told = "Lists are loaded by those who have an authority to plan or to appoint.";
    (!may(viewer)).then(|| fault::may_not(told))
}

/// How a file is to be taken, as the address or a form says.
fn choice(typed: &Fields) -> ListChoice {
    let said =
        |name: &str| Some(field(typed, name).to_owned()).filter(|said| !said.is_empty());
    let columns = typed.iter().filter_map(|(name, value)| {
        let at = name.strip_prefix('c')?.parse::<usize>().ok()?;
        // `-` leaves a column out; nothing goes by its heading.
        let value = if value == "-" { "" } else { value.as_str() };
        (!value.is_empty() || name_says(typed, name, "-")).then(|| (at, value.to_owned()))
    });
    ListChoice {
        list: field(typed, "list").to_owned(),
        sheet: said("sheet"),
        head: field(typed, "head").parse().ok().filter(|row| *row > 0),
        columns: columns.collect(),
        decimal: match field(typed, "decimal") {
            "comma" => Some(Decimal::Comma),
            "point" => Some(Decimal::Point),
            _ => None,
        },
        dates: match field(typed, "dates") {
            "day" => Some(DateOrder::DayFirst),
            "month" => Some(DateOrder::MonthFirst),
            _ => None,
        },
        whole: field(typed, "whole") == "yes",
        western: field(typed, "text") == "western",
    }
}

fn name_says(typed: &Fields, name: &str, value: &str) -> bool {
    field(typed, name) == value
}

/// `GET /import/file/{token}`: what a file would change.
pub(crate) async fn look(
    State(site): State<Site>,
    viewer: Viewer,
    Path(token): Path<String>,
    Query(typed): Query<Fields>,
) -> Response {
    looked(&site, &viewer, &token, &typed, (StatusCode::OK, preview::Wrong::default()))
        .await
}

/// What a file would change, for somebody who had to sign in again before it was loaded.
pub(crate) async fn again(
    site: &Site,
    viewer: &Viewer,
    token: &str,
    typed: &Fields,
) -> Response {
    let wrong = preview::Wrong {
        entered: SIGNED_IN_AGAIN.to_owned(),
        ..preview::Wrong::default()
    };
    looked(site, viewer, token, typed, (StatusCode::OK, wrong)).await
}

async fn looked(
    site: &Site,
    viewer: &Viewer,
    token: &str,
    typed: &Fields,
    (status, wrong): (StatusCode, preview::Wrong),
) -> Response {
    let Some(upload) = site.uploads.get(&viewer.person, token) else {
        let told = "That file is not kept here any more: choose it again.";
        return shown(site, viewer, StatusCode::GONE, field(typed, "list"), told);
    };
    let choice = choice(typed);
    let (programme, kept, taken) =
        (site.snapshot().programme, Arc::clone(&upload), choice.clone());
    let look = site.aside(move || app::look_at_list(&programme, &kept, &taken)).await;
    let look: ListLook = match look {
        Ok(look) => look,
        Err(error) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            return shown(site, viewer, status, "", &error.to_string());
        }
    };
    if field(typed, "as") == "csv" {
        return show::as_csv(&preview::whole(&look));
    }
    let title = format!("{} from {}", sentence(&choice.list), upload.name);
    let whole = format!("{}&as=csv", address(token, &choice));
    let content = html! {
        h1 { (title) }
        p { a href="/import" { "Another file" } }
        @if !wrong.entered.is_empty() {
            div.reasons role="alert" tabindex="-1" data-wrong {
                h2 { "Nothing was entered" }
                @for line in wrong.entered.lines() { p { (line) } }
            }
        }
        // What stands in the file is shown as it stands there.
        div data-as-is {
            (preview::problems(&look))
            (preview::form(token, &choice, &look))
            (preview::changes(&look, &whole))
        }
        @if look.errors.is_empty() && !look.changes.is_empty() {
            @if may(viewer) { (preview::sign(site, viewer, (token, &choice), &look, (typed, &wrong))) }
        }
    };
    let page = page_with(site, viewer, ("/import", &title), &STEMS, &content);
    (status, page).into_response()
}

/// `POST /import/file/{token}`: loads it.
pub(crate) async fn enter(
    State(site): State<Site>,
    Path(token): Path<String>,
    Sent { viewer, typed }: Sent,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let secret = Secret::new(field(&typed, "_secret"));
    if let Err(unproven) = site.prove_again(&viewer, &secret).await {
        let secret = unproven.told(&viewer.person);
        let wrong = preview::Wrong { secret, ..preview::Wrong::default() };
        let status = StatusCode::UNAUTHORIZED;
        return looked(&site, &viewer, &token, &typed, (status, wrong)).await;
    }
    let Some(upload) = site.uploads.get(&viewer.person, &token) else {
        let told = "That file is not kept here any more, and nothing was entered: choose it again.";
        return shown(&site, &viewer, StatusCode::GONE, field(&typed, "list"), told);
    };
    let (choice, digest) = (choice(&typed), field(&typed, "_digest").to_owned());
    let name = format!("{} from {}", sentence(&choice.list), upload.name);
    let import = ListImport { upload, choice, digest };
    let signed =
        Signed { by: viewer.person.clone(), at: site.stamp(), secret: Some(secret) };
    let request = Some(field(&typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let desk = Arc::clone(&site.config.desk);
    match site.aside(move || desk.load_list(import, signed, request)).await {
        Ok(loaded) => {
            let (first, last) = loaded.entries;
            let entries = if first == last {
                format!("entry {first}")
            } else {
                format!("entries {first} to {last}")
            };
            let again = if loaded.repeated {
                " It had been sent before, and counts once."
            } else {
                ""
            };
            site.sessions
                .note(&viewer.session, vec![format!("{name}: {entries}.{again}")]);
            Redirect::to("/import").into_response()
        }
        Err(error) => {
            let status = match &error {
                AppError::Overtaken => StatusCode::CONFLICT,
                _ => StatusCode::UNPROCESSABLE_ENTITY,
            };
            let entered = match &error {
                AppError::Overtaken => {
                    "Others changed the record since this was shown. What the file \
                    would change now is below: sign once more if that is meant."
                        .to_owned()
                }
                other => other.to_string(),
            };
            let wrong = preview::Wrong { entered, ..preview::Wrong::default() };
            looked(&site, &viewer, &token, &typed, (status, wrong)).await
        }
    }
}

/// `GET /import/export/{file}`.
pub(crate) async fn export(
    State(site): State<Site>,
    _viewer: Viewer,
    Path(file): Path<String>,
) -> Response {
    let programme = site.snapshot().programme;
    handed(&site, file, move |list, format| app::list_file(&programme, list, format))
        .await
}

/// `GET /import/template/{file}`.
pub(crate) async fn template(
    State(site): State<Site>,
    _viewer: Viewer,
    Path(file): Path<String>,
) -> Response {
    handed(&site, file, app::list_template).await
}

async fn handed(
    site: &Site,
    file: String,
    make: impl FnOnce(&str, ListFormat) -> Result<app::ListFile, AppError> + Send + 'static,
) -> Response {
    let made = site.aside(move || {
        let unknown = || AppError::Unknown("there is no such list".to_owned());
        let (list, ending) = file.split_once('.').ok_or_else(unknown)?;
        let format = ListFormat::of(ending).ok_or_else(unknown)?;
        Ok((make(list, format)?, format!("attachment; filename=\"{list}.{ending}\"")))
    });
    match made.await {
        Ok((made, disposition)) => {
            let headers = [
                (CONTENT_TYPE, made.media.to_owned()),
                (CONTENT_DISPOSITION, disposition),
            ];
            (headers, made.content).into_response()
        }
        Err(AppError::Unknown(_)) => fault::not_found(),
        Err(error) => fault::of_app(&error),
    }
}

/// The address of a preview with a choice.
fn address(token: &str, choice: &ListChoice) -> String {
    let pairs = fields(choice);
    let pairs = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str()));
    format!("/import/file/{token}{}", query(pairs))
}

/// A choice as fields of a form.
fn fields(choice: &ListChoice) -> Fields {
    let mut fields = vec![("list".to_owned(), choice.list.clone())];
    let mut put = |name: &str, value: Option<String>| {
        fields.extend(value.map(|value| (name.to_owned(), value)));
    };
    put("sheet", choice.sheet.clone());
    put("head", choice.head.map(|row| row.to_string()));
    put(
        "decimal",
        choice.decimal.map(|decimal| preview::decimal_word(decimal).to_owned()),
    );
    put("dates", choice.dates.map(|order| preview::dates_word(order).to_owned()));
    put("whole", choice.whole.then(|| "yes".to_owned()));
    put("text", choice.western.then(|| "western".to_owned()));
    for (at, field) in &choice.columns {
        let field = if field.is_empty() { "-" } else { field };
        put(&format!("c{at}"), Some(field.to_owned()));
    }
    fields
}
