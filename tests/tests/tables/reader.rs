//! An independent reader: labels rendered by a browser, a pixel to a dot of the printer, and their bars
//! read by zxing-cpp.

use std::process::{Command, Stdio};

use serde_json::{Value, json};

/// A label that is to be read.
pub struct Drawn {
    /// The picture.
    pub svg: String,
    /// Its width and height in dots, as its `viewBox` has them.
    pub dots: (f64, f64),
    /// A row of dots that runs through the bars.
    pub through_bars: f64,
    /// Dots that have to stay white along all edges.
    pub edge: f64,
}

/// What was seen of a label.
#[derive(Debug)]
pub struct Seen {
    /// The texts of all bars, each with the name of its code.
    pub bars: Vec<(String, String)>,
    /// Dots in the row through the bars that are neither black nor white.
    pub grey: u64,
    /// Dots along the edges that are not white.
    pub spilt: u64,
}

const SCRIPT: &str = r#"
import json, sys
import zxingcpp
from PIL import Image
asked = json.load(sys.stdin)
page = Image.open(asked["png"]).convert("L")
seen = []
for box in asked["boxes"]:
    left, top, right, bottom = box["box"]
    label = page.crop((left, top, right, bottom))
    width, height = label.size
    found = zxingcpp.read_barcodes(label)
    row = [label.getpixel((x, box["row"])) for x in range(width)]
    edge = box["edge"]
    spilt = sum(
        label.getpixel((x, y)) < 250
        for x in range(width) for y in range(height)
        if x < edge or y < edge or x >= width - edge or y >= height - edge)
    seen.append({
        "bars": [[b.text, str(b.format)] for b in found],
        "grey": sum(value not in (0, 255) for value in row),
        "spilt": spilt,
    })
json.dump(seen, sys.stdout)
"#;

fn python() -> Command {
    Command::new(std::env::var("PLUGWELL_PYTHON").unwrap_or_else(|_| "python3".into()))
}

/// Whether browser and reader are installed; said on the terminal where they are not.
///
/// # Panics
/// Where one is missing and `PLUGWELL_REQUIRE=all` is set.
fn is_there() -> bool {
    let works = |command: &mut Command| {
        let quiet = command.stdout(Stdio::null()).stderr(Stdio::null());
        quiet.status().is_ok_and(|status| status.success())
    };
    let there = works(Command::new("chromium").arg("--version"))
        && works(python().args(["-c", "import zxingcpp, PIL"]));
    if !there {
        let required = std::env::var("PLUGWELL_REQUIRE").is_ok_and(|what| what == "all");
        assert!(
            !required,
            "PLUGWELL_REQUIRE=all, and chromium or zxing-cpp with pillow is not installed"
        );
        eprintln!("chromium or zxing-cpp with pillow is not installed: labels are not read back");
    }
    there
}

/// Renders labels and reads them; `None` where there is nothing to do that with.
///
/// # Panics
/// Where rendering or reading fails.
pub fn seen(labels: &[Drawn]) -> Option<Vec<Seen>> {
    if !is_there() {
        return None;
    }
    let folder = tempfile::TempDir::new().expect("a folder");
    let (page, png) = (
        folder.path().join("page.html"),
        folder.path().join("page.png"),
    );
    let width = labels.iter().map(|l| l.dots.0.ceil()).fold(0.0, f64::max);
    let (mut top, mut inside, mut boxes) = (0.0, String::new(), Vec::new());
    for label in labels {
        let (own_width, own_height) = (label.dots.0.ceil(), label.dots.1.ceil());
        // The label's own lengths are millimetres; here a unit of its drawing is a pixel.
        let start = label.svg.find(" width=\"").expect("a width");
        let end = start + label.svg[start..].find(" role=").expect("a role");
        let (before, after) = (&label.svg[..start], &label.svg[end..]);
        let (w, h) = label.dots;
        inside += &format!(
            "<g transform=\"translate(0 {top})\">{before} width=\"{w}\" height=\"{h}\"{after}</g>\n"
        );
        boxes.push(json!({
            "box": [0, top as i64, label.dots.0.floor() as i64, (top + label.dots.1.floor()) as i64],
            "row": label.through_bars as i64, "edge": label.edge.floor() as i64,
        }));
        assert!(own_width <= width);
        top += own_height + 8.0;
    }
    let html = format!(
        "<!DOCTYPE html><meta charset=\"utf-8\"><style>body {{ margin: 0; background: #ffffff; }} svg {{ display: block; }}</style>\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{top}\" viewBox=\"0 0 {width} {top}\">{inside}</svg>"
    );
    std::fs::write(&page, html).expect("the page");
    let rendered = Command::new("chromium")
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
        ])
        .args([
            "--hide-scrollbars",
            "--disable-lcd-text",
            "--force-device-scale-factor=1",
        ])
        .arg(format!(
            "--user-data-dir={}",
            folder.path().join("profile").display()
        ))
        .arg(format!("--window-size={width},{top}"))
        .arg(format!("--screenshot={}", png.display()))
        .arg(format!("file://{}", page.display()))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("chromium starts");
    assert!(rendered.success(), "{rendered}");
    if let Ok(kept) = std::env::var("PLUGWELL_LABELS") {
        std::fs::copy(&png, kept).expect("a copy to look at");
    }
    Some(read(&json!({ "png": png, "boxes": boxes })))
}

fn read(asked: &Value) -> Vec<Seen> {
    use std::io::Write;
    let mut reading = python()
        .args(["-c", SCRIPT])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python starts");
    let mut stdin = reading.stdin.take().expect("its input");
    stdin
        .write_all(asked.to_string().as_bytes())
        .expect("it is asked");
    drop(stdin);
    let answered = reading.wait_with_output().expect("an answer");
    assert!(answered.status.success(), "{answered:?}");
    let seen: Value = serde_json::from_slice(&answered.stdout).expect("JSON");
    let seen = seen.as_array().expect("a list").iter();
    seen.map(|label| Seen {
        bars: serde_json::from_value(label["bars"].clone()).expect("bars"),
        grey: label["grey"].as_u64().expect("a number"),
        spilt: label["spilt"].as_u64().expect("a number"),
    })
    .collect()
}
