//! Pictures and documents that belong to the record.

use crate::{SourceId, word::words};

words!(
    /// What an attachment is.
    AttachmentKind {
        /// Photograph.
        Photo = "photo",
        /// Drawing or sketch.
        Drawing = "drawing",
        /// Certificate.
        Certificate = "certificate",
        /// Anything else.
        Other = "other",
    }
);

/// A file that belongs to the record without being read for values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// File name within the job.
    pub file: String,
    /// What it is.
    pub kind: Option<AttachmentKind>,
    /// Caption; also the alternative text of a picture.
    pub caption: Option<String>,
    /// The file among the record's sources, where it was found.
    pub source: Option<SourceId>,
}
