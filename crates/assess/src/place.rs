//! Where the facts behind a conclusion were read.

use record::{Origin, Record, SourceId, SourceRole};

/// Finds the origin of a fact, or of the nearest thing to it where nobody stated it.
pub(crate) struct Places<'a> {
    pub(crate) record: &'a Record,
}

impl<'a> Places<'a> {
    pub(crate) fn new(record: &'a Record) -> Self {
        Self { record }
    }

    /// The origin of a job fact; for a fact that is absent, of the entry it would belong to, and at last
    /// of the job file as a whole.
    pub(crate) fn fact(&self, path: &str) -> Option<Origin> {
        let mut path = path;
        while !path.is_empty() {
            if let Some(origin) = self.record.origins.get(path) {
                return Some(origin.clone());
            }
            path = &path[..path.rfind('/').unwrap_or(0)];
        }
        self.job()
    }

    fn job(&self) -> Option<Origin> {
        let sources = &self.record.sources;
        let index = sources.iter().position(|s| s.role == SourceRole::Job).unwrap_or(0);
        (index < sources.len()).then(|| Origin::file(SourceId(u32::try_from(index).unwrap_or(u32::MAX))))
    }
}
