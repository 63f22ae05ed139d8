//! Fields of forms, each declared once.

use plugwell_domain::ledger::PlaceKind;

use crate::pages::field::Input;
use crate::pages::known::Stored;
use crate::pages::words::Word;

/// How a field is filled in, and what it means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    /// A number in a unit.
    Measured(&'static str),
    /// A whole number, of a unit.
    Counted(&'static str),
    /// A sum in the shop's currency.
    Money,
    /// A line of text.
    Words,
    /// Some lines of text.
    Lines,
    /// A day of the calendar.
    Day,
    /// One word of a list.
    One(&'static [&'static str]),
    /// One word of a short list that lies open.
    Pick(&'static [&'static str]),
    /// Some words of a list.
    Several(&'static [&'static str]),
    /// Some kinds of events, each with what it tells of.
    Events,
    /// Yes or no.
    Flag,
    /// A part, by number, barcode or words.
    Part,
    /// A place of some kinds, by name or label.
    Place(&'static [PlaceKind]),
    /// A lot, by the code on its label.
    Lot,
    /// Numbers in a unit, one for each thing that was measured.
    Readings(&'static str),
    /// A supplier by name, perhaps a new one.
    Supplier,
    /// A stored record, chosen by its name.
    Stored(Stored),
    /// One of what the page itself offers.
    Offered,
    /// A file, which comes beside what is typed.
    File,
}

/// A field; its name is that of the member that it fills, without `_id`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Declared {
    pub name: &'static str,
    pub label: Word,
    pub form: Form,
    pub hint: Word,
    pub needed: bool,
}

/// A field that may be left open; label and hint are messages.
pub(super) const fn field(
    name: &'static str,
    label: &'static str,
    form: Form,
    hint: &'static str,
) -> Declared {
    worded(name, Word::Message(label), form, Word::Message(hint))
}

/// The same, with words that may come from elsewhere.
pub(super) const fn worded(name: &'static str, label: Word, form: Form, hint: Word) -> Declared {
    Declared {
        name,
        label,
        form,
        hint,
        needed: false,
    }
}

/// The same, to be filled in.
pub(super) const fn needed(declared: Declared) -> Declared {
    Declared {
        needed: true,
        ..declared
    }
}

impl Declared {
    /// The member that the field fills.
    pub fn member(&self) -> String {
        let is_record = matches!(
            self.form,
            Form::Part | Form::Place(_) | Form::Lot | Form::Stored(_)
        );
        let ending = if is_record { "_id" } else { "" };
        format!("{}{ending}", self.name)
    }

    /// How its value is put in.
    pub fn input(&self) -> Input {
        match self.form {
            Form::Counted(_) => Input::Digits,
            Form::Measured(_) | Form::Money => Input::Figures,
            Form::One(_) | Form::Flag | Form::Stored(_) | Form::Offered => Input::One,
            Form::Pick(_) => Input::Pick,
            Form::Several(_) | Form::Events => Input::Several,
            Form::Lines => Input::Lines,
            Form::Day => Input::Day,
            Form::File => Input::File,
            Form::Words
            | Form::Part
            | Form::Place(_)
            | Form::Lot
            | Form::Readings(_)
            | Form::Supplier => Input::Text,
        }
    }
}
