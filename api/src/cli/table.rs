//! A match on the terminal: what the plug must be and why, what fits, in millimetres and inches.

use plugwell_domain::conversion::{kpa_to_psi, kw_to_hp};
use plugwell_domain::wording::{agreeing, counted};
use serde_json::Value;

use crate::shown::{label, list, measured, test, torque, word};

/// Width that sentences are folded at.
const WIDTH: usize = 100;

/// The answer to a match, as it stands in JSON, laid out for people.
pub fn matched(answer: &Value) -> String {
    let requirement = &answer["requirement"];
    let mut text = String::from("What the plug must be\n");
    for demand in list(&requirement["demands"]) {
        text += &self::demand(demand);
    }
    text += &heat_and_gap(requirement);
    text += &fits(answer);
    text += &near_misses(answer);
    let unanswered = list(&requirement["unanswered"]);
    if !unanswered.is_empty() {
        text += "\nNot answered yet\n";
        for open in unanswered {
            text += &folded(
                &format!("{}: {}", word(&open["attribute"]), word(&open["ask"])),
                "  ",
            );
        }
    }
    text += "\nCautions\n";
    for caution in list(&answer["cautions"]) {
        text += &folded(word(&caution["text"]), "  ");
    }
    text
}

/// A build in two lines.
pub fn build(build: &Value) -> String {
    let number = |name: &str| build[name].as_f64();
    let mut parts = vec![
        counted(&build["cylinders"], "cylinder"),
        word(&build["induction"]).replace('_', " "),
    ];
    parts.push(word(&build["use"]).to_owned());
    if let Some(kw) = number("power_kw") {
        parts.push(format!("{kw} kW ({:.0} hp)", kw_to_hp(kw)));
    }
    if let Some(kpa) = number("boost_kpa") {
        parts.push(format!("{kpa} kPa boost ({:.1} psi)", kpa_to_psi(kpa)));
    }
    if let Some(ratio) = number("compression_ratio") {
        parts.push(format!("{ratio}:1"));
    }
    format!(
        "{}\n  {}\n",
        build["name"].as_str().unwrap_or("Build"),
        parts.join(", ")
    )
}

fn demand(demand: &Value) -> String {
    let attribute = word(&demand["attribute"]);
    let strength = if demand["strength"] == "must" {
        "must"
    } else {
        "better"
    };
    let mut text = format!(
        "  {:<16} {strength:<6} {}\n",
        label(attribute),
        test(attribute, &demand["test"])
    );
    text += &folded(word(&demand["reason"]), "                          ");
    text
}

fn heat_and_gap(requirement: &Value) -> String {
    let (heat, gap, quantity) = (
        &requirement["heat"],
        &requirement["gap"],
        &requirement["quantity"],
    );
    let mut text = String::new();
    if let Some(target) = heat["target_index"].as_f64() {
        let base = heat["base_index"]
            .as_f64()
            .map_or(String::new(), |b| format!(", base {b}"));
        let steps = heat["steps"]
            .as_u64()
            .map_or(String::new(), |n| format!(", {n} colder"));
        text += &format!("\n  Heat target      {target}{base}{steps}\n");
    }
    match &gap["set_mm"] {
        Value::Null => text += "  Gap to set       each plug's own, see below\n",
        set => {
            let tolerance = gap["tolerance_mm"].as_f64().unwrap_or_default();
            text += &format!(
                "  Gap to set       {}, all alike within {tolerance} mm\n",
                measured("gap_mm", set)
            );
        }
    }
    if let Some(kv) = gap["spark"]["available_kv"].as_f64() {
        let needed = gap["spark"]["needed_kv"].as_f64();
        let needed = needed.map_or(String::new(), |n| format!("needs about {n:.0} kV, "));
        text += &format!(
            "  At the spark     {needed}{kv:.0} kV to be had with the reserve kept (an estimate)\n"
        );
    }
    if let Some(torque) = torque(&requirement["torque_nm"]) {
        text += &format!("  Torque           {torque}\n");
    }
    if let Some(total) = quantity["total"].as_u64() {
        let spares = quantity["spares"]
            .as_u64()
            .map_or(String::new(), |n| format!(", {n} of them spare"));
        text += &format!("  Plugs            {total}{spares}\n");
    }
    text
}

fn fits(answer: &Value) -> String {
    let totals = &answer["totals"];
    let mut text = format!(
        "\nOn the shelf now: {} of {} that {}\n",
        totals["fits_in_stock"],
        counted(&totals["fits_in_catalogue"], "part"),
        agreeing(&totals["fits_in_catalogue"], "fits", "fit")
    );
    let fits = list(&answer["fits"]);
    if fits.is_empty() {
        text += "  none in the number that is needed\n";
        return text;
    }
    text += &format!(
        "  {:<12} {:<14} {:>5} {:>17} {:<16} {:>9} {:>17}\n",
        "Maker", "Part number", "Heat", "Projection", "Metal", "Available", "Set gap"
    );
    for fit in fits {
        let plug = &fit["plug"];
        text += &format!(
            "  {:<12} {:<14} {:>5} {:>17} {:<16} {:>9} {:>17}\n",
            word(&plug["maker"]),
            word(&plug["part_number"]),
            measured("heat_index", &plug["heat_index"]),
            measured("projection_mm", &plug["projection_mm"]),
            measured("electrode", &plug["electrode"]),
            fit["available"].to_string(),
            measured("gap_mm", &fit["set_gap_mm"]),
        );
        let unconfirmed: Vec<_> = list(&fit["unconfirmed"])
            .iter()
            .map(word)
            .map(label)
            .collect();
        if !unconfirmed.is_empty() {
            text += &format!(
                "      fits as far as known; to be confirmed: {}\n",
                unconfirmed.join(", ").to_lowercase()
            );
        }
    }
    text
}

fn near_misses(answer: &Value) -> String {
    let misses = list(&answer["near_misses"]);
    if misses.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nNearly, but not\n");
    for miss in misses {
        let fails = list(&miss["fails"]).iter().map(|fail| {
            let attribute = word(&fail["attribute"]);
            format!(
                "{} is {}, needed {}",
                label(attribute).to_lowercase(),
                measured(attribute, &fail["has"]),
                test(attribute, &fail["needed"])
            )
        });
        let fails: Vec<_> = fails.collect();
        let plug = &miss["plug"];
        text += &format!(
            "  {:<12} {:<14} {:>4} there: {}\n",
            word(&plug["maker"]),
            word(&plug["part_number"]),
            miss["available"].to_string(),
            fails.join("; ")
        );
        for caution in list(&miss["fails"])
            .iter()
            .filter_map(|fail| fail["caution"].as_str())
        {
            text += &folded(caution, "      ");
        }
    }
    text
}

/// A sentence in lines that fit the terminal, each indented.
fn folded(sentence: &str, indent: &str) -> String {
    let mut text = String::new();
    let mut line = String::from(indent);
    for word in sentence.split_whitespace() {
        if line.len() + 1 + word.len() > WIDTH && line.len() > indent.len() {
            text += &line;
            text.push('\n');
            line = String::from(indent);
        }
        if line.len() > indent.len() {
            line.push(' ');
        }
        line += word;
    }
    text += &line;
    text.push('\n');
    text
}
