//! Signing in and out, and the first person's secret.

use std::net::IpAddr;

use app::{Secret, Signed};
use axum::extract::{Form, FromRequest, Path, Query, Request, State};
use axum::http::header::{RETRY_AFTER, SET_COOKIE, USER_AGENT};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::layout::bare;
use crate::limit::Guesser;
use crate::pages::{act, import, season};
use crate::second;
use crate::session::Note;
use crate::site::{Site, Unproven, alike};
use crate::viewer::{self, Address, Viewer, cookie, session_cookie, set_cookie};
use crate::{device, fault};

/// Where one signs in.
pub(crate) const PATH: &str = "/sign-in";
/// The cookie that ties a form of somebody who is not signed in to its browser.
pub(crate) const BEFORE: &str = "before";

/// The fields of a form, in order.
pub(crate) type Fields = Vec<(String, String)>;

/// The value of a field; nothing given is blank.
pub(crate) fn field<'a>(fields: &'a Fields, name: &str) -> &'a str {
    let found = fields.iter().find(|(field, _)| field == name);
    found.map_or("", |(_, value)| value.as_str())
}

/// A path of ours, and nothing that leads elsewhere.
fn ours(then: &str) -> &str {
    let inside = then.starts_with('/')
        && !then.starts_with("//")
        && !then.contains(|c: char| c == '\\' || c.is_control());
    if inside && !then.starts_with(PATH) { then } else { "/" }
}

/// `GET /sign-in`.
pub(crate) async fn get(
    State(site): State<Site>,
    headers: HeaderMap,
    Query(query): Query<Fields>,
) -> Response {
    let then = ours(field(&query, "then")).to_owned();
    if viewer::find(&site, &headers).is_some() {
        return Redirect::to(&then).into_response();
    }
    asked(&site, StatusCode::OK, &vec![("then".to_owned(), then)], "")
}

/// The form, with what was typed before and what was wrong with it.
pub(crate) fn asked(
    site: &Site,
    status: StatusCode,
    typed: &Fields,
    wrong: &str,
) -> Response {
    let Ok(token) = app::random_token() else { return fault::panicked() };
    let content = html! {
        h1 { "Sign in" }
        @if !site.has_keys() {
            p { "Nobody has a secret yet. The first one enrols by the link that the program \
                 printed when it was started." }
        }
        form method="post" action=(PATH) {
            input type="hidden" name="_before" value=(token);
            @for (name, value) in typed.iter().filter(|(name, _)| is_carried(name)) {
                input type="hidden" name=(name) value=(value);
            }
            @if FORMS.iter().any(|form| !field(typed, form).is_empty()) {
                p { "What you typed is kept and comes back once you are signed in." }
            }
            @if !field(typed, "_lost").is_empty() { p { (field(typed, "_lost")) } }
            div.field {
                label for="name" { "Name" }
                p.meaning #name-means { "Your name in the programme, or your full name." }
                input #name name="name" value=(field(typed, "name")) required autofocus
                    autocomplete="username" aria-describedby="name-means";
            }
            (secret_field("secret", "Secret", wrong, "current-password"))
            button { "Sign in" }
        }
    };
    bare_with(site, (status, "Sign in"), &content, (BEFORE, &token))
}

/// A page for somebody who is not signed in, with a cookie.
pub(crate) fn bare_with(
    site: &Site,
    (status, title): (StatusCode, &str),
    content: &Markup,
    (name, value): (&str, &str),
) -> Response {
    let cookie = set_cookie(site, name, Some(value));
    with_cookie((status, bare(title, content)).into_response(), &cookie)
}

/// A field for a secret, with what was wrong with it.
pub(crate) fn secret_field(
    name: &str,
    label: &str,
    wrong: &str,
    complete: &str,
) -> Markup {
    let about = (!wrong.is_empty()).then(|| format!("{name}-wrong"));
    html! {
        div.field {
            label for=(name) { (label) }
            @if let Some(about) = &about {
                p.wrong id=(about) role="alert" { (wrong) }
            }
            input id=(name) name=(name) type="password" required autocomplete=(complete)
                aria-describedby=[about.as_deref()]
                aria-invalid=[about.as_ref().map(|_| "true")];
        }
    }
}

