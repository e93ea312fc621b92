//! How a wire type shows and reads a type of the data model.

/// Something that was wrong with a value, at a path of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// JSON pointer.
    pub path: String,
    /// Code of the finding.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: Vec<String>,
}

/// A JSON pointer, one step further (RFC 6901 clause 3: `~` and `/` in a key are escaped).
pub(crate) fn step_into(mut pointer: String, step: &str) -> String {
    pointer.push('/');
    for letter in step.chars() {
        match letter {
            '~' => pointer.push_str("~0"),
            '/' => pointer.push_str("~1"),
            other => pointer.push(other),
        }
    }
    pointer
}

/// Keeps the path while a tree of values is read, and what was wrong on the way.
#[derive(Debug, Default)]
pub(crate) struct At {
    path: Vec<String>,
    pub(crate) troubles: Vec<Trouble>,
}

impl At {
    pub(crate) fn within<T>(&mut self, step: &str, read: impl FnOnce(&mut Self) -> T) -> T {
        self.path.push(step.to_owned());
        let result = read(self);
        self.path.pop();
        result
    }

    pub(crate) fn along<T>(&mut self, steps: &[String], read: impl FnOnce(&mut Self) -> T) -> T {
        let before = self.path.len();
        self.path.extend(steps.iter().cloned());
        let result = read(self);
        self.path.truncate(before);
        result
    }

    pub(crate) fn pointer(&self) -> String {
        self.path.iter().fold(String::new(), |pointer, step| step_into(pointer, step))
    }

    /// Files what is wrong here; gives none, so that it can end a `read`.
    pub(crate) fn wrong<T>(&mut self, message: impl Into<String>) -> Option<T> {
        self.file(super::codes::BAD_VALUE, message.into())
    }

    pub(crate) fn missing<T>(&mut self) -> Option<T> {
        let name = self.path.last().cloned().unwrap_or_default();
        self.file(super::codes::MISSING_VALUE, format!("`{name}` is missing"))
    }

    fn file<T>(&mut self, code: &'static str, message: String) -> Option<T> {
        let path = self.pointer();
        self.troubles.push(Trouble { path, code, message, help: Vec::new() });
        None
    }
}

/// A wire type that stands for a type of the data model.
pub(crate) trait Mirror<R>: Sized {
    /// Shows a value of the model.
    fn show(value: &R) -> Self;
    /// Reads it back; what is wrong is filed at `at` and gives none.
    fn read(self, at: &mut At) -> Option<R>;
}

/// A wire value that is left out of the file when it says nothing.
pub(crate) trait Blank {
    fn blank(&self) -> bool;
}

impl<T> Blank for Option<T> {
    fn blank(&self) -> bool {
        self.is_none()
    }
}
impl<T> Blank for Vec<T> {
    fn blank(&self) -> bool {
        self.is_empty()
    }
}
impl Blank for String {
    fn blank(&self) -> bool {
        self.is_empty()
    }
}
impl<K, V> Blank for std::collections::BTreeMap<K, V> {
    fn blank(&self) -> bool {
        self.is_empty()
    }
}

impl<R, W: Mirror<R>> Mirror<Option<R>> for Option<W> {
    fn show(value: &Option<R>) -> Self {
        value.as_ref().map(W::show)
    }
    fn read(self, at: &mut At) -> Option<Option<R>> {
        match self {
            None => Some(None),
            Some(wire) => wire.read(at).map(Some),
        }
    }
}

impl<R, W: Mirror<R>> Mirror<Vec<R>> for Vec<W> {
    fn show(value: &Vec<R>) -> Self {
        value.iter().map(W::show).collect()
    }
    fn read(self, at: &mut At) -> Option<Vec<R>> {
        let count = self.len();
        // All of them are read, so that one run names everything that is wrong.
        let read: Vec<R> = self
            .into_iter()
            .enumerate()
            .filter_map(|(index, wire)| at.within(&index.to_string(), |at| wire.read(at)))
            .collect();
        (read.len() == count).then_some(read)
    }
}

/// Defines a wire struct and how it mirrors a struct of the model with the same field names.
///
/// A field whose wire type is blank (nothing stated) is left out of the file.
macro_rules! mirror {
    ($(#[$meta:meta])* $name:ident = $record:ty { $($(#[$fmeta:meta])* $field:ident: $type:ty),* $(,)? }) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq, Default, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
        #[serde(default)]
        #[schemars(transform = Self::say_what_must_be_there)]
        pub struct $name {
            $(
                $(#[$fmeta])*
                #[serde(skip_serializing_if = "crate::wire::v1::mirror::Blank::blank")]
                pub $field: $type,
            )*
        }

        impl $crate::wire::v1::mirror::Mirror<$record> for $name {
            fn show(value: &$record) -> Self {
                Self { $($field: $crate::wire::v1::mirror::Mirror::show(&value.$field)),* }
            }
            fn read(self, at: &mut $crate::wire::v1::mirror::At) -> Option<$record> {
                $(let $field = at.within(stringify!($field), |at| $crate::wire::v1::mirror::Mirror::read(self.$field, at));)*
                type Target = $record;
                Some(Target { $($field: $field?),* })
            }
        }

        impl $name {
            /// Puts into the schema which keys must be there: those that reading nothing finds missing.
            fn say_what_must_be_there(schema: &mut schemars::Schema) {
                let mut at = $crate::wire::v1::mirror::At::default();
                let nothing: Option<$record> = $crate::wire::v1::mirror::Mirror::read(Self::default(), &mut at);
                if nothing.is_none() {
                    let keys: Vec<_> = at.troubles.iter().map(|t| t.path.trim_start_matches('/')).collect();
                    schema.insert("required".to_owned(), keys.into());
                }
            }
        }

        impl $crate::wire::v1::mirror::Blank for $name {
            fn blank(&self) -> bool {
                *self == Self::default()
            }
        }
    };
}
pub(crate) use mirror;
