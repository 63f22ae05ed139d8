//! Forms with a file in them, read as they come; a large file lies in the system's folder for such.

use std::io::Write;

use actix_multipart::{Field, Multipart};
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, web};
use futures_util::StreamExt;
use tempfile::SpooledTempFile;

use crate::http::request::Limits;
use crate::pages::typed::Typed;

/// Files up to so many bytes are kept in memory.
const IN_MEMORY: usize = 1 << 20;
/// The most that all fields together may hold that are typed.
const TYPED: usize = 1 << 20;

/// What came.
#[derive(Debug, Default)]
pub(super) struct Uploaded {
    /// What was typed.
    pub typed: Typed,
    /// The file with its name; none where none was chosen.
    pub file: Option<(String, SpooledTempFile)>,
}

/// Reads a form; who sends it is known by then, so that nobody else's file is taken in.
///
/// # Errors
/// The status of the page that says why not.
pub(super) async fn uploaded(
    request: &HttpRequest,
    payload: web::Payload,
) -> Result<Uploaded, StatusCode> {
    let media = request.headers().get("content-type");
    let media = media
        .and_then(|value| value.to_str().ok())
        .unwrap_or_default();
    if !media
        .to_ascii_lowercase()
        .starts_with("multipart/form-data")
    {
        return Err(StatusCode::UNSUPPORTED_MEDIA_TYPE);
    }
    let limits = request.app_data::<Limits>().copied().unwrap_or_default();
    let mut parts = Multipart::new(request.headers(), payload);
    let (mut came, mut room) = (Uploaded::default(), TYPED);
    while let Some(part) = parts.next().await {
        let part = part.map_err(|_| StatusCode::BAD_REQUEST)?;
        let name = part.name().unwrap_or_default().to_owned();
        let disposition = part.content_disposition();
        match disposition
            .and_then(|d| d.get_filename())
            .map(str::to_owned)
        {
            Some(file) => {
                let table = kept(part, limits.import).await?;
                // A browser sends an empty part where no file was chosen.
                if !file.is_empty() {
                    came.file = Some((file, table));
                }
            }
            None => {
                let text = text(part, room).await?;
                room -= text.len();
                came.typed.put(&name, text);
            }
        }
    }
    Ok(came)
}

async fn text(mut part: Field, most: usize) -> Result<String, StatusCode> {
    let mut raw = Vec::new();
    while let Some(piece) = part.next().await {
        let piece = piece.map_err(|_| StatusCode::BAD_REQUEST)?;
        if raw.len() + piece.len() > most {
            return Err(StatusCode::PAYLOAD_TOO_LARGE);
        }
        raw.extend_from_slice(&piece);
    }
    String::from_utf8(raw).map_err(|_| StatusCode::BAD_REQUEST)
}

async fn kept(mut part: Field, most: usize) -> Result<SpooledTempFile, StatusCode> {
    let (mut table, mut length) = (SpooledTempFile::new(IN_MEMORY), 0);
    while let Some(piece) = part.next().await {
        let piece = piece.map_err(|_| StatusCode::BAD_REQUEST)?;
        length += piece.len();
        if length > most {
            return Err(StatusCode::PAYLOAD_TOO_LARGE);
        }
        table.write_all(&piece).map_err(|error| {
            tracing::error!(%error, "an uploaded table cannot be kept");
            StatusCode::INTERNAL_SERVER_ERROR
        })?;
    }
    Ok(table)
}
