//! A second opinion laid out: what is wrong, how urgent, what to do about it and with what.

use plugwell_domain::fitment::{Finding, Severity};
use plugwell_domain::requirement::Basis;
use plugwell_domain::words::Role;

use crate::pages::answer::Frame;
use crate::pages::find::{engine_fields, engine_text};
use crate::pages::form::Declared;
use crate::pages::part;
use crate::pages::words::{say, say_with};
use crate::pages::workshop::check::{FITTED, TOLD};
use crate::pages::workshop::{OfferLine, begun, offered, spoken};
use crate::service::fitment::{Asked, Checked, Engine, Fitted, Remedy};
use crate::service::{Refusal, Shop, builds, catalogue};
use crate::shown::{marked, measured, test};

/// The opinion.
#[derive(Debug)]
pub(super) struct Told {
    /// What the engine is called, and what it is.
    pub engine: String,
    pub engine_in_short: String,
    /// Its page; empty where it is not stored.
    pub build: String,
    /// The plug, and its page; empty where it is none of the catalogue.
    pub plug: String,
    pub part: String,
    /// In a sentence.
    pub summed: String,
    pub findings: Vec<FindingLine>,
    /// What lies on the shelf for them, each told once however many findings it helps: how it is said,
    /// and the parts.
    pub shelf: Vec<(String, Vec<OfferLine>)>,
    /// Complaints that nothing explains, and where to look.
    pub unexplained: Vec<(String, String)>,
    /// What could not be judged, and what to ask.
    pub not_judged: Vec<(String, String)>,
    pub cautions: Vec<String>,
    /// The plug lying in the head; empty where it is none of the catalogue.
    pub section: String,
    /// Where the parts that fit stand; empty where the build is not stored.
    pub matched: String,
}

/// One finding.
#[derive(Debug)]
pub(super) struct FindingLine {
    /// A word of the list, for its colour.
    pub severity: &'static str,
    /// A sign that stands beside the word.
    pub mark: &'static str,
    /// How urgent, in words.
    pub urgent: &'static str,
    pub heading: String,
    /// What it is about; empty where needed and has say nothing.
    pub label: String,
    pub needed: String,
    pub has: String,
    pub text: String,
    /// Complaints that it explains.
    pub explains: String,
    pub remedy: String,
    pub basis: String,
}

/// A sign and words for an urgency.
fn urgency(severity: Severity) -> (&'static str, &'static str) {
    match severity {
        Severity::Stop => ("■", say("workshop-stop")),
        Severity::Fix => ("▲", say("workshop-put-right")),
        Severity::Watch => ("●", say("workshop-watch")),
    }
}

/// What a rule rests on, in words.
fn basis(basis: &Basis) -> String {
    let source = basis.source.as_ref();
    let source = source.map_or(String::new(), |source| format!(": {source}"));
    format!("{}{source}", spoken(basis.kind.word()))
}

/// What people call an attribute of the plug, or a member of its treatment.
fn label(member: &str) -> String {
    let is_it = |declared: &&Declared| declared.name.strip_prefix("in_") == Some(member);
    let own = FITTED.iter().chain(TOLD).find(is_it);
    own.map_or_else(
        || engine_fields::label(member),
        |own| own.label.say().to_owned(),
    )
}

/// What helps against the findings, none of it twice.
fn helping(remedies: &[Remedy]) -> Vec<&Remedy> {
    let mut told: Vec<&Remedy> = Vec::new();
    for remedy in remedies.iter().filter(|remedy| !remedy.shelf.is_empty()) {
        let is_told = |one: &&Remedy| one.shelf == remedy.shelf && one.plugs == remedy.plugs;
        if !told.iter().any(is_told) {
            told.push(remedy);
        }
    }
    told
}

fn finding(found: &Finding, remedy: &Remedy) -> FindingLine {
    let (mark, urgent) = urgency(found.severity);
    let needed = if found.needed.is_null() {
        String::new()
    } else {
        test(found.attribute, &found.needed)
    };
    let reported: Vec<String> = found.reported.iter().map(|s| s.spoken()).collect();
    FindingLine {
        severity: found.severity.word(),
        mark,
        urgent,
        heading: begun(&spoken(found.code.word())),
        label: label(found.attribute),
        has: measured(found.attribute, &found.has),
        needed,
        text: marked(found.text.clone()),
        explains: reported.join(", "),
        remedy: marked(remedy.advice.clone()),
        basis: basis(&found.basis),
    }
}

fn summed(findings: &[Finding]) -> String {
    let told = |severity, say: fn(usize) -> String| {
        let some = findings.iter().filter(|f| f.severity == severity).count();
        (some > 0).then(|| say(some))
    };
    let parts: Vec<String> = [
        told(Severity::Stop, |some| {
            say_with("workshop-so-many-to-stop-for", &[("some", &some)])
        }),
        told(Severity::Fix, |some| {
            say_with("workshop-so-many-to-put-right", &[("some", &some)])
        }),
        told(Severity::Watch, |some| {
            say_with("workshop-so-many-to-watch", &[("some", &some)])
        }),
    ]
    .into_iter()
    .flatten()
    .collect();
    match findings.len() {
        0 => say("workshop-nothing-told-wrong-these-plugs").into(),
        some => say_with(
            "workshop-so-many-findings",
            &[("findings", &some), ("which", &parts.join(", "))],
        ),
    }
}

/// Lays an opinion out.
pub(super) fn told(
    shop: &Shop,
    query: &str,
    asked: &Asked,
    found: &Checked,
    frame: &Frame,
) -> Result<Told, Refusal> {
    let (build, stored) = match &asked.engine {
        Engine::Build(build) => ((**build).clone(), None),
        Engine::Stored(id) => (builds::get(shop, *id)?.data, Some(*id)),
    };
    let record = match &asked.fitted {
        Fitted::Part(id) => Some(catalogue::get(shop, *id)?),
        Fitted::Told(_) => None,
    };
    let plugs = found.requirement.quantity.fitted;
    let opinion = &found.opinion;
    let told = opinion.findings.iter().zip(&found.remedies);
    let unexplained = opinion.look_next.iter();
    let not_judged = opinion.not_judged.iter();
    Ok(Told {
        engine_in_short: engine_text::in_short(&build),
        engine: build
            .name
            .unwrap_or_else(|| say("workshop-a-build-by-hand").into()),
        build: stored.map_or(String::new(), |id| format!("/builds/{id}")),
        matched: stored.map_or(String::new(), |id| format!("/?build={id}")),
        plug: record
            .as_ref()
            .map_or_else(|| say("workshop-plug-told").into(), part::name),
        part: record
            .as_ref()
            .map_or(String::new(), |plug| format!("/parts/{}", plug.id)),
        section: record.as_ref().map_or(String::new(), |plug| {
            format!("/section.svg?{query}&plug_id={}", plug.id)
        }),
        summed: summed(&opinion.findings),
        findings: told.map(|(own, remedy)| finding(own, remedy)).collect(),
        shelf: helping(&found.remedies)
            .into_iter()
            .map(|remedy| {
                let offers = offered(&remedy.plugs, stored, plugs, frame.may(Role::Tuner));
                (marked(remedy.shelf.clone()), offers)
            })
            .collect(),
        unexplained: unexplained
            .map(|next| (begun(&next.symptom.spoken()), marked(next.text.clone())))
            .collect(),
        not_judged: not_judged
            .map(|open| (label(&open.attribute), marked(open.ask.clone())))
            .collect(),
        cautions: found
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
    })
}
