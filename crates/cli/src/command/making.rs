//! What `convert`, `filter` and `watch` have in common: how jobs are read, and what is made of them.

use super::convert::program;
use super::{mapping, standards, template};
use crate::exit::CommandError;
use crate::making::{AtATime, Making};
use crate::render::Output;
use host::{ConvertRequest, JobInput, OlderPack, Standards};

pub(super) fn standards_of(making: &Making) -> Result<Standards, CommandError> {
    standards::at_hand(&making.standards)
}

/// The request; none where the mapping can't be read, which has been said then. The jobs are those that are known
/// beforehand.
pub(super) fn request<'a>(
    making: &Making,
    standards: &'a Standards,
    older: &'a [OlderPack],
    jobs: &[JobInput],
    replace: bool,
    output: &Output,
) -> Result<Option<ConvertRequest<'a>>, CommandError> {
    let template = template::chosen(making.template.as_deref())?;
    let read = mapping::settings(making.from.as_deref(), making.mapping.as_deref(), jobs, output)?;
    Ok(read.map(|read| ConvertRequest {
        formats: making.to.clone(),
        out: making.out.clone(),
        replace,
        language: making.lang.clone(),
        template: template.name,
        template_files: template.files,
        older,
        standards,
        read,
        program: program(),
    }))
}

/// Jobs at a time.
pub(super) fn threads(given: &AtATime) -> usize {
    given.threads.map_or_else(|| std::thread::available_parallelism().map_or(1, usize::from), usize::from)
}