/// Which form was interrupted: the word of an act, or the path to which a form was sent.
const FORMS: [&str; 2] = ["_act", "_form"];
/// Who signs in, by which key, from where.
pub(crate) struct Proven<'a> {
    pub(crate) person: &'a str,
    /// The key that their secret made when it was asked.
    pub(crate) key: &'a str,
    pub(crate) address: IpAddr,
}

/// What of a form is carried on: never a secret.
fn carried(fields: &Fields) -> Fields {
    fields.iter().filter(|(name, _)| is_carried(name)).cloned().collect()
}

/// What is carried through signing in: where to go, and a form that was interrupted.
fn is_carried(name: &str) -> bool {
    name == "then" || FORMS.contains(&name) || name.starts_with("f.")
}

fn with_cookie(mut response: Response, cookie: &str) -> Response {
    if let Ok(value) = HeaderValue::from_str(cookie) {
        response.headers_mut().append(SET_COOKIE, value);
    }
    response
}

pub(crate) fn is_from_here(headers: &HeaderMap, fields: &Fields) -> bool {
    let before = cookie(headers, BEFORE).unwrap_or_default();
    !before.is_empty() && alike(&before, field(fields, "_before"))
}

/// `POST /sign-in`.
pub(crate) async fn post(
    State(site): State<Site>,
    Address(address): Address,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    if !is_from_here(&headers, &fields) {
        let wrong = "this form was too old: type it again";
        return asked(&site, StatusCode::FORBIDDEN, &fields, wrong);
    }
    let typed = field(&fields, "name");
    let found = app::person(&site.snapshot().programme, typed);
    // Whoever is not on the list takes as long to refuse, and is refused in the same words.
    let person = found.as_ref().map_or(typed, |(person, _)| person);
    let secret = Secret::new(field(&fields, "secret"));
    let known = device::known(&site, &headers, person);
    let guesser = known.as_deref().map_or(Guesser::Stranger(address), Guesser::Known);
    // The key that is proven now: another one that comes in meanwhile is not.
    let key = app::key_of(&site.snapshot().programme, person).unwrap_or_default();
    match site.prove(person, &secret, guesser).await {
        Ok(unlocked) if app::has_second(&site.config.desk.settings(), person) => {
            second::ask(&site, (person, key), unlocked, &carried(&fields))
        }
        Ok(_) => {
            let proven = Proven { person, key: &key, address };
            begin(&site, &headers, &proven, &fields, Vec::new()).await
        }
        Err(Unproven::Wrong) => {
            let wrong = "that name and that secret do not belong together";
            asked(&site, StatusCode::UNAUTHORIZED, &fields, wrong)
        }
        Err(Unproven::Wait(wait)) => {
            let (status, told) =
                (StatusCode::TOO_MANY_REQUESTS, Unproven::Wait(wait).told(person));
            let mut response = asked(&site, status, &fields, &told);
            let seconds = HeaderValue::from(wait.as_secs() + 1);
            response.headers_mut().insert(RETRY_AFTER, seconds);
            response
        }
        Err(other) => {
            let status = StatusCode::SERVICE_UNAVAILABLE;
            asked(&site, status, &fields, &other.told(person))
        }
    }
}

