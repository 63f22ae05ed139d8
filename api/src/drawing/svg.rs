//! SVG as text: tags with rounded numbers and escaped words, and the frame that every picture has.

use std::fmt::Write;

/// The one stylesheet of all pictures; it stands in each of them.
pub const STYLE: &str = include_str!("../../templates/drawing.css");

/// A start tag in the making.
#[derive(Debug, Clone)]
pub struct Tag {
    name: &'static str,
    text: String,
}

impl Tag {
    /// A tag without attributes.
    pub fn new(name: &'static str) -> Self {
        Self {
            name,
            text: format!("<{name}"),
        }
    }

    /// Adds a number, rounded to what can be seen.
    #[must_use]
    pub fn number(self, attribute: &str, value: f64) -> Self {
        self.with(attribute, &rounded(value))
    }

    /// Adds words.
    #[must_use]
    pub fn with(mut self, attribute: &str, words: &str) -> Self {
        // Writing to a string cannot fail.
        let _ = write!(self.text, " {attribute}=\"{}\"", escaped(words));
        self
    }

    /// Adds the classes of the stylesheet that it has.
    #[must_use]
    pub fn class(self, classes: &str) -> Self {
        self.with("class", classes)
    }
}

/// A straight line from one point to another.
pub fn line(from: (f64, f64), to: (f64, f64)) -> Tag {
    let start = Tag::new("line").number("x1", from.0).number("y1", from.1);
    start.number("x2", to.0).number("y2", to.1)
}

/// A rectangle by its upper left corner, width and height.
pub fn rect(corner: (f64, f64), width: f64, height: f64) -> Tag {
    let start = Tag::new("rect").number("x", corner.0).number("y", corner.1);
    start.number("width", width).number("height", height)
}

/// A circle.
pub fn circle(centre: (f64, f64), radius: f64) -> Tag {
    let start = Tag::new("circle")
        .number("cx", centre.0)
        .number("cy", centre.1);
    start.number("r", radius)
}

/// Where words stand.
pub fn words(at: (f64, f64)) -> Tag {
    Tag::new("text").number("x", at.0).number("y", at.1)
}

/// A path from point to point; `closed` leads it back to the first.
pub fn path(points: &[(f64, f64)], closed: bool) -> Tag {
    let mut d = String::new();
    for (place, (x, y)) in points.iter().enumerate() {
        let step = if place == 0 { 'M' } else { 'L' };
        let _ = write!(d, "{step}{} {}", rounded(*x), rounded(*y));
    }
    if closed {
        d.push('Z');
    }
    Tag::new("path").with("d", &d)
}

/// What is drawn so far.
#[derive(Debug, Clone, Default)]
pub struct Svg {
    text: String,
}

impl Svg {
    /// Draws a shape.
    pub fn put(&mut self, tag: Tag) {
        self.text += &tag.text;
        self.text += "/>\n";
    }

    /// Writes words.
    pub fn say(&mut self, tag: Tag, words: &str) {
        let name = tag.name;
        let _ = writeln!(self.text, "{}>{}</{name}>", tag.text, escaped(words));
    }

    /// Draws something inside of a tag.
    pub fn within(&mut self, tag: Tag, inside: impl FnOnce(&mut Self)) {
        self.text += &tag.text;
        self.text += ">\n";
        inside(self);
        let _ = writeln!(self.text, "</{}>", tag.name);
    }

    /// The whole of what is only for print, within a root of its own: black on white whatever the screen
    /// is like, and without a stylesheet.
    pub fn printed(self, root: Tag, title: &str, description: &str) -> String {
        let mut whole = Self::default();
        whole.within(root, |svg| {
            svg.say(Tag::new("title"), title);
            svg.say(Tag::new("desc"), description);
            svg.text += &self.text;
        });
        whole.text
    }

    /// The whole picture with its name and its alternative in words.
    pub fn picture(self, frame: &Frame<'_>) -> String {
        let (width, height) = (frame.width, frame.height);
        let root = Tag::new("svg")
            .with("xmlns", "http://www.w3.org/2000/svg")
            .with(
                "viewBox",
                &format!("0 0 {} {}", rounded(width), rounded(height)),
            )
            .number("width", width * frame.zoom)
            .number("height", height * frame.zoom)
            .with("role", "img")
            .with("aria-labelledby", "title desc")
            .class("fitting");
        let mut whole = Self::default();
        whole.within(root, |svg| {
            svg.say(Tag::new("title").with("id", "title"), frame.title);
            svg.say(Tag::new("desc").with("id", "desc"), frame.description);
            // Ours, and without a sign that would need escaping: its hash is in the page's policy.
            svg.text += &format!("<style>{STYLE}</style>\n");
            svg.put(rect((0.0, 0.0), width, height).class("ground"));
            svg.text += &self.text;
        });
        whole.text
    }
}

/// What stands around a picture.
#[derive(Debug, Clone, Copy)]
pub struct Frame<'a> {
    /// Width in units of the drawing.
    pub width: f64,
    /// Height in the same.
    pub height: f64,
    /// Pixels to a unit where nothing else decides its size.
    pub zoom: f64,
    /// What it is.
    pub title: &'a str,
    /// What it shows, in words.
    pub description: &'a str,
}

/// A hundredth of a unit is finer than any screen or printer shows; never a negative nought.
fn rounded(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0 + 0.0)
}

/// Text that stands safely between tags and in attributes; what XML cannot hold is shown as missing.
fn escaped(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for sign in words.chars() {
        match sign {
            '&' => text += "&amp;",
            '<' => text += "&lt;",
            '>' => text += "&gt;",
            '"' => text += "&quot;",
            '\'' => text += "&#39;",
            '\t' | '\n' | '\r' => text.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => text.push('\u{fffd}'),
            other => text.push(other),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_words_escaped() {
        let mut svg = Svg::default();
        svg.put(line((0.123_456, -0.001), (10.0, 1e3)).class("grid"));
        svg.say(words((1.0, 2.0)), "<b>&\"'\u{1}\n");
        svg.put(path(&[(0.0, 0.0), (1.5, 2.005)], true));
        let drawn = svg.text;
        assert_eq!(
            drawn,
            "<line x1=\"0.12\" y1=\"0\" x2=\"10\" y2=\"1000\" class=\"grid\"/>\n\
             <text x=\"1\" y=\"2\">&lt;b&gt;&amp;&quot;&#39;\u{fffd} </text>\n\
             <path d=\"M0 0L1.5 2.01Z\"/>\n"
        );
    }

    #[test]
    fn the_stylesheet_needs_no_escaping() {
        assert!(!STYLE.contains(['<', '&']));
    }
}
