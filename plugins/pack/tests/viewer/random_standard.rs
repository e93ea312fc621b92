//! Variants of the standard's data, so that both implementations must read every choice from there.

use crate::chance::Chance;

/// Lines of the data file whose value is a choice among the rules, with the other choice.
const CHOICES: [(&str, &str); 16] = [
    ("lower_levels_contact = { value = false", "lower_levels_contact = { value = true"),
    ("lower_levels_air = { value = true", "lower_levels_air = { value = false"),
    ("single_discharges = { value = true", "single_discharges = { value = false"),
    ("indirect_uses_contact_level = { value = true", "indirect_uses_contact_level = { value = false"),
    (
        "air_approach_without_spark_counts = { value = true",
        "air_approach_without_spark_counts = { value = false",
    ),
    ("counts_per = { value = \"point-polarity-level\"", "counts_per = { value = \"point-level\""),
    ("contact_steps_kv = { value = [2, 4, 6, 8]", "contact_steps_kv = { value = [3, 5]"),
    ("contact_tip = { value = \"sharp\"", "contact_tip = { value = \"round\""),
    ("applies_to = { value = [\"air\"]", "applies_to = { value = [\"contact\", \"hcp\"]"),
    ("calibration = { value = true", "calibration = { value = false"),
    ("setup_verification = { value = true", "setup_verification = { value = false"),
    ("climate = { value = true", "climate = { value = false"),
    ("charge_removal_unearthed = { value = true", "charge_removal_unearthed = { value = false"),
    ("tip = { value = true", "tip = { value = false"),
    ("network = { value = true", "network = { value = false"),
    ("monitoring = { value = true", "monitoring = { value = false"),
];

const PROOF: &str = "clause = \"made up\", source = \"choice\", status = \"practice\"";

/// Tables that a file may have besides: P is the proof, W one of the words beside it.
const TABLES: [(&str, &[&str]); 6] = [
    (
        "[[counts]]\napplies_to = { value = [\"air\"], P }\ncounts_per = { value = \"W\", P }\n",
        &["point-level", "point-polarity", "point", "job"],
    ),
    (
        "[[counts]]\napplies_to = { value = [\"hcp\", \"vcp\"], P }\ndischarges = { value = W, P }\n",
        &["3", "25"],
    ),
    (
        "[[counts]]\napplies_to = { value = [\"contact\"], P }\ninterval_s = { value = W, P }\n",
        &["0.5", "1.50"],
    ),
    (
        "[[totals]]\napplies_to = { value = [\"contact\", \"hcp\"], P }\nof = \"W\"\nleast = { value = 60, P }\n",
        &["job", "polarity"],
    ),
    (
        "[[totals]]\napplies_to = { value = [\"air\", \"contact\"], P }\nof = \"points\"\nleast = { value = W, P }\n",
        &["1", "2"],
    ),
    (
        "[[networks]]\npf = 150\nohm = W\nused_for = \"anything\"\nclause = \"made up\"\nsource = \"choice\"\nstatus = \"practice\"\n",
        &["330", "2000"],
    ),
];

/// Keys of `[evidence]` that a file may have besides.
const EVIDENCE: [(&str, &str); 2] = [("calibration_roles", "[\"climate\"]"), ("setup_limits", "true")];

/// The data as they are for variant 0, and with some choices changed for every other.
pub(crate) fn variant(text: &str, number: u64) -> String {
    let mut text = text.to_owned();
    let mut chance = Chance::new(number);
    for (from, to) in CHOICES {
        let line = format!("\n{from}");
        assert!(text.contains(&line), "the data file has no line that starts with `{from}`");
        if number > 0 && chance.percent(20) {
            text = text.replacen(&line, &format!("\n{to}"), 1);
        }
    }
    if number > 0 {
        for (key, value) in EVIDENCE {
            if chance.percent(25) {
                let line = format!("\n[evidence]\n{key} = {{ value = {value}, {PROOF} }}\n");
                text = text.replacen("\n[evidence]\n", &line, 1);
            }
        }
        for (table, words) in TABLES {
            if chance.percent(12) {
                let word = *chance.pick(words);
                let table = table.replace('P', PROOF).replace('W', word);
                text.push_str(&format!("\n{table}"));
            }
        }
    }
    text
}
