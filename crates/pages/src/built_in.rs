//! The template sets and fonts that come with the program.

/// A file of a set: its path within the set, and its bytes.
type File = (&'static str, &'static [u8]);

macro_rules! files {
    ($folder:literal: $($path:literal),+ $(,)?) => {
        &[$(($path, include_bytes!(concat!("../../../templates/", $folder, "/", $path)))),+]
    };
}

/// Sets by name; the first is the one that the others take every file from that they don't bring.
pub(crate) const SETS: &[(&str, &[File])] =
    &[("report", REPORT), ("summary", SUMMARY), ("protocol", PROTOCOL), ("comparison", COMPARISON)];

const SUMMARY: &[File] = files!(
    "summary":
    "template.toml",
    "summary.hbs",
    "parts/end-word.hbs",
    "parts/heading.hbs",
    "parts/more-reasons.hbs",
    "parts/results-short.hbs",
    "parts/rests-on.hbs",
    "parts/front.hbs",
);

const PROTOCOL: &[File] = files!(
    "protocol":
    "template.toml",
    "protocol.hbs",
    "parts/bench-head.hbs",
    "parts/end-word.hbs",
    "parts/heading.hbs",
    "parts/rows.hbs",
    "parts/scope-note.hbs",
    "parts/seen.hbs",
    "parts/signed.hbs",
);

const COMPARISON: &[File] = files!(
    "comparison":
    "template.toml",
    "comparison.hbs",
    "parts/end-word.hbs",
    "parts/heading.hbs",
    "parts/scope-note.hbs",
    "parts/sides.hbs",
);

const REPORT: &[File] = files!(
    "report":
    "template.toml",
    "style.css",
    "languages/de.toml",
    "languages/en.toml",
    "languages/es.toml",
    "languages/fr.toml",
    "languages/ja.toml",
    "report.hbs",
    "parts/conditions.hbs",
    "parts/changes.hbs",
    "parts/changes-link.hbs",
    "parts/changes-tables.hbs",
    "parts/counts.hbs",
    "parts/criteria.hbs",
    "parts/day.hbs",
    "parts/declarations.hbs",
    "parts/end-word.hbs",
    "parts/english.hbs",
    "parts/figure-head.hbs",
    "parts/figure-name.hbs",
    "parts/equipment.hbs",
    "parts/fact.hbs",
    "parts/front.hbs",
    "parts/completeness.hbs",
    "parts/gaps.hbs",
    "parts/head.hbs",
    "parts/heading.hbs",
    "parts/inside.hbs",
    "parts/item.hbs",
    "parts/label.hbs",
    "parts/legend-words.hbs",
    "parts/legend.hbs",
    "parts/method.hbs",
    "parts/more-reasons.hbs",
    "parts/observations.hbs",
    "parts/origin.hbs",
    "parts/origins.hbs",
    "parts/phrase.hbs",
    "parts/points.hbs",
    "parts/reason.hbs",
    "parts/reasons.hbs",
    "parts/say.hbs",
    "parts/results.hbs",
    "parts/running.hbs",
    "parts/scope-note.hbs",
    "parts/interval.hbs",
    "parts/series-details.hbs",
    "parts/series-rest.hbs",
    "parts/series.hbs",
    "parts/sparks.hbs",
    "parts/stated.hbs",
    "parts/status.hbs",
    "parts/threshold.hbs",
    "parts/title.hbs",
    "parts/value.hbs",
    "parts/verdict-panel.hbs",
    "parts/verdict-word.hbs",
    "parts/waveforms.hbs",
    "parts/work-dates.hbs",
);

/// Fonts, which every set can use.
pub(crate) const FONTS: &[File] = &[
    ("fonts/report-sans-regular.ttf", include_bytes!("../../../templates/fonts/report-sans-regular.ttf")),
    ("fonts/report-sans-italic.ttf", include_bytes!("../../../templates/fonts/report-sans-italic.ttf")),
    ("fonts/report-sans-semibold.ttf", include_bytes!("../../../templates/fonts/report-sans-semibold.ttf")),
    (
        "fonts/report-sans-semibold-italic.ttf",
        include_bytes!("../../../templates/fonts/report-sans-semibold-italic.ttf"),
    ),
    ("fonts/report-mono-regular.ttf", include_bytes!("../../../templates/fonts/report-mono-regular.ttf")),
    ("fonts/noto-sans-regular.ttf", include_bytes!("../../../templates/fonts/noto-sans-regular.ttf")),
    (
        "fonts/noto-sans-hebrew-regular.ttf",
        include_bytes!("../../../templates/fonts/noto-sans-hebrew-regular.ttf"),
    ),
    (
        "fonts/noto-sans-hebrew-semibold.ttf",
        include_bytes!("../../../templates/fonts/noto-sans-hebrew-semibold.ttf"),
    ),
    ("fonts/noto-sans-jp-regular.ttf", include_bytes!("../../../templates/fonts/noto-sans-jp-regular.ttf")),
    ("fonts/noto-sans-jp-semibold.ttf", include_bytes!("../../../templates/fonts/noto-sans-jp-semibold.ttf")),
    (
        "fonts/noto-sans-math-regular.ttf",
        include_bytes!("../../../templates/fonts/noto-sans-math-regular.ttf"),
    ),
    (
        "fonts/noto-sans-symbols-regular.ttf",
        include_bytes!("../../../templates/fonts/noto-sans-symbols-regular.ttf"),
    ),
    (
        "fonts/noto-sans-symbols2-regular.ttf",
        include_bytes!("../../../templates/fonts/noto-sans-symbols2-regular.ttf"),
    ),
];