/// What a browser calls itself, as people call it. Others name themselves too, so the order
/// counts; what is not known is told as it came.
fn browser(agent: &str) -> String {
    let find = |known: &[(&str, &'static str)]| {
        known.iter().find(|(sign, _)| agent.contains(sign)).map(|(_, name)| *name)
    };
    let name = find(&[
        ("Edg", "Edge"),
        ("OPR/", "Opera"),
        ("Firefox/", "Firefox"),
        ("FxiOS/", "Firefox"),
        ("Chrome/", "Chrome"),
        ("CriOS/", "Chrome"),
        ("Safari/", "Safari"),
    ]);
    let system = find(&[
        ("iPhone", "an iPhone"),
        ("iPad", "an iPad"),
        ("Android", "Android"),
        ("Windows", "Windows"),
        ("Macintosh", "a Mac"),
        ("Linux", "Linux"),
    ]);
    match (name, system) {
        (Some(name), Some(system)) => format!("{name} on {system}"),
        _ if agent.is_empty() => "a program without a name".to_owned(),
        _ => agent.chars().take(80).collect(),
    }
}

/// Signs somebody in whose secret, and code if they need one, was right.
pub(crate) async fn begin(
    site: &Site,
    headers: &HeaderMap,
    proven: &Proven<'_>,
    fields: &Fields,
    mut notes: Vec<Note>,
) -> Response {
    let &Proven { person, key, address } = proven;
    let Ok(id) = site.sessions.begin(person, key) else { return fault::panicked() };
    let Ok(device) = device::noted(site, headers, person) else {
        return fault::panicked();
    };
    // Whoever was signed in in this browser before is so no more.
    if let Some(before) = cookie(headers, session_cookie(site)) {
        site.sessions.end(&before);
    }
    notes.extend(notices(site, person));
    let agent = headers.get(USER_AGENT).and_then(|agent| agent.to_str().ok());
    let agent = browser(agent.unwrap_or_default());
    site.sessions.describe(&id, format!("{agent}, from {address}"), site.stamp());
    site.sessions.note(&id, notes);
    let cookie = set_cookie(site, session_cookie(site), Some(&id));
    let mut now = HeaderMap::new();
    if let Ok(value) = HeaderValue::from_str(&format!("{}={id}", session_cookie(site))) {
        now.insert(axum::http::header::COOKIE, value);
    }
    let response = match viewer::find(site, &now) {
        Some(viewer) => back(site, &viewer, fields).await,
        None => Redirect::to(ours(field(fields, "then"))).into_response(),
    };
    let response = with_cookie(response, &set_cookie(site, BEFORE, None));
    with_cookie(with_cookie(response, &device), &cookie)
}

/// What others left for whoever signs in; it is told once.
fn notices(site: &Site, person: &str) -> Vec<Note> {
    let left = app::notices(&site.config.desk.settings(), person);
    let told: Vec<Note> = left.iter().map(|(_, text)| Note::aside(text)).collect();
    if !left.is_empty() {
        let (desk, person) = (site.config.desk.clone(), person.to_owned());
        tokio::task::spawn_blocking(move || {
            // Where it can't be noted it is told once more.
            let _ = app::notices_told(&desk, &person, left);
        });
    }
    told
}

/// Where whoever signed in is led: back into a form that was interrupted, or where they wanted to
/// go.
async fn back(site: &Site, viewer: &Viewer, fields: &Fields) -> Response {
    let kept = fields.iter().filter_map(|(name, value)| {
        Some((name.strip_prefix("f.")?.to_owned(), value.clone()))
    });
    let kept: Fields = kept.collect();
    let (word, path) = (field(fields, "_act"), field(fields, "_form"));
    if !word.is_empty() {
        return act::again(site, viewer, word, &kept);
    }
    let form =
        if path.is_empty() { None } else { again(site, viewer, path, &kept).await };
    form.unwrap_or_else(|| Redirect::to(ours(field(fields, "then"))).into_response())
}

/// The page of the form that is sent to a path, with what was typed in it; nothing for a path
/// to which no form is sent that is kept.
async fn again(
    site: &Site,
    viewer: &Viewer,
    path: &str,
    typed: &Fields,
) -> Option<Response> {
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    match parts.as_slice() {
        ["season", rest @ ..] => season::again(site, viewer, rest, typed).await,
        ["import", "file", token] => {
            Some(import::again(site, viewer, token, typed).await)
        }
        _ => None,
    }
}

/// What is told beside a form that comes back after signing in.
pub(crate) const SIGNED_IN_AGAIN: &str = "You had to sign in again, and nothing was entered: what you typed is there, send it now.";

/// The fields of a form that are kept through signing in: what was typed, the id that makes it
/// count once, what its sender had seen, and where it leads back to; no secret.
fn kept(fields: &Fields) -> impl Iterator<Item = (String, String)> + '_ {
    const OWN: [&str; 4] = ["_request", "_back", "_seen", "_digest"];
    let goes = |name: &str| {
        !name.starts_with('_') || OWN.contains(&name) || name.starts_with("_reading.")
    };
    let kept = fields.iter().filter(move |(name, _)| goes(name));
    kept.map(|(name, value)| (format!("f.{name}"), value.clone()))
}

