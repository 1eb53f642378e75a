//! Files that never change while the program runs: style, scripts, the mark.
//!
//! Each has a name with a digest of its content in it, so that browsers may keep it for a
//! year and still have the new one at once after an update.

use std::borrow::Cow;
use std::sync::OnceLock;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::themes;

struct Asset {
    stem: &'static str,
    ending: &'static str,
    media: &'static str,
    content: Cow<'static, str>,
}

/// The style of every page, in the order in which it applies: one file for each family of
/// pages, sent as one, because a phone fetches one file sooner than ten.
const PAGE_STYLES: &[&str] = &[
    include_str!("../assets/page.css"),
    include_str!("../assets/text.css"),
    include_str!("../assets/files.css"),
    include_str!("../assets/floor.css"),
];

const STYLE: (&str, &str) = ("css", "text/css; charset=utf-8");
const SCRIPT: (&str, &str) = ("js", "text/javascript; charset=utf-8");
const PICTURE: (&str, &str) = ("svg", "image/svg+xml");

fn all() -> &'static [Asset] {
    static ALL: OnceLock<Vec<Asset>> = OnceLock::new();
    ALL.get_or_init(|| {
        let files: Vec<(&str, (&str, &str), Cow<'static, str>)> = vec![
            ("page", STYLE, (themes::style() + &PAGE_STYLES.concat()).into()),
            ("trust", STYLE, include_str!("../assets/trust.css").into()),
            ("live", SCRIPT, include_str!("../assets/live.js").into()),
            ("kept", SCRIPT, include_str!("../assets/kept.js").into()),
            ("wall", SCRIPT, include_str!("../assets/wall.js").into()),
            ("scan", SCRIPT, include_str!("../assets/scan.js").into()),
            ("label", STYLE, include_str!("../assets/label.css").into()),
            ("print", STYLE, include_str!("../assets/print.css").into()),
            ("mark", PICTURE, include_str!("../assets/mark.svg").into()),
            ("regions", STYLE, app::regions_style().into()),
            ("aircraft", STYLE, include_str!("../assets/aircraft.css").into()),
            ("reach", SCRIPT, include_str!("../assets/reach.js").into()),
            ("survey", SCRIPT, include_str!("../assets/survey.js").into()),
            ("chart", STYLE, app::chart_style().into()),
            ("chart-script", SCRIPT, app::chart_script().into()),
            ("timeline", STYLE, include_str!("../assets/timeline.css").into()),
            ("timeline-script", SCRIPT, include_str!("../assets/timeline.js").into()),
            ("progress", SCRIPT, include_str!("../assets/progress.js").into()),
            ("import", STYLE, include_str!("../assets/import.css").into()),
        ];
        let asset =
            |(stem, (ending, media), content)| Asset { stem, ending, media, content };
        files.into_iter().map(asset).collect()
    })
}

impl Asset {
    fn name(&self) -> String {
        format!("{}-{:016x}.{}", self.stem, digest(&self.content), self.ending)
    }
}

/// FNV-1a: it tells versions apart and protects nothing.
fn digest(content: &str) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    content.bytes().fold(BASIS, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(PRIME))
}

/// The path of a file by its stem (`page`, `live`, `mark`, `chart`); of none for an unknown one.
pub(crate) fn path(stem: &str) -> String {
    let found = all().iter().find(|asset| asset.stem == stem);
    found.map_or_else(String::new, |asset| format!("/assets/{}", asset.name()))
}

/// The element that loads a file by its stem: a stylesheet or a script.
pub(crate) fn element(stem: &str) -> Markup {
    let found = all().iter().find(|asset| asset.stem == stem);
    let path = path(stem);
    html! {
        @match found.map(|asset| asset.ending) {
            Some("css") => { link rel="stylesheet" href=(path); }
            Some("js") => { script src=(path) defer {} }
            _ => {}
        }
    }
}

/// The paths of all files, for whoever keeps them on a device.
pub(crate) fn paths() -> Vec<String> {
    all().iter().map(|asset| format!("/assets/{}", asset.name())).collect()
}

/// `GET /assets/{name}`.
pub(crate) async fn get(Path(name): Path<String>) -> Response {
    let found = all().iter().find(|asset| asset.name() == name);
    let Some(asset) = found else { return StatusCode::NOT_FOUND.into_response() };
    let headers = [
        (header::CONTENT_TYPE, asset.media),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
    ];
    (headers, asset.content.as_ref()).into_response()
}
