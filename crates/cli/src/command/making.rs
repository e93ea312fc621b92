//! What `filter` and `watch` have in common: how jobs are read, what is made of them, and the register.

use super::convert::program;
use super::{mapping, standards, template};
use crate::exit::CommandError;
use crate::render::Output;
use crate::unattended::Making;
use host::{ConvertRequest, Standards};

pub(super) fn standards_of(making: &Making) -> Result<Standards, CommandError> {
    standards::at_hand(&making.standards)
}

/// The request; none where the mapping can't be read, which has been said then.
pub(super) fn request<'a>(
    making: &Making,
    standards: &'a Standards,
    replace: bool,
    output: &Output,
) -> Result<Option<ConvertRequest<'a>>, CommandError> {
    let template = template::chosen(making.template.as_deref())?;
    let read = mapping::settings(making.from.as_deref(), making.mapping.as_deref(), &[], output)?;
    Ok(read.map(|read| ConvertRequest {
        formats: making.to.clone(),
        out: making.out.clone(),
        replace,
        language: making.lang.clone(),
        template: template.name,
        template_files: template.files,
        older: &[],
        standards,
        read,
        program: program(),
    }))
}

/// Jobs at a time.
pub(super) fn threads(making: &Making) -> usize {
    making.threads.map_or_else(|| std::thread::available_parallelism().map_or(1, usize::from), usize::from)
}
