//! The standards that the program carries with it.

/// Id and text of every standard in the program, in alphabetical order of id.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[("iec-61000-4-2-ed2", include_str!("../../../../shared/standards/iec-61000-4-2-ed2.toml"))]
}
