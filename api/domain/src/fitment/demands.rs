//! Each demand of the requirement, put to the plug that is fitted.

use serde_json::Value;

use super::{Case, Finding, FindingCode, Helps, NotJudged, Severity, Symptom, sentence};
use crate::attribute::{Attr, Kind};
use crate::decimal::{Decimal, as_f64};
use crate::fit::{Verdict, judge, rules_out};
use crate::identification::{ByOhmmeter, by_ohmmeter};
use crate::plug::Shows;
use crate::requirement::{Basis, Demand, Requirement, Strength, Test};

/// A finding for every value that rules the plug out, one for all that nobody has established, and
/// one where a window holds a plug that is far too cold.
pub(super) fn findings<P: Shows>(case: Case<'_, P>) -> Vec<Finding> {
    let (mut found, mut unknown) = (Vec::new(), Vec::new());
    for demand in case.requirement.musts() {
        let shown = case.plug.shown(demand.attribute);
        match judge(demand, shown) {
            verdict if !rules_out(demand, verdict) => {}
            Verdict::Unknown => unknown.push(demand),
            _ => found.extend(shown.map(|raw| wrong(case, demand, raw))),
        }
    }
    found.extend(not_established(&unknown));
    found.extend(far_too_cold(case));
    found
}

/// A plug far colder than the target that the window still holds, where a shop allows so much slack.
fn far_too_cold<P: Shows>(case: Case<'_, P>) -> Option<Finding> {
    let demand = case.requirement.demand(Attr::Heat, Strength::Must)?;
    let raw = case.plug.shown(Attr::Heat)?;
    let far_from = aim(case.requirement, demand)? + case.policy.values.heat_far_too_cold.value.0;
    let far = judge(demand, Some(raw)) == Verdict::Meets && raw >= far_from;
    // The window takes the plug, so that no other one is called for before soot shows.
    let within = Test::Range {
        min: ends(&demand.test).0,
        max: Some(far_from - 1),
    };
    far.then(|| Finding {
        severity: Severity::Watch,
        needed: within.to_json(Attr::Heat),
        remedy: FindingCode::TooCold.rule().remedy.to_owned(),
        helps: Helps::NoPlug,
        ..wrong(case, demand, raw)
    })
}

/// What a must asks for and nobody has established, whether it rules the plug out or not, and what
/// the build itself leaves open.
pub(super) fn not_judged<P: Shows>(case: Case<'_, P>, complaints: &[Symptom]) -> Vec<NotJudged> {
    let needed = case.requirement;
    let read = case.resistance.map(|read| by_ohmmeter(read, case.policy).0);
    let unknown =
        |demand: &&Demand| judge(demand, case.plug.shown(demand.attribute)) == Verdict::Unknown;
    let mut open: Vec<NotJudged> = needed
        .musts()
        .filter(unknown)
        .filter_map(|demand| {
            let attr = demand.attribute;
            let ask = match read.filter(|_| attr == Attr::Resistor) {
                // The reading itself is asked for again.
                Some(ByOhmmeter::Unclear) => return None,
                Some(ByOhmmeter::Broken) => BROKEN.to_owned(),
                _ => question(attr),
            };
            Some(NotJudged::of(attr.word(), ask, could_be(attr)))
        })
        .collect();
    let window = Attr::Projection.word();
    if needed.projection_unconfirmed() && open.iter().all(|o| o.attribute != window) {
        let asked = needed.unanswered.iter().find(|u| u.attribute == window);
        let ask = asked.map_or("Ask the head's maker for its window.", |u| u.ask.as_str());
        open.push(NotJudged::of(window, ask, could_be(Attr::Projection)));
    }
    open.extend(unheard_of(case, complaints));
    open
}

/// A complaint of something electronic in a car that is said to carry nothing of the kind.
fn unheard_of<P: Shows>(case: Case<'_, P>, complaints: &[Symptom]) -> Option<NotJudged> {
    let wish = case.requirement.demand(Attr::Resistor, Strength::Prefer)?;
    let met = judge(wish, case.plug.shown(Attr::Resistor)) == Verdict::Meets;
    let heard = [Symptom::RadioNoise, Symptom::LoggerDropout]
        .iter()
        .any(|symptom| complaints.contains(symptom));
    let ask = "The build says that nothing electronic is on board, and these plugs are not known to have a resistor: \
               what is it that is disturbed? With a radio or a logger a resistor is asked for.";
    (heard && !met).then(|| NotJudged::of("electronics", ask, &[FindingCode::NoResistor]))
}

