//! What the program could not do; findings about the user's data are something else.

use std::io;
use std::path::PathBuf;

/// A reason why the program could not run (exit code 2).
#[derive(Debug)]
#[non_exhaustive]
pub enum HostError {
    /// An input does not exist or can't be opened.
    ReadInput {
        /// The input.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Nothing to do was found under an input.
    NoJob {
        /// The input.
        path: PathBuf,
    },
    /// An output can't be written.
    WriteOutput {
        /// The output.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// An output exists already and differs.
    OutputExists {
        /// The output.
        path: PathBuf,
    },
    /// Another run is writing to the output folder.
    OutputBusy {
        /// The folder.
        path: PathBuf,
    },
    /// The threads that do the work can't be started.
    NoThreads {
        /// What the system said.
        source: io::Error,
    },
    /// A format that no plug-in writes or reads.
    UnknownFormat {
        /// What was asked for.
        name: String,
        /// What there is.
        known: Vec<String>,
    },
    /// The outputs of a watch would be taken for its inputs.
    OutputInDrop {
        /// The folder.
        path: PathBuf,
    },
    /// What the program keeps beside its outputs can't be written.
    Keep {
        /// Why.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// A folder holds no plug-in that could run.
    BadPlugin {
        /// The folder.
        folder: PathBuf,
        /// What is wrong, in words.
        why: String,
    },
    /// A plug-in that is not trusted as it stands.
    NotTrusted {
        /// Its folder.
        folder: PathBuf,
        /// Its name.
        name: String,
        /// Another state of it was trusted.
        changed: bool,
    },
    /// A plug-in named a file outside its folder.
    BadArtifact {
        /// The plug-in.
        plugin: String,
        /// The path that it gave.
        path: String,
    },
}

impl std::fmt::Display for HostError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::ReadInput { path, .. } => write!(f, "can't read {}", path.display()),
            Self::NoJob { path } => write!(
                f,
                "no job found under {}: a job is a folder with a job.toml; a single log or record is named by itself",
                path.display()
            ),
            Self::WriteOutput { path, .. } => write!(f, "can't write {}", path.display()),
            Self::OutputExists { path } => write!(
                f,
                "{} exists already and differs: choose another folder, or say --replace",
                path.display()
            ),
            Self::OutputBusy { path } => write!(
                f,
                "another run is writing to {}: wait for it, or choose another folder",
                path.display()
            ),
            Self::OutputInDrop { path } => write!(
                f,
                "{} lies in the folder that is watched: its outputs would be taken for jobs; choose another",
                path.display()
            ),
            Self::Keep { .. } => f.write_str("the result can't be kept"),
            Self::NoThreads { .. } => f.write_str("can't start the threads that do the work"),
            Self::UnknownFormat { name, known } => {
                write!(f, "no plug-in for `{name}`; there are: {}", known.join(", "))
            }
            Self::BadPlugin { folder, why } => {
                write!(f, "the plug-in in {} can't be used: {why}", folder.display())
            }
            Self::NotTrusted { folder, name, changed: false } => write!(
                f,
                "plug-in `{name}` is not trusted: it is a program that would run with your rights; read it, then say `fulgurite plugin trust {}`",
                folder.display()
            ),
            Self::NotTrusted { folder, name, changed: true } => write!(
                f,
                "plug-in `{name}` has changed since it was trusted: look at what changed, then say `fulgurite plugin trust {}`",
                folder.display()
            ),
            Self::BadArtifact { plugin, path } => {
                write!(
                    f,
                    "plug-in {plugin} named the output `{path}`, which is not a plain relative path, or is the name of another output"
                )
            }
        }
    }
}

impl std::error::Error for HostError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::ReadInput { source, .. }
            | Self::WriteOutput { source, .. }
            | Self::NoThreads { source } => Some(source),
            Self::Keep { source } => Some(source.as_ref()),
            Self::NoJob { .. }
            | Self::OutputInDrop { .. }
            | Self::OutputExists { .. }
            | Self::OutputBusy { .. }
            | Self::UnknownFormat { .. }
            | Self::BadPlugin { .. }
            | Self::NotTrusted { .. }
            | Self::BadArtifact { .. } => None,
        }
    }
}
