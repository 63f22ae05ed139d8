//! A field of a form as it is shown: what it is called, what was typed, what is wrong with it.

use plugwell_domain::fault::{Fault, FaultCode};

use crate::pages::words::say;
use crate::shown::marked;

/// Choices that are taken in at a glance.
const GLANCE: usize = 24;

/// How a field is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Input {
    /// Freely.
    Text,
    /// With a number, and perhaps a unit.
    Figures,
    /// With digits alone.
    Digits,
    /// By choosing one.
    One,
    /// By choosing one of a few that all lie open, or none.
    Pick,
    /// By ticking some.
    Several,
    /// With some lines of text.
    Lines,
    /// With a day of the calendar.
    Day,
    /// With a file.
    File,
}

/// One that can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Choice {
    /// What is sent.
    pub value: String,
    /// How it reads.
    pub words: String,
    /// What it means, in a sentence; empty where the words say enough.
    pub note: &'static str,
    /// Whether it is chosen.
    pub chosen: bool,
}

impl Choice {
    /// A word that is offered while one types.
    pub fn offer(words: impl Into<String>) -> Self {
        let words = words.into();
        Self {
            value: words.clone(),
            words,
            note: "",
            chosen: false,
        }
    }

    /// The words of a closed list, and which of them are chosen.
    pub fn of_words(words: &[&str], chosen: impl Fn(&str) -> bool) -> Vec<Self> {
        let choice = |word: &&str| Self {
            value: (*word).to_owned(),
            words: if word.contains(' ') {
                (*word).to_owned()
            } else {
                word.replace('_', " ")
            },
            note: "",
            chosen: chosen(word),
        };
        words.iter().map(choice).collect()
    }
}

/// A field.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Its name in the form, and its place on the page.
    pub name: &'static str,
    /// What people call it.
    pub label: &'static str,
    /// The unit that counts where none is typed.
    pub unit: String,
    /// Whether it has to be filled in.
    pub needed: bool,
    /// A word of help.
    pub hint: String,
    /// How it is filled in.
    pub input: Input,
    /// What was typed.
    pub value: String,
    /// What can be chosen, or is offered while one types.
    pub choices: Vec<Choice>,
    /// What is wrong with it; empty where nothing is.
    pub fault: String,
    /// What was understood, in both units; nothing of a field that has one unit only.
    pub meant: Option<String>,
}

impl Field {
    /// Whether one is chosen from a list.
    pub fn is_list(&self) -> bool {
        self.input == Input::One
    }

    /// Whether what can be chosen lies open.
    pub fn is_boxes(&self) -> bool {
        matches!(self.input, Input::Several | Input::Pick)
    }

    /// Whether there is more to choose from than can be taken in at a glance: it lies folded.
    pub fn is_folded(&self) -> bool {
        self.is_boxes() && self.choices.len() > GLANCE
    }

    /// Whether what lies folded is unfolded: something is chosen, or wrong.
    pub fn is_unfolded(&self) -> bool {
        self.is_wrong() || self.choices.iter().any(|choice| choice.chosen)
    }

    /// Whether every choice says what it means.
    pub fn is_explained(&self) -> bool {
        self.choices.iter().all(|choice| !choice.note.is_empty())
    }

    /// Whether only one of what lies open can be chosen.
    pub fn is_pick(&self) -> bool {
        self.input == Input::Pick
    }

    /// Whether a number is typed.
    pub fn is_figures(&self) -> bool {
        matches!(self.input, Input::Figures | Input::Digits)
    }

    /// Whether it takes several lines.
    pub fn is_lines(&self) -> bool {
        self.input == Input::Lines
    }

    /// Whether a day is chosen.
    pub fn is_day(&self) -> bool {
        self.input == Input::Day
    }

    /// Whether a file is chosen.
    pub fn is_file(&self) -> bool {
        self.input == Input::File
    }

    /// Whether a telephone may show digits alone.
    pub fn is_digits(&self) -> bool {
        self.input == Input::Digits
    }

    /// Whether anything is wrong with it.
    pub fn is_wrong(&self) -> bool {
        !self.fault.is_empty()
    }

    /// The places that say more of it, for whoever hears the page.
    pub fn described_by(&self) -> String {
        let told = [
            (self.is_wrong(), "fault"),
            (self.meant.is_some(), "meant"),
            (!self.hint.is_empty(), "hint"),
        ];
        let places = told
            .iter()
            .filter(|(there, _)| *there)
            .map(|(_, what)| format!("{}-{what}", self.name));
        places.collect::<Vec<_>>().join(" ")
    }
}

/// Something wrong with a form: the field, where one is to blame, and a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wrong {
    /// The field's name; empty for the form as a whole.
    pub field: String,
    /// What is wrong.
    pub text: String,
}

impl Wrong {
    /// What is said of a field that was left open.
    pub fn missing() -> &'static str {
        say("pages-has-to-be-filled-in")
    }

    /// With a field.
    pub fn with(field: &str, text: impl Into<String>) -> Self {
        Self {
            field: field.to_owned(),
            text: text.into(),
        }
    }

    /// With the form as a whole.
    pub fn all(text: impl Into<String>) -> Self {
        Self::with("", text)
    }

    /// What the checks say, by the field that shows the member.
    pub fn of_fault(fault: &Fault) -> Self {
        let field = shown_by(&fault.pointer);
        let text = match (field, fault.code) {
            ("head", FaultCode::Missing) => say("pages-choose-stored-head-describe-below"),
            ("head", FaultCode::NotTogether) => say("pages-either-stored-head-described-below"),
            ("heat_index", FaultCode::Missing) => say("pages-give-heat-index-came-plug"),
            ("place", FaultCode::Missing) if fault.detail.contains("job") => {
                say("pages-give-bin-or-job")
            }
            ("place", FaultCode::NotTogether) => say("pages-bin-or-job-not-both"),
            ("", FaultCode::Missing) if fault.detail.contains("heat_line") => {
                say("pages-say-what-is-seen")
            }
            (_, FaultCode::Missing) if fault.detail.ends_with("has to be given") => Self::missing(),
            _ => return Self::with(field, marked(fault.detail.clone())),
        };
        Self::with(field, text)
    }
}

