//! The folder that an index lies in: opened where it is sound, else made anew.

use std::collections::HashSet;
use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};
use tantivy::directory::MmapDirectory;
use tantivy::{Index, SegmentReader};

use crate::IndexError;
use crate::schema::{self, WORDS_OF_TEXT};
use crate::view::View;
use crate::writer::Writer;

/// What each commit says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Payload {
    pub(crate) schema: u32,
    /// The outbox position up to which the index is fed.
    pub(crate) position: i64,
}

/// Opens the index of a folder, or makes a new one where it cannot be used.
pub(crate) fn open_or_make_anew(folder: &Path) -> Result<(Writer, View), IndexError> {
    fs::create_dir_all(folder)?;
    match open(folder) {
        Ok(opened) => Ok(opened),
        Err(IndexError::InUse) => Err(IndexError::InUse),
        Err(why) => {
            tracing::warn!(folder = %folder.display(), %why, "the index is made anew");
            clear(folder)?;
            open(folder)
        }
    }
}

fn open(folder: &Path) -> Result<(Writer, View), IndexError> {
    let directory = MmapDirectory::open(folder).map_err(tantivy::TantivyError::from)?;
    let (schema, _) = schema::schema();
    let is_new = !Index::exists(&directory).map_err(tantivy::TantivyError::from)?;
    let mut index = if is_new {
        Index::builder()
            .schema(schema.clone())
            .settings(schema::settings())
            .open_or_create(directory)?
    } else {
        Index::open(directory)?
    };
    index
        .tokenizers()
        .register(WORDS_OF_TEXT, schema::analyzer());
    // The writer's lock comes first: whatever else is wrong, a folder in use is left alone.
    let mut writer = Writer::new(&mut index)?;
    writer.position = sound(folder, &index)?;
    let view = writer.view(None)?;
    for reader in view.searcher.segment_readers() {
        complete(reader)?;
    }
    Ok((writer, view))
}

/// Opens what a view does not: a merge would, later, and fail on a file that is missing.
fn complete(reader: &SegmentReader) -> Result<(), IndexError> {
    for (field, entry) in reader
        .schema()
        .fields()
        .filter(|(_, entry)| entry.is_indexed())
    {
        reader.inverted_index(field)?;
        if entry.has_fieldnorms() {
            reader.get_fieldnorms_reader(field)?;
        }
    }
    reader.get_store_reader(1)?;
    Ok(())
}

/// Checks that an index is one of this version and that none of its files is damaged; its outbox
/// position.
fn sound(folder: &Path, index: &Index) -> Result<Option<i64>, IndexError> {
    let metas = index.load_metas()?;
    if metas.schema != schema::schema().0 || metas.index_settings != schema::settings() {
        return Err(IndexError::Unsound(
            "its fields are not those of this version".into(),
        ));
    }
    let position = match &metas.payload {
        None if metas.segments.is_empty() => None,
        None => {
            return Err(IndexError::Unsound(
                "its commit does not say what it is".into(),
            ));
        }
        Some(text) => {
            let payload: Payload = serde_json::from_str(text).map_err(|e| {
                IndexError::Unsound(format!("its commit does not say what it is: {e}"))
            })?;
            if payload.schema != schema::VERSION {
                let versions = format!(
                    "schema version {}, wanted {}",
                    payload.schema,
                    schema::VERSION
                );
                return Err(IndexError::Unsound(versions));
            }
            Some(payload.position)
        }
    };
    let segments: HashSet<String> = metas
        .segments
        .iter()
        .map(|s| s.id().uuid_string())
        .collect();
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name();
        let of_segment = name
            .to_str()
            .and_then(|n| n.split_once('.'))
            .is_some_and(|(stem, _)| segments.contains(stem));
        if of_segment
            && !index
                .directory()
                .validate_checksum(Path::new(&name))
                .map_err(tantivy::TantivyError::from)?
        {
            return Err(IndexError::Unsound(format!(
                "file {} is damaged",
                name.display()
            )));
        }
    }
    Ok(position)
}

/// Deletes the files of an index, and nothing else that may lie in the folder.
fn clear(folder: &Path) -> Result<(), IndexError> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        if name.to_str().is_some_and(is_of_an_index) {
            fs::remove_file(entry.path())?;
        }
    }
    Ok(())
}

/// Whether tantivy gives a file such a name: the description of the index, its locks, and files of
/// segments, whose names are 32 hexadecimal digits.
fn is_of_an_index(name: &str) -> bool {
    let (stem, _) = name.split_once('.').unwrap_or((name, ""));
    name == "meta.json"
        || name == ".managed.json"
        || name.starts_with(".tantivy-")
        || stem.len() == 32 && stem.bytes().all(|b| b.is_ascii_hexdigit())
}

/// Bytes that the files of a folder take up.
pub(crate) fn size(folder: &Path) -> Result<u64, IndexError> {
    let mut bytes = 0;
    for entry in fs::read_dir(folder)? {
        match entry?.metadata() {
            Ok(metadata) => bytes += metadata.len(),
            // Deleted by a merge since the folder was listed.
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
            Err(e) => return Err(e.into()),
        }
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_of_an_index_are_cleared_away() {
        let folder = tempfile::tempdir().unwrap();
        let segment = "0123456789abcdef0123456789abcdef";
        let of_index = [
            "meta.json",
            ".managed.json",
            ".tantivy-writer.lock",
            &format!("{segment}.fast"),
            &format!("{segment}.12.del"),
        ];
        let others = ["shop.sqlite", "notes.json", "0123.fast", "meta.json.old"];
        for name in of_index.into_iter().chain(others) {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        clear(folder.path()).unwrap();
        let mut left: Vec<_> = fs::read_dir(folder.path())
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        left.sort();
        let mut expected = others.map(str::to_owned);
        expected.sort();
        assert_eq!(left, expected);
    }
}