/// What to ask of a resistor that is open.
const BROKEN: &str = "Was a resistor fitted? Of an open one nothing can be measured any more: look the part number up.";

/// What to ask of an attribute that nobody has established.
fn question(attr: Attr) -> String {
    let (label, measure) = (
        attr.declared().label.to_lowercase(),
        capital(attr.declared().measure),
    );
    match attr.declared().kind {
        Kind::Flag => format!("Is a {label} fitted? {measure}."),
        _ => format!("What is the {label}? {measure}."),
    }
}

/// The findings that an unknown value could turn out to be.
const fn could_be(attr: Attr) -> &'static [FindingCode] {
    match attr {
        Attr::Heat => &[FindingCode::TooHot, FindingCode::FarTooCold],
        Attr::Projection => &[FindingCode::TipTooFarBack, FindingCode::TipTooFarOut],
        Attr::Resistor => &[FindingCode::NoResistor],
        _ => &[],
    }
}

/// All that musts ask for and nobody has established; the attribute is that of the first.
fn not_established(unknown: &[&Demand]) -> Option<Finding> {
    let first = unknown.first()?;
    let things: Vec<_> = unknown.iter().map(|demand| thing(demand)).collect();
    let text = format!(
        "Nobody knows whether these plugs have what this engine asks for: {}.",
        things.join("; ")
    );
    let needed = first.test.to_json(first.attribute);
    Some(Finding::of(
        FindingCode::NotEstablished,
        first.attribute.word(),
        (needed, Value::Null),
        text,
        first.basis.clone(),
    ))
}

/// What a demand asks for, as a thing: `a gasket seat`, `a reach of 18.7 mm to 19.3 mm`.
fn thing(demand: &Demand) -> String {
    let attr = demand.attribute;
    let label = attr.declared().label.to_lowercase();
    match attr.declared().kind {
        Kind::Flag => article(&label),
        Kind::Choice(_) if attr != Attr::Thread => article(&format!("{} {label}", asked(demand))),
        _ => article(&format!("{label} of {}", asked(demand))),
    }
}

/// The words with `a` or `an` before them.
fn article(words: &str) -> String {
    let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {words}")
}

fn wrong<P>(case: Case<'_, P>, demand: &Demand, raw: i64) -> Finding {
    let attr = demand.attribute;
    let (code, text) = told(case, demand, raw);
    let basis = match code {
        FindingCode::FarTooCold => Basis::from(&case.policy.values.heat_far_too_cold),
        _ => demand.basis.clone(),
    };
    let figures = (demand.test.to_json(attr), attr.to_json(raw));
    Finding::of(code, attr.word(), figures, text, basis)
}

/// Which finding a value that fails its demand is, and how it is said.
fn told<P>(case: Case<'_, P>, demand: &Demand, raw: i64) -> (FindingCode, String) {
    let attr = demand.attribute;
    let (has, needs) = (shown(attr, raw), asked(demand));
    match attr {
        Attr::Thread => (
            FindingCode::WrongThread,
            format!(
                "The plug's thread is {has}, the hole is {needs}: it can neither hold nor seal there."
            ),
        ),
        Attr::Seat => (
            FindingCode::WrongSeat,
            format!(
                "The plug has a {has} seat, the head is cut for {}: it does not seal, and stands at another depth than its reach says.",
                thing(demand)
            ),
        ),
        Attr::Reach => (FindingCode::WrongReach, reach(demand, raw)),
        Attr::Heat => heat(case, demand, raw),
        Attr::Projection => projection(demand, raw),
        Attr::Resistor => (
            FindingCode::NoResistor,
            format!("These plugs have no resistor. {}", demand.reason),
        ),
        Attr::Hex => (
            FindingCode::HexTooLarge,
            format!(
                "The hexagon is {has}, the plug well takes {needs}: no spanner goes over it there, so it cannot be tightened rightly."
            ),
        ),
        Attr::Terminal => (
            FindingCode::WrongTerminal,
            format!(
                "The terminal is a {has}; lead or boot need a {needs} and will not hold on it."
            ),
        ),
        Attr::Electrode => (
            FindingCode::WrongMetal,
            format!("The tip is {has}; {needs} was asked for."),
        ),
        Attr::GapMin | Attr::GapMax => (FindingCode::GapNotSettable, settable(demand, raw)),
        _ => (
            FindingCode::DemandNotMet,
            format!("{} is {has}; it has to be {needs}.", attr.declared().label),
        ),
    }
}