/// Adds what the checks found; a field that was not understood has been named already.
pub(super) fn add(wrong: &mut Vec<Wrong>, faults: &[Fault]) {
    for more in faults.iter().map(Wrong::of_fault) {
        if more.field.is_empty() || wrong.iter().all(|known| known.field != more.field) {
            wrong.push(more);
        }
    }
}

/// The field that shows what a pointer points to.
fn shown_by(pointer: &str) -> &str {
    let path = pointer.trim_start_matches(['#', '?', '/']);
    // Fields of the policy are called as its members are: each value has three.
    if let Some(member) = path.strip_prefix("values/") {
        return member;
    }
    let path = path.strip_prefix("build/").unwrap_or(path);
    let member = match path.strip_prefix("head/") {
        // A build has a name as well.
        Some("name") => "head_name",
        Some(of_head) => of_head,
        None => path,
    };
    match member.split('/').next().unwrap_or_default() {
        "plug_id" => "part",
        "lot_id" => "lot",
        "build_id" => "build",
        "place_id" => "place",
        "from_place_id" => "from_place",
        "to_place_id" => "to_place",
        "expires_at" => "expires_on",
        "head_id" => "head",
        "heat_scale_id" => "heat_scale",
        "base_plug_id" => "base_plug",
        member => member,
    }
}

/// Puts what is wrong to the fields; what remains is said of the form as a whole.
pub(super) fn put(wrong: &[Wrong], fields: &mut [&mut Field]) -> Vec<Line> {
    let mut lines = Vec::new();
    for one in wrong {
        let place = fields.iter().position(|field| field.name == one.field);
        let (mut at, mut label) = ("", "");
        if let Some(field) = place.and_then(|place| fields.get_mut(place)) {
            (at, label) = (field.name, field.label);
            if field.fault.is_empty() {
                field.fault.clone_from(&one.text);
            }
        }
        lines.push((
            place,
            Line {
                at,
                label,
                text: one.text.clone(),
            },
        ));
    }
    // In the order in which the fields stand on the page.
    lines.sort_by_key(|(place, _)| *place);
    lines.into_iter().map(|(_, line)| line).collect()
}

/// A line of the summary above a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    /// The field that it leads to; empty where none is to blame.
    pub at: &'static str,
    /// What the field is called.
    pub label: &'static str,
    /// What is wrong.
    pub text: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(name: &'static str) -> Field {
        Field {
            name,
            label: "Plugs",
            unit: String::new(),
            needed: true,
            hint: "single ones".into(),
            input: Input::Figures,
            value: String::new(),
            choices: Vec::new(),
            fault: String::new(),
            meant: None,
        }
    }

    #[test]
    fn what_is_wrong_stands_by_its_field_and_in_the_summary() {
        let faults = [
            Fault::at("quantity", FaultCode::Missing, "quantity has to be given"),
            Fault::at("note", FaultCode::WrongForm, "holds a control character"),
        ];
        let wrong: Vec<Wrong> = faults.iter().map(Wrong::of_fault).collect();
        let mut quantity = field("quantity");
        let lines = put(&wrong, &mut [&mut quantity]);
        assert_eq!(quantity.fault, "has to be filled in");
        assert_eq!(quantity.described_by(), "quantity-fault quantity-hint");
        let told: Vec<_> = lines
            .iter()
            .map(|line| (line.at, line.text.as_str()))
            .collect();
        assert_eq!(
            told,
            [
                ("", "holds a control character"),
                ("quantity", "has to be filled in")
            ]
        );
    }

    #[test]
    fn what_is_said_to_programs_is_said_in_words_of_the_form() {
        use plugwell_domain::fault::Check;
        use plugwell_domain::reading::Reading;

        let unseen = serde_json::json!({ "build_id": uuid::Uuid::nil(), "run": 1, "cylinder": 3 });
        let reading: Reading = serde_json::from_value(unseen).unwrap();
        let wrong: Vec<Wrong> = reading.faults().iter().map(Wrong::of_fault).collect();
        let seen =
            "say what is seen: the heat line, the base ring, the porcelain, speckles, or both gaps";
        assert_eq!(wrong, [Wrong::all(seen)]);
    }

    #[test]
    fn a_pointer_leads_to_the_field_that_shows_it() {
        for (pointer, field) in [
            ("#/head/reach_mm", "reach_mm"),
            ("#/build/head/reach_mm", "reach_mm"),
            ("#/electronics/2", "electronics"),
            ("#/total_cost/minor", "total_cost"),
            ("#/head", "head"),
            ("#/head_id", "head"),
            ("#/head/name", "head_name"),
            ("#/heat_scale_id", "heat_scale"),
            ("#/build/base_plug_id", "base_plug"),
            ("#/plug_id", "part"),
            ("#/values/coil_reserve/value", "coil_reserve/value"),
            ("#", ""),
        ] {
            assert_eq!(shown_by(pointer), field, "{pointer}");
        }
    }
}
