//! Exit codes, and the errors that lead to "could not run".

use host::HostError;
use std::fmt;
use std::process::ExitCode;

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Exit {
    /// Done.
    Done = 0,
    /// The data have errors: something was refused or set aside.
    DataErrors = 1,
    /// Could not run: arguments, settings, files.
    CouldNotRun = 2,
    /// A plug-in broke.
    PluginBroke = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

/// Why a command could not run.
#[derive(Debug)]
pub(crate) enum CommandError {
    /// The engine could not.
    Host(HostError),
    /// Standard output could not be written.
    Print(std::io::Error),
    /// The arguments don't go together.
    Usage(String),
    /// The register can't be used.
    #[cfg(feature = "register")]
    Register(register::RegisterError),
    /// Files that the command needs are not in order; the findings say why.
    Findings(Vec<record::Finding>),
}

impl CommandError {
    pub(crate) fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Print(error) if error.kind() == std::io::ErrorKind::BrokenPipe)
    }
}

impl fmt::Display for CommandError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Host(error) => write!(f, "{error}"),
            #[cfg(feature = "register")]
            Self::Register(error) => write!(f, "{error}"),
            Self::Print(_) => f.write_str("can't write to standard output"),
            Self::Usage(text) => f.write_str(text),
            Self::Findings(list) => write!(f, "{} findings", list.len()),
        }
    }
}

impl std::error::Error for CommandError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Host(error) => error.source(),
            Self::Print(error) => Some(error),
            #[cfg(feature = "register")]
            Self::Register(error) => error.source(),
            Self::Usage(_) | Self::Findings(_) => None,
        }
    }
}

impl CommandError {
    /// The same as an error of the engine, which then decides what to do.
    pub(crate) fn into_host(self) -> HostError {
        match self {
            Self::Host(error) => error,
            #[cfg(feature = "register")]
            Self::Register(error) => HostError::Keep { source: error.into() },
            other => HostError::Keep { source: other.to_string().into() },
        }
    }
}

#[cfg(feature = "register")]
impl From<register::RegisterError> for CommandError {
    fn from(error: register::RegisterError) -> Self {
        Self::Register(error)
    }
}

impl From<HostError> for CommandError {
    fn from(error: HostError) -> Self {
        Self::Host(error)
    }
}

impl From<std::io::Error> for CommandError {
    fn from(error: std::io::Error) -> Self {
        Self::Print(error)
    }
}

/// What a command gives back.
pub(crate) type CommandResult = Result<Exit, CommandError>;