/// The form of an act was sent after its session had ended: it is kept through signing in.
pub(crate) fn interrupted(site: &Site, word: &str, fields: &Fields) -> Response {
    let mut typed: Fields = kept(fields).collect();
    typed.push(("_act".to_owned(), word.to_owned()));
    asked(site, StatusCode::UNAUTHORIZED, &typed, "")
}

/// A form was sent to a path after its session had ended, and can't be kept, for this reason.
pub(crate) fn lost(site: &Site, then: &str, why: &str) -> Response {
    let typed = [("then", then), ("_lost", why)];
    let typed = typed.map(|(name, value)| (name.to_owned(), value.to_owned())).to_vec();
    asked(site, StatusCode::UNAUTHORIZED, &typed, "")
}

/// A form and whoever sent it. If nobody is signed in, what was typed is kept through signing
/// in and comes back in the form, for paths that [`again`] knows.
#[derive(Debug)]
pub(crate) struct Sent {
    /// Who sent it.
    pub(crate) viewer: Viewer,
    /// What was typed.
    pub(crate) typed: Fields,
}

impl FromRequest<Site> for Sent {
    type Rejection = Response;

    async fn from_request(request: Request, site: &Site) -> Result<Self, Response> {
        let viewer = viewer::find(site, request.headers());
        let path = request.uri().path().to_owned();
        let form = Form::<Fields>::from_request(request, site).await;
        let Form(typed) = form.map_err(|wrong| match wrong.status() {
            StatusCode::PAYLOAD_TOO_LARGE => fault::too_large(),
            _ => fault::unread(),
        })?;
        if let Some(viewer) = viewer {
            return Ok(Self { viewer, typed });
        }
        let mut carried: Fields = kept(&typed).collect();
        carried.push(("_form".to_owned(), path));
        Err(asked(site, StatusCode::UNAUTHORIZED, &carried, ""))
    }
}

/// `POST /sign-out`.
pub(crate) async fn out(
    State(site): State<Site>,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    // Whose session ended by itself leaves as well: what the device kept goes.
    let Some(viewer) = viewer::find(&site, &headers) else { return left(&site) };
    leave(&site, &viewer, &fields, || site.sessions.end(&viewer.session))
}

/// `POST /sign-out-everywhere`.
pub(crate) async fn out_everywhere(
    State(site): State<Site>,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(viewer) = viewer::find(&site, &headers) else {
        // They asked for all of them to end, and nobody can say whose.
        return fault::signed_out();
    };
    leave(&site, &viewer, &fields, || site.sessions.end_all(&viewer.person))
}

fn leave(site: &Site, viewer: &Viewer, fields: &Fields, end: impl FnOnce()) -> Response {
    if !viewer.sent(field(fields, "_csrf")) {
        return fault::foreign();
    }
    end();
    left(site)
}

fn left(site: &Site) -> Response {
    let cookie = set_cookie(site, session_cookie(site), None);
    let mut response = with_cookie(Redirect::to(PATH).into_response(), &cookie);
    // What the device kept for when there is no connection goes with whoever leaves
    // (W3C, Clear Site Data, 3.1).
    let all = HeaderValue::from_static("\"cache\", \"storage\"");
    response.headers_mut().insert("clear-site-data", all);
    response
}

/// `GET /first/{token}`.
pub(crate) async fn first(
    State(site): State<Site>,
    Path(token): Path<String>,
) -> Response {
    if !site.is_first(&token) {
        return fault::not_found();
    }
    founding(&site, StatusCode::OK, &Fields::new(), "")
}

