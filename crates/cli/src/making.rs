//! What can be said to every command that converts jobs: convert, filter, watch.

use crate::arguments::StandardsFrom;
use clap::Args;
use std::path::PathBuf;

/// What is made of jobs, and how they are read.
#[derive(Debug, Args)]
pub(crate) struct Making {
    /// Formats to write, separated by commas; `fulgurite formats` lists them
    #[arg(long, required = true, value_delimiter = ',', value_name = "FORMATS")]
    pub(crate) to: Vec<String>,
    /// Folder to write to; with several jobs, each gets a folder in it
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Enter each record in this register as well: an SQLite file on a local disk, made where there is none
    #[arg(long, value_name = "FILE")]
    pub(crate) register: Option<PathBuf>,
    /// Reader for loose files, where two recognise them
    #[arg(long, value_name = "READER")]
    pub(crate) from: Option<String>,
    /// Mapping file for loose logs: which column is what, and how its values are read
    /// (`fulgurite mapping draft LOG` writes one)
    #[arg(long, value_name = "FILE")]
    pub(crate) mapping: Option<PathBuf>,
    /// Language of the papers (`fulgurite template list` lists them)
    #[arg(long, default_value = "en", value_name = "LANG")]
    pub(crate) lang: String,
    /// What papers are made of: the name of a template (`fulgurite template list`), or a folder with a
    /// laboratory's own files, laid over those of a built-in one
    #[arg(long, value_name = "NAME|DIR")]
    pub(crate) template: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) standards: StandardsFrom,
}

/// How many jobs are done at a time.
#[derive(Debug, Args)]
pub(crate) struct AtATime {
    /// Jobs at a time; as many as the machine has processors where it is not said
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    pub(crate) threads: Option<u16>,
}
