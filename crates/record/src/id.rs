//! Names by which parts of a record refer to one another.

macro_rules! id {
    ($(#[$meta:meta])* $name:ident) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Takes a name as written, without the spaces around it; none when nothing is left.
            pub fn new(text: &str) -> Option<Self> {
                let text = text.trim();
                (!text.is_empty()).then(|| Self(text.to_owned()))
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
    PointId
);
id!(
    /// A modification state of the item under test.
    StateId
);
id!(
    /// An operating mode of the item under test.
    ModeId
);
id!(
    /// A monitored function of the item under test.
    FunctionId
);
id!(
    /// A piece of test equipment, by the laboratory's inventory name.
    EquipmentId
);
id!(
    /// A series of equal discharges.
    SeriesId
);
id!(
    /// An observation.
    ObservationId
);
id!(
    /// A verification of the generator by its waveforms.
    VerificationId
);
