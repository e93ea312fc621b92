//! Variants of the standard's data, so that both implementations must read every choice from there.

use crate::chance::Chance;

/// Lines of the data file whose value is a choice among the rules, with the other choice.
const CHOICES: [(&str, &str); 14] = [
    ("lower_levels_contact = { value = false", "lower_levels_contact = { value = true"),
    ("lower_levels_air = { value = true", "lower_levels_air = { value = false"),
    ("single_discharges = { value = true", "single_discharges = { value = false"),
    ("indirect_uses_contact_level = { value = true", "indirect_uses_contact_level = { value = false"),
    (
        "air_approach_without_spark_counts = { value = true",
        "air_approach_without_spark_counts = { value = false",
    ),
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
    text
}
