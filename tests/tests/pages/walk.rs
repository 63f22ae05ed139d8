//! A walk through the whole shop: every page that links lead to, every field of every form.

use std::collections::{BTreeMap, BTreeSet, HashSet, VecDeque};

use chrono::{TimeDelta, Utc};
use plugwell::pages::ways::WAYS;

use crate::every_page::form_of;
use crate::forms_seen::{FieldSeen, FormSeen, forms, plain};
use crate::visitor::{Seen, Visitor};

/// Records of a kind whose forms are tried.
const RECORDS: usize = 3;

/// What is typed into fields so that their form is taken; `#` becomes another number each time, `@` the
/// day in a week.
const USUAL: &[(&str, &str)] = &[
    ("maker", "Ferrowick"),
    ("part_number", "FW-T#"),
    ("number", "FW-N#"),
    ("for_maker", "Ostrevik"),
    ("for_number", "OS-N#"),
    ("direction", "one_way"),
    ("who", "the counter"),
    ("source", "a catalogue"),
    ("name", "Number #"),
    ("role", "reader"),
    ("quantity", "1"),
    ("job", "J-#"),
    ("place", "Drawer 1"),
    ("places", "Drawer 1"),
    ("from_place", "Drawer 1"),
    ("to_place", "Drawer 2"),
    ("of", "Drawer 1"),
    ("lot", "L1"),
    ("supplier", "Quayside Parts"),
    ("part", "FW-9001"),
    ("reason", "dropped"),
    ("condition", "sealed"),
    ("reach_mm", "19"),
    ("thread", "M14x1.25"),
    ("seat", "gasket"),
    ("heat_index", "50"),
    ("cylinders", "8"),
    ("induction", "naturally_aspirated"),
    ("use", "street"),
    ("codes", "9 90\n8 80"),
    ("sample", "1"),
    ("counted", "1"),
    ("pulls", "1"),
    ("day", "@"),
    ("kind", "plugs"),
    // Nobody is there.
    ("url", "https://jobs.invalid/told/#"),
    ("lines", "maker,part_number\nFerrowick,FW-L#"),
    ("statements", "Ferrowick steps 9 = Ostrevik steps 8"),
    ("odometer_km", "120000"),
    // Of what is chosen by pressing one of several.
    ("run", "1"),
    ("cylinder", "3"),
    ("full_load", "yes"),
    ("clean_shut_off", "yes"),
    ("heat_line", "past_bend"),
];

/// What is pressed, not typed or chosen from a list: no field that [`forms`] reads.
const PRESSED: &[&str] = &["full_load", "clean_shut_off", "heat_line"];

/// Where the links and pictures of a page lead, within the service.
fn links(html: &str) -> Vec<String> {
    let of = |mark: &'static str| html.split(mark).skip(1);
    let all = of(" href=\"/").chain(of(" src=\"/"));
    let paths = all.map(|rest| format!("/{}", plain(rest.split('"').next().unwrap_or_default())));
    paths
        .map(|path| path.split('#').next().unwrap_or_default().to_owned())
        .collect()
}

/// Opens every page that links lead to from those that one can go to by itself, so many of each form at
/// most: two parts may differ, but not in theirs. Which forms of page there are.
pub fn wander(
    who: &Visitor<'_>,
    at_most: usize,
    mut look: impl FnMut(&str, &Seen),
) -> BTreeSet<String> {
    let ways = WAYS.iter().map(|way| way.path.to_owned());
    let mut ahead: VecDeque<String> = ways.collect();
    let (mut known, mut times) = (HashSet::new(), BTreeMap::new());
    while let Some(path) = ahead.pop_front() {
        let seen_so_often: &mut usize = times.entry(form_of(&path)).or_default();
        if *seen_so_often == at_most || !known.insert(path.clone()) {
            continue;
        }
        *seen_so_often += 1;
        let seen = who.get(&path);
        if seen.status == 303 {
            ahead.push_front(seen.header("location").to_owned());
            continue;
        }
        look(&path, &seen);
        ahead.extend(links(&seen.html));
    }
    times.into_keys().collect()
}

/// What a form is sent with: what stands in it, what is usual where nothing does, and a text in one
/// field.
fn filled(form: &FormSeen, field: &str, text: &str, turn: usize) -> Vec<(String, String)> {
    let names: HashSet<&str> = form.fields.iter().map(|own| own.name.as_str()).collect();
    let usual = |name: &str| {
        let own = USUAL.iter().find(|(own, _)| *own == name);
        own.map_or(String::new(), |(_, value)| {
            let day = (Utc::now() + TimeDelta::days(7)).date_naive();
            value
                .replace('#', &turn.to_string())
                .replace('@', &day.to_string())
        })
    };
    let mut all = Vec::new();
    for own in &form.fields {
        let value = match own.name.as_str() {
            name if name == field => text.to_owned(),
            _ if !own.value.is_empty() => own.value.clone(),
            "head" | "build" | "movement_id" => own.choices.get(1).cloned().unwrap_or_default(),
            // A stored head says of itself what else is asked.
            "thread" | "reach_mm" | "seat" | "heat_index" if names.contains("head") => {
                String::new()
            }
            // It is scrapped from a bin or from a job.
            "job" if names.contains("reason") => String::new(),
            name => usual(name),
        };
        all.push((own.name.clone(), value));
    }
    let pressed = PRESSED.iter().filter(|_| names.contains("cylinder"));
    all.extend(pressed.map(|name| ((*name).to_owned(), usual(name))));
    all
}

