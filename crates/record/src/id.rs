//! Names by which parts of a record refer to one another.
//!
//! A name that many facts share is shared in memory too; one that a single fact bears lies within it as long as it is
//! short, such as `contact#1234567`. A log of a million rows makes a million series.

use ecow::EcoString;
use std::sync::Arc;

macro_rules! id {
    ($(#[$meta:meta])* $name:ident, $text:ty) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name($text);

        impl $name {
            /// Takes a name as written, without the spaces around it; none when nothing is left.
            pub fn new(text: &str) -> Option<Self> {
                let text = text.trim();
                (!text.is_empty()).then(|| Self(text.into()))
            }
            /// The name as written.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id!(
    /// A place where discharges are applied, as the plan names it.
    PointId,
    Arc<str>
);
id!(
    /// A modification state of the item under test.
    StateId,
    Arc<str>
);
id!(
    /// An operating mode of the item under test.
    ModeId,
    Arc<str>
);
id!(
    /// A monitored function of the item under test.
    FunctionId,
    Arc<str>
);
id!(
    /// A piece of test equipment, by the laboratory's inventory name.
    EquipmentId,
    Arc<str>
);
id!(
    /// A series of equal discharges.
    SeriesId,
    EcoString
);
id!(
    /// An observation.
    ObservationId,
    EcoString
);
id!(
    /// A verification of the generator by its waveforms.
    VerificationId,
    Box<str>
);
