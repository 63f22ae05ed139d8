//! What pages say: every message stands in `api/templates/words`, in a file for each room, where somebody
//! can translate it. Prose that needs no code stands in the templates.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use plugwell_domain::decimal::Decimal;

use crate::shown::marked;

/// The messages, room by room; an identifier begins with the name of its room.
const ROOMS: [&str; 10] = [
    include_str!("../../templates/words/buying.ftl"),
    include_str!("../../templates/words/counter.ftl"),
    include_str!("../../templates/words/find.ftl"),
    include_str!("../../templates/words/menu.ftl"),
    include_str!("../../templates/words/pages.ftl"),
    include_str!("../../templates/words/parts.ftl"),
    include_str!("../../templates/words/records.ftl"),
    include_str!("../../templates/words/reports.ftl"),
    include_str!("../../templates/words/scales.ftl"),
    include_str!("../../templates/words/workshop.ftl"),
];

/// Every message; those without a variable are written once for all.
struct Messages {
    plain: HashMap<String, String>,
    bundle: FluentBundle<FluentResource>,
}

static MESSAGES: LazyLock<Messages> = LazyLock::new(|| {
    let english = "en".parse().into_iter().collect();
    let mut bundle = FluentBundle::new_concurrent(english);
    // The marks that keep directions of writing apart would stand in every sentence.
    bundle.set_use_isolating(false);
    let mut plain = HashMap::new();
    for text in ROOMS {
        // What cannot be read of a file is left out; a test of the house reads every message.
        let room = FluentResource::try_new(text.to_owned()).unwrap_or_else(|(room, _)| room);
        if let Err(errors) = bundle.add_resource(room) {
            tracing::error!(?errors, "messages of the pages stand twice");
        }
    }
    for id in ROOMS.iter().flat_map(|text| identifiers(text)) {
        let mut errors = Vec::new();
        let pattern = bundle.get_message(id).and_then(|message| message.value());
        let text = pattern.map(|pattern| bundle.format_pattern(pattern, None, &mut errors));
        if let Some(text) = text.filter(|_| errors.is_empty()) {
            plain.insert(id.to_owned(), text.into_owned());
        }
    }
    Messages { plain, bundle }
});

/// The identifiers that a file of messages declares: each begins a line.
fn identifiers(text: &str) -> impl Iterator<Item = &str> {
    let begins = |line: &&str| line.starts_with(|sign: char| sign.is_ascii_lowercase());
    let lines = text.lines().filter(begins);
    lines.filter_map(|line| line.split_once(" =").map(|(id, _)| id))
}

/// A message that needs nothing put into it. One that is not there is shown by its identifier: no page
/// fails for want of a word.
pub fn say(id: &'static str) -> &'static str {
    match MESSAGES.plain.get(id) {
        Some(text) => text,
        None => {
            if !id.is_empty() {
                tracing::error!(id, "a message of the pages is missing");
            }
            id
        }
    }
}

/// A message with what is put into it, by the names of its variables.
pub fn say_with(id: &'static str, given: &[(&'static str, &dyn Given)]) -> String {
    let values: FluentArgs<'_> = given.iter().map(|(name, it)| (*name, it.given())).collect();
    let bundle = &MESSAGES.bundle;
    let Some(pattern) = bundle.get_message(id).and_then(|message| message.value()) else {
        tracing::error!(id, "a message of the pages is missing");
        return id.to_owned();
    };
    let mut errors = Vec::new();
    let text = bundle.format_pattern(pattern, Some(&values), &mut errors);
    if !errors.is_empty() {
        tracing::error!(id, ?errors, "a message of the pages lacks something");
    }
    text.into_owned()
}

/// What can be put into a message. A whole number chooses between one and several; a broken one is
/// written in the shop's way; a text stands as it is.
pub trait Given {
    /// As messages take it.
    fn given(&self) -> FluentValue<'_>;
}

macro_rules! numbers {
    ($($kind:ty),*) => {
        $(impl Given for $kind {
            fn given(&self) -> FluentValue<'_> {
                FluentValue::from(*self)
            }
        })*
    };
}
numbers!(i32, i64, u8, u16, u32, u64, usize);

impl Given for f64 {
    fn given(&self) -> FluentValue<'_> {
        FluentValue::String(Cow::Owned(marked(self.to_string())))
    }
}

impl<const PLACES: u32> Given for Decimal<PLACES> {
    fn given(&self) -> FluentValue<'_> {
        FluentValue::String(Cow::Owned(marked(self.to_string())))
    }
}

impl Given for str {
    fn given(&self) -> FluentValue<'_> {
        FluentValue::String(Cow::Borrowed(self))
    }
}

impl Given for String {
    fn given(&self) -> FluentValue<'_> {
        self.as_str().given()
    }
}

impl Given for Cow<'_, str> {
    fn given(&self) -> FluentValue<'_> {
        self.as_ref().given()
    }
}

impl<T: Given + ?Sized> Given for &T {
    fn given(&self) -> FluentValue<'_> {
        (**self).given()
    }
}

/// Words that are named where nothing can be looked up yet: in a constant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    /// A message.
    Message(&'static str),
    /// Words that come from elsewhere: the domain's name of an attribute.
    Own(&'static str),
}

impl Word {
    /// As people read it.
    pub fn say(self) -> &'static str {
        match self {
            Self::Message(id) => say(id),
            Self::Own(words) => words,
        }
    }
}