fn founding(site: &Site, status: StatusCode, typed: &Fields, wrong: &str) -> Response {
    let Ok(token) = app::random_token() else { return fault::panicked() };
    let programme = site.snapshot().programme;
    let mut people = app::choices(&programme, "person", None);
    people.retain(|person| !app::observes(&programme, &person.name));
    let chosen = field(typed, "person");
    let content = html! {
        h1 { "The first secret" }
        p { "Nobody has a secret yet. Whoever enrols now founds the record: choose the person \
             who appoints the others. From then on what they sign is sealed with a key that \
             only their secret makes." }
        form method="post" {
            input type="hidden" name="_before" value=(token);
            div.field {
                label for="person" { "Who you are" }
                select #person name="person" required {
                    option value="" { "Choose" }
                    @for person in &people {
                        option value=(person.name) selected[person.name == chosen] {
                            (person.what) " (" (person.name) ")"
                        }
                    }
                }
            }
            (secret_field("secret", "Your secret: ten characters or more, some words", wrong,
                "new-password"))
            (secret_field("again", "The same once more", "", "new-password"))
            button { "Enrol" }
        }
    };
    let cookie = set_cookie(site, BEFORE, Some(&token));
    with_cookie((status, bare("The first secret", &content)).into_response(), &cookie)
}

/// `POST /first/{token}`.
pub(crate) async fn enrol_first(
    State(site): State<Site>,
    Address(address): Address,
    Path(token): Path<String>,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    if !site.is_first(&token) {
        return fault::not_found();
    }
    let refuse =
        |wrong: &str| founding(&site, StatusCode::UNPROCESSABLE_ENTITY, &fields, wrong);
    if !is_from_here(&headers, &fields) {
        return refuse("this form was too old: type it again");
    }
    let (person, text) =
        (field(&fields, "person").to_owned(), field(&fields, "secret").to_owned());
    if text != field(&fields, "again") {
        return refuse("the two are not the same: type both again");
    }
    let (desk, by, at) = (site.config.desk.clone(), person.clone(), site.stamp());
    let enrolled = site.derive(move || {
        let act = app::enrolment(&by, &Secret::new(&text), "First secret")?;
        let signed = Signed { by, at, secret: None };
        desk.act(vec![act], signed, None, None)
    });
    match enrolled.await {
        Ok(_) => {
            let programme = site.snapshot().programme;
            let key = app::key_of(&programme, &person).unwrap_or_default();
            let proven = Proven { person: &person, key: &key, address };
            begin(&site, &headers, &proven, &Fields::new(), Vec::new()).await
        }
        Err(other) => refuse(&other.told(&person)),
    }
}

#[cfg(test)]
mod tests {
    use super::{browser, ours};

    #[test]
    fn a_browser_is_called_as_people_call_it() {
        const WEBKIT: &str = "AppleWebKit/537.36 (KHTML, like Gecko) Chrome/148.0.0.0";
        // As these browsers send it, from memory.
        for (agent, called) in [
            (format!("Mozilla/5.0 (X11; Linux x86_64) {WEBKIT} Safari/537.36"), "Chrome on Linux"),
            (
                format!("Mozilla/5.0 (Linux; Android 10; K) {WEBKIT} Mobile Safari/537.36"),
                "Chrome on Android",
            ),
            (
                format!("Mozilla/5.0 (Windows NT 10.0) {WEBKIT} Safari/537.36 Edg/148.0"),
                "Edge on Windows",
            ),
            (
                "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 \
                 (KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1"
                    .to_owned(),
                "Safari on an iPhone",
            ),
            (
                "Mozilla/5.0 (Macintosh; Intel Mac OS X 10.15; rv:150.0) Gecko/20100101 \
                 Firefox/150.0"
                    .to_owned(),
                "Firefox on a Mac",
            ),
            ("curl/8.5.0".to_owned(), "curl/8.5.0"),
            (String::new(), "a program without a name"),
        ] {
            assert_eq!(browser(&agent), called);
        }
    }

    #[test]
    fn signing_in_leads_nowhere_else() {
        for (then, to) in [
            ("/show/cards?on=2032-01-01", "/show/cards?on=2032-01-01"),
            ("//evil.example", "/"),
            ("/\\evil.example", "/"),
            ("https://evil.example", "/"),
            ("", "/"),
            ("/sign-in?then=/sign-in", "/"),
            ("/\u{0}", "/"),
            ("/a\r\nset-cookie: session=x", "/"),
            ("/\t/evil.example", "/"),
            ("/\u{b}/evil.example", "/"),
        ] {
            assert_eq!(ours(then), to, "{then}");
        }
    }
}