fn reach(demand: &Demand, raw: i64) -> String {
    let (has, needs) = (shown(Attr::Reach, raw), asked(demand));
    let so = if is_below(&demand.test, raw) {
        "too short: bare threads of the head carbon up and the tip hides in the hole"
    } else {
        "too long: threads or strap stand where piston or valve can meet them"
    };
    format!("The reach is {has}, the head takes {needs}: {so}.")
}

fn heat<P>(case: Case<'_, P>, demand: &Demand, raw: i64) -> (FindingCode, String) {
    let aim = aim(case.requirement, demand).unwrap_or(raw);
    let points = |tenths: i64| as_f64(tenths, Attr::Heat.decimals());
    let (has, target, off) = (points(raw), points(aim), points((raw - aim).abs()));
    let against = format!("The heat index is {has} against a target of {target}");
    if is_below(&demand.test, raw) {
        let text = format!(
            "{against}, {off} points too hot where a usual step is 10: the tip can light the mixture by itself, and that breaks pistons."
        );
        return (FindingCode::TooHot, text);
    }
    if raw - aim >= case.policy.values.heat_far_too_cold.value.0 {
        let text = format!(
            "{against}, {off} points too cold where a usual step is 10: off full load the tip never gets hot enough to burn itself clean."
        );
        return (FindingCode::FarTooCold, text);
    }
    let text = format!(
        "{against}, {off} points on the cold side where {} is the end: it harms nothing at full load, but may soot in town.",
        ends(&demand.test).1.map_or(target, points)
    );
    (FindingCode::TooCold, text)
}

/// The target, or the hot end of the window where there is none.
fn aim(requirement: &Requirement, demand: &Demand) -> Option<i64> {
    let target = requirement.heat.target_index.map(|index| index.0);
    target.or(ends(&demand.test).0)
}

fn projection(demand: &Demand, raw: i64) -> (FindingCode, String) {
    let (has, needs) = (shown(Attr::Projection, raw), asked(demand));
    if is_below(&demand.test, raw) {
        let text = format!(
            "The spark stands {has} beyond the shell, the head wants {needs}: it sits outside the mixture and fouls and misfires, whatever heat and gap are."
        );
        return (FindingCode::TipTooFarBack, text);
    }
    let text = format!(
        "The spark stands {has} beyond the shell, the head allows {needs}: piston or valve can hit the tip or its strap."
    );
    (FindingCode::TipTooFarOut, text)
}

fn settable(demand: &Demand, raw: i64) -> String {
    let has = shown(demand.attribute, raw);
    let (min, max) = ends(&demand.test);
    let gap = min
        .or(max)
        .map_or_else(String::new, |gap| shown(demand.attribute, gap));
    let range = if demand.attribute == Attr::GapMin {
        "no closer than"
    } else {
        "no wider than"
    };
    format!("The gap to set is {gap}, but this plug may be bent {range} {has}.")
}

/// Whether a value lies below what the test asks for.
fn is_below(test: &Test, raw: i64) -> bool {
    match test {
        Test::Range { min, .. } => min.is_some_and(|min| raw < min),
        Test::OneOf(values) => values.iter().all(|value| raw < *value),
    }
}

fn ends(test: &Test) -> (Option<i64>, Option<i64>) {
    match test {
        Test::Range { min, max } => (*min, *max),
        Test::OneOf(values) => (values.iter().min().copied(), values.iter().max().copied()),
    }
}

/// What the demand asks for, in words.
fn asked(demand: &Demand) -> String {
    let say = |raw: &i64| shown(demand.attribute, *raw);
    match &demand.test {
        Test::OneOf(values) => sentence::list(&values.iter().map(say).collect::<Vec<_>>(), "or"),
        Test::Range {
            min: Some(min),
            max: Some(max),
        } => format!("{} to {}", say(min), say(max)),
        Test::Range {
            min: Some(min),
            max: None,
        } => format!("at least {}", say(min)),
        Test::Range {
            min: None,
            max: Some(max),
        } => format!("at most {}", say(max)),
        Test::Range {
            min: None,
            max: None,
        } => "known".to_owned(),
    }
}

/// A value in words; lengths in the trade's unit too.
fn shown(attr: Attr, raw: i64) -> String {
    match attr.declared().kind {
        Kind::Number { unit: "mm", .. } => sentence::length(Decimal(raw)),
        _ => attr.show(raw),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
