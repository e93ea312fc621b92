//! The standards that the program carries with it.

/// A file of `shared/standards` by its id.
macro_rules! files {
    ($($id:literal),+ $(,)?) => {
        &[$(($id, include_str!(concat!("../../../../shared/standards/", $id, ".toml")))),+]
    };
}

/// Id and text of every standard in the program: the basic standard that most others are laid over first,
/// the others in alphabetical order.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    files![
        "iec-61000-4-2-ed2",
        "cispr-24-2010",
        "cispr-35-2016",
        "en-301-489-1-v2-2-3",
        "en-50121-4-2016",
        "iec-60255-26-2023",
        "iec-60601-1-2-ed4-1",
        "iec-61000-4-2-ed1",
        "iec-61000-4-2-ed3",
        "iec-61000-6-1-ed3",
        "iec-61000-6-2-ed3",
        "iec-61326-1-ed3",
        "iec-61850-3-ed2",
        "ieee-c37-90-3-2001",
        "iso-10605-2008",
        "iso-10605-2008-unpowered",
        "iso-10605-2023",
        "iso-10605-2023-unpowered",
        "mil-std-461g-cs118",
        "oiml-r-60-2017",
        "rtca-do-160-section-25",
    ]
}