/// Sends a form.
fn sent(who: &Visitor<'_>, form: &FormSeen, fields: &[(String, String)]) -> Seen {
    let pairs: Vec<(&str, &str)> = fields
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect();
    if !form.is_upload {
        return who.post(&form.path, &pairs);
    }
    let apart: Vec<_> = pairs
        .into_iter()
        .filter(|(name, _)| *name != "file")
        .collect();
    who.upload(&form.path, &apart, None)
}

/// A form, and a page that it stands on.
type Standing = (String, FormSeen);

/// Every form that is sent, by where to and what is typed into it: for a few records each, on the page
/// that fills in most of it. What changes a record comes after what only needs it.
fn found(who: &Visitor<'_>) -> BTreeMap<(bool, String), Vec<Standing>> {
    let mut found: BTreeMap<_, Vec<Standing>> = BTreeMap::new();
    let known = |form: &FormSeen| {
        let of = |field: &FieldSeen| {
            usize::from(field.choices.len() > 1) + 2 * usize::from(!field.value.is_empty())
        };
        form.fields.iter().map(of).sum::<usize>()
    };
    wander(who, RECORDS, |page, seen| {
        for form in forms(&seen.html).into_iter().filter(|form| form.is_posted) {
            let typed = form.fields.iter().filter(|field| field.is_typed);
            let typed: Vec<&str> = typed.map(|field| field.name.as_str()).collect();
            let there = form_of(&form.path);
            let own = (there.contains('{'), format!("{there} {}", typed.join(" ")));
            let standing = found.entry(own).or_default();
            match standing.iter().position(|(_, one)| one.path == form.path) {
                Some(at) if known(&standing[at].1) >= known(&form) => {}
                Some(at) => standing[at] = (page.to_owned(), form),
                None => standing.push((page.to_owned(), form)),
            }
        }
    });
    found
}

/// Types a text into every field of every form that takes one, each on its own, and sends it; of which
/// forms one was taken. The answers are looked at.
pub fn try_forms(
    who: &Visitor<'_>,
    text: &str,
    look: impl Fn(&str, &Seen) + Copy,
) -> BTreeSet<String> {
    let (mut taken, mut turn) = (BTreeSet::new(), 0);
    for standing in found(who).into_values() {
        let typed = standing[0].1.fields.iter().filter(|field| field.is_typed);
        for field in typed {
            let mut is_taken = |(page, form): &Standing| {
                turn += 1;
                let of = (page.as_str(), form, field.name.as_str());
                try_form(who, of, text, turn, look)
            };
            if standing.iter().any(&mut is_taken) {
                taken.insert(form_of(&standing[0].1.path));
            }
        }
    }
    taken
}

/// Types a text into a field of a form and sends it; whether it was taken.
fn try_form(
    who: &Visitor<'_>,
    (page, known, field): (&str, &FormSeen, &str),
    text: &str,
    turn: usize,
    look: impl Fn(&str, &Seen),
) -> bool {
    // The page anew: its form has another key, and may be gone by now.
    let form = forms(&who.get(page).html)
        .into_iter()
        .find(|form| form.path == known.path && form.fields.len() == known.fields.len());
    let Some(form) = form else { return false };
    let mut answer = sent(who, &form, &filled(&form, field, text, turn));
    // What is to be looked at once more is sent once more.
    let again = forms(&answer.html).into_iter().find(|form| {
        form.path == known.path && form.fields.iter().any(|own| own.name == "looked_at")
    });
    if let Some(again) = again {
        let all = again.fields.iter();
        let all: Vec<_> = all
            .map(|own| (own.name.clone(), own.value.clone()))
            .collect();
        answer = sent(who, &again, &all);
    }
    let told = format!("{field} of {}", known.path);
    look(&told, &answer);
    if answer.status == 303 {
        look(&told, &who.get(answer.header("location")));
        return true;
    }
    // Said where the test fails: what was not taken is no proof of anything.
    let faults = answer.html.split("class=\"faults\"").nth(1);
    let faults = faults.and_then(|rest| rest.split("</ul>").next());
    println!("{told}, {}: {}", answer.status, faults.unwrap_or_default());
    false
}
