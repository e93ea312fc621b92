//! The template sets and fonts that come with the program.

/// A file of a set: its path within the set, and its bytes.
type File = (&'static str, &'static [u8]);

macro_rules! files {
    ($folder:literal: $($path:literal),+ $(,)?) => {
        &[$(($path, include_bytes!(concat!("../../../templates/", $folder, "/", $path)))),+]
    };
}

/// Sets by name.
pub(crate) const SETS: &[(&str, &[File])] = &[("report", REPORT)];

const REPORT: &[File] = files!(
    "report":
    "template.toml",
    "style.css",
    "languages/en.toml",
    "report.hbs",
    "parts/conditions.hbs",
    "parts/counts.hbs",
    "parts/day.hbs",
    "parts/declarations.hbs",
    "parts/equipment.hbs",
    "parts/fact.hbs",
    "parts/front.hbs",
    "parts/completeness.hbs",
    "parts/gaps.hbs",
    "parts/inside.hbs",
    "parts/item.hbs",
    "parts/label.hbs",
    "parts/method.hbs",
    "parts/observations.hbs",
    "parts/origin.hbs",
    "parts/origins.hbs",
    "parts/points.hbs",
    "parts/reason.hbs",
    "parts/reasons.hbs",
    "parts/results.hbs",
    "parts/series-details.hbs",
    "parts/series.hbs",
    "parts/stated.hbs",
    "parts/status.hbs",
    "parts/title.hbs",
    "parts/value.hbs",
    "parts/verdict-word.hbs",
    "parts/waveforms.hbs",
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
