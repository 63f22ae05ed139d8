//! What becomes of an index whose files are damaged, lost, or of another version.

use std::fs;
use std::path::{Path, PathBuf};

use plugwell_indexer::Index;

use crate::{batch, gone, of_heat};

/// A folder with an index of two segments, one with a deleted record in it, and a file of somebody
/// else's.
fn filled() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..400, 500), 1).unwrap();
    index
        .feed(
            batch(400..410, 500).into_iter().chain([gone(3)]).collect(),
            2,
        )
        .unwrap();
    assert_eq!((index.segments(), index.count()), (2, 409));
    fs::write(folder.path().join("notes.txt"), "not of the index").unwrap();
    folder
}

fn files(folder: &Path) -> Vec<PathBuf> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect()
}

/// Opens a folder that something was done to: either all is there, or nothing and no position.
fn whole_or_anew(folder: &Path, done: &str) -> bool {
    let index = Index::open(folder).unwrap_or_else(|e| panic!("{done}: {e}"));
    let state = (index.position(), index.count(), of_heat(&index, 500));
    let whole = state == (Some(2), 409, 409);
    assert!(whole || state == (None, 0, 0), "{done}: {state:?}");
    index.feed(batch(0..410, 600), 3).unwrap();
    assert_eq!((index.count(), of_heat(&index, 600)), (410, 410), "{done}");
    assert!(
        folder.join("notes.txt").exists(),
        "{done}: a file of somebody else's is gone"
    );
    whole
}

#[test]
fn a_damaged_index_is_made_anew() {
    let names: Vec<PathBuf> = files(filled().path());
    let kinds: std::collections::BTreeSet<String> = names
        .iter()
        .map(|path| path.extension().unwrap().to_string_lossy().into_owned())
        .collect();
    for kind in ["fast", "term", "idx", "del", "json"] {
        assert!(kinds.contains(kind), "no file .{kind} among {kinds:?}");
    }
    type Harm = fn(&Path, Vec<u8>);
    let harms: [(&str, Harm); 5] = [
        ("deleted", |path, _| fs::remove_file(path).unwrap()),
        ("emptied", |path, _| fs::write(path, "").unwrap()),
        ("cut in half", |path, bytes| {
            fs::write(path, &bytes[..bytes.len() / 2]).unwrap()
        }),
        ("first bit flipped", |path, mut bytes| {
            bytes[0] ^= 1;
            fs::write(path, bytes).unwrap();
        }),
        ("middle bit flipped", |path, mut bytes| {
            let middle = bytes.len() / 2;
            bytes[middle] ^= 0x10;
            fs::write(path, bytes).unwrap();
        }),
    ];
    for kind in kinds
        .iter()
        .filter(|kind| *kind != "lock" && *kind != "txt")
    {
        for (name, harm) in &harms {
            let folder = filled();
            // The largest of its kind: that of the larger segment.
            let of_kind = files(folder.path())
                .into_iter()
                .filter(|p| p.extension().is_some_and(|e| e == kind.as_str()));
            let path = of_kind
                .filter(|p| !p.ends_with(".managed.json"))
                .max_by_key(|p| fs::metadata(p).unwrap().len())
                .unwrap();
            harm(&path, fs::read(&path).unwrap());
            let whole = whole_or_anew(folder.path(), &format!("{kind} {name}"));
            // Nobody can tell one bit of a description from another where it still can be read.
            assert!(
                !whole || (kind == "json" && name.contains("bit")),
                ".{kind} {name} went unnoticed"
            );
        }
    }
}

#[test]
fn a_lost_list_of_files_is_survived() {
    for text in [None, Some(""), Some("garbage"), Some("[]")] {
        let folder = filled();
        let list = folder.path().join(".managed.json");
        match text {
            None => fs::remove_file(list).unwrap(),
            Some(text) => fs::write(list, text).unwrap(),
        }
        whole_or_anew(folder.path(), &format!("list of files {text:?}"));
    }
}

#[test]
fn an_index_of_another_version_is_made_anew() {
    let replaced = |from: &str, to: &str| {
        let folder = filled();
        let meta = folder.path().join("meta.json");
        let text = fs::read_to_string(&meta).unwrap();
        assert!(text.contains(from), "{text}");
        fs::write(&meta, text.replace(from, to)).unwrap();
        whole_or_anew(folder.path(), from)
    };
    assert!(
        replaced("{\\\"schema\\\":2,", "{\\\"schema\\\":2,"),
        "it is not the writing of it"
    );
    assert!(!replaced("{\\\"schema\\\":2,", "{\\\"schema\\\":0,"));
    assert!(!replaced("\\\"position\\\":2", "\\\"place\\\":2"));
    assert!(!replaced("\"fact_heat_index\"", "\"fact_warmth\""));
    assert!(!replaced("\"order\": \"Asc\"", "\"order\": \"Desc\""));
}
