//! Closed sets of words in the data of a standard: an enum whose values have one written form each.

/// Defines an enum together with its written words (`as_str`, `WORDS`, `FromStr`, `Display`).
macro_rules! words {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vmeta])* $variant),+ }

        impl $name {
            /// Every value, in the order of definition.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];
            /// The written words, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
            /// The word that stands for this value in files.
            pub fn as_str(self) -> &'static str {
                match self { $($name::$variant => $word),+ }
            }
        }

        impl std::str::FromStr for $name {
            type Err = record::UnknownWord;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                match text {
                    $($word => Ok($name::$variant),)+
                    other => Err(record::UnknownWord { found: other.to_owned(), allowed: Self::WORDS }),
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.as_str())
            }
        }
    };
}
pub(crate) use words;
