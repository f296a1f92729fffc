//! The built web client, and the pages about problems.
//!
//! Belongs here: finding a file, its type, and how long a browser may keep it. Does not belong
//! here: building it.

use std::path::{Component, Path, PathBuf};

use actix_web::http::StatusCode;
use actix_web::http::header::{self, EntityTag, IfNoneMatch};
use actix_web::{HttpRequest, HttpResponse, web};
use sha2::{Digest as _, Sha256};

use crate::config::Config;
use crate::problem::{KNOWN, Problem};

/// Files under this folder carry a hash in their name, so they never change.
const HASHED_FOLDER: &str = "assets";

/// Kept for good.
const CACHE_HASHED: &str = "public, max-age=31536000, immutable";

/// Asked about each time, answered with "not modified" mostly.
const CACHE_ASK: &str = "no-cache";

pub(crate) fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/problems/{code}", web::get().to(problem_page));
}

/// The file at a path, or the client's start page for a path that is one of its own views.
///
/// # Errors
/// "not-found", saying how to build the client where there is none.
pub(crate) async fn file(req: &HttpRequest, config: &Config) -> Result<HttpResponse, Problem> {
    if req.method() != "GET" && req.method() != "HEAD" {
        return Err(Problem::method("GET, HEAD".to_owned()));
    }
    let Some(web_dir) = &config.web_dir else {
        return Err(Problem::not_found(
            "The web client is not built. Run `npm ci && npm run build` in web-client, then start \
             again.",
        ));
    };
    let path = req.path().trim_start_matches('/');
    let wanted = relative(path).map(|path| web_dir.join(path));
    let looks_like_file = path.rsplit('/').next().is_some_and(|name| name.contains('.'));
    if let Some(wanted) = wanted.filter(|_| !path.is_empty())
        && let Ok(bytes) = tokio::fs::read(&wanted).await
    {
        return Ok(respond(req, path, bytes));
    }
    if looks_like_file {
        return Err(Problem::not_found("There is no such file."));
    }
    match tokio::fs::read(web_dir.join("index.html")).await {
        Ok(bytes) => Ok(respond(req, "index.html", bytes)),
        Err(error) => {
            tracing::warn!(%error, "the web client's start page cannot be read");
            Err(Problem::not_found("The web client has no start page; build it again."))
        }
    }
}

/// A path that stays inside the folder.
fn relative(path: &str) -> Option<PathBuf> {
    let path = Path::new(path);
    let inside = path.components().all(|component| matches!(component, Component::Normal(_)));
    inside.then(|| path.to_owned())
}

fn respond(req: &HttpRequest, path: &str, bytes: Vec<u8>) -> HttpResponse {
    let tag = EntityTag::new_weak(store::text::hex(&Sha256::digest(&bytes)[..8]));
    let cache =
        if path.starts_with(&format!("{HASHED_FOLDER}/")) { CACHE_HASHED } else { CACHE_ASK };
    let same = match <IfNoneMatch as header::Header>::parse(req) {
        Ok(IfNoneMatch::Items(tags)) => tags.iter().any(|known| known.weak_eq(&tag)),
        Ok(IfNoneMatch::Any) | Err(_) => false,
    };
    let status = if same { StatusCode::NOT_MODIFIED } else { StatusCode::OK };
    let mut response = HttpResponse::build(status);
    response
        .insert_header((header::CACHE_CONTROL, cache))
        .insert_header((header::ETAG, tag.to_string()));
    if same {
        return response.finish();
    }
    response.content_type(type_of(path)).body(bytes)
}

/// The media type by the name's ending.
fn type_of(path: &str) -> &'static str {
    match path.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

/// A page for people about one kind of problem.
async fn problem_page(code: web::Path<String>) -> Result<HttpResponse, Problem> {
    let (code, status, title, advice) = KNOWN
        .iter()
        .find(|(known, ..)| *known == code.as_str())
        .ok_or_else(|| Problem::not_found("No problem is known by that name."))?;
    let page = format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width\"><title>{title}</title>\
         <h1>{title}</h1><p>{advice}</p><p><code>{code}</code>, status {status}</p></html>"
    );
    Ok(HttpResponse::Ok().content_type("text/html; charset=utf-8").body(page))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_never_leaves_the_folder() {
        assert_eq!(relative("assets/a.js"), Some(PathBuf::from("assets/a.js")));
        for path in ["../secret", "a/../../b", "/etc/passwd", "a/./../b"] {
            assert_eq!(relative(path), None, "{path}");
        }
    }
}
