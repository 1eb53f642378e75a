//! Files that never change while the program runs: style, scripts, the mark.
//!
//! Each has a name with a digest of its content in it, so that browsers may keep it for a
//! year and still have the new one at once after an update.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

struct Asset {
    stem: &'static str,
    ending: &'static str,
    media: &'static str,
    content: &'static str,
}

const ASSETS: [Asset; 3] = [
    Asset {
        stem: "page",
        ending: "css",
        media: "text/css; charset=utf-8",
        content: include_str!("../assets/page.css"),
    },
    Asset {
        stem: "live",
        ending: "js",
        media: "text/javascript; charset=utf-8",
        content: include_str!("../assets/live.js"),
    },
    Asset {
        stem: "mark",
        ending: "svg",
        media: "image/svg+xml",
        content: include_str!("../assets/mark.svg"),
    },
];

impl Asset {
    fn name(&self) -> String {
        format!("{}-{:016x}.{}", self.stem, digest(self.content), self.ending)
    }
}

/// FNV-1a: it tells versions apart and protects nothing.
fn digest(content: &str) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    content.bytes().fold(BASIS, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(PRIME))
}

/// The path of a file by its stem (`page`, `live`, `mark`); of none for an unknown one.
pub(crate) fn path(stem: &str) -> String {
    let found = ASSETS.iter().find(|asset| asset.stem == stem);
    found.map_or_else(String::new, |asset| format!("/assets/{}", asset.name()))
}

/// `GET /assets/{name}`.
pub(crate) async fn get(Path(name): Path<String>) -> Response {
    let found = ASSETS.iter().find(|asset| asset.name() == name);
    let Some(asset) = found else { return StatusCode::NOT_FOUND.into_response() };
    let headers = [
        (header::CONTENT_TYPE, asset.media),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
    ];
    (headers, asset.content).into_response()
}
