//! `form --serve`: hands the form to a browser, and keeps its journal beside the job.

use super::outcome;
use crate::arguments::Form;
use crate::exit::{CommandError, CommandResult};
use crate::render::{Output, complain};
use host::{
    BenchPage, BenchServer, ConvertRequest, HostError, JobInput, JournalFile, JournalProblem, Plugins,
    address_in_network, convert_job_to_bytes, kept_token,
};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

/// The port where none is given: always the same, so that a page finds a server that was started again.
const PORT: u16 = 8614;

pub(crate) fn run(
    given: &Form,
    plugins: &Plugins,
    job: &JobInput,
    request: &ConvertRequest<'_>,
    output: &Output,
) -> CommandResult {
    let address = address(given.listen.as_deref())?;
    let (result, page) = convert_job_to_bytes(plugins, job, request)?;
    output.findings(None, &result.findings);
    let Some(page) = page else { return Ok(outcome::exit(&result, &[])) };
    let served = std::str::from_utf8(&page).ok().and_then(plugin_form::served);
    let Some(served) = served else {
        return Err(CommandError::Usage("the form that was made can't be served".into()));
    };
    let path = given.journal.clone().unwrap_or_else(|| journal_path(job, &result.name, &served.id));
    let write = |source| HostError::WriteOutput { path: path.clone(), source };
    let (journal, torn) = JournalFile::open(&path, &served.head).map_err(|problem| match problem {
        JournalProblem::Io(source) => CommandError::Host(write(source)),
        JournalProblem::Other(why) => CommandError::Usage(format!("{}: {why}", path.display())),
    })?;
    let token = if address.ip().is_loopback() {
        None
    } else {
        let file = token_path(&path);
        Some(kept_token(&file).map_err(|source| HostError::WriteOutput { path: file, source })?)
    };
    let (entries, open) = (journal.count(), token.is_some());
    let shown = token.as_deref().map(|token| format!("{token}/")).unwrap_or_default();
    let page = BenchPage { html: served.html.into_bytes(), token };
    let server = BenchServer::listen(address, page, journal).map_err(|error| {
        CommandError::Usage(format!(
            "can't listen at {address}: {error}; --listen ADDRESS:PORT takes another"
        ))
    })?;
    let at = server.address().map_err(write)?;
    let mut words = format!(
        "http://{}/{shown}\nOpen this address in the browser at the bench. The journal is {}",
        at_host(at),
        path.display()
    );
    if entries > 0 {
        words += &format!(" and goes on after {entries} entries");
    }
    words += &format!(
        ".\nThe program reads it like a saved form: forms = \"{}\" in job.toml. Control-C ends the server; everything shown as taken is on disk.\n",
        path.file_name().unwrap_or_default().to_string_lossy()
    );
    if let Some(torn) = torn {
        words += &format!(
            "A line of {} bytes was cut off when the server was stopped; it was never shown as taken and lies in {}.\n",
            torn.bytes,
            torn.kept_as.display()
        );
    }
    if open {
        words += "Plain HTTP, open to the network: whoever can listen there reads along, and whoever has the address can write. For a local network whose users you trust.\n";
    }
    output.print(&words)?;
    server.run(complain);
    Ok(crate::exit::Exit::Done)
}

fn address(listen: Option<&str>) -> Result<SocketAddr, CommandError> {
    let Some(text) = listen else { return Ok(SocketAddr::from((Ipv4Addr::LOCALHOST, PORT))) };
    text.parse::<SocketAddr>()
        .or_else(|_| text.trim_matches(['[', ']']).parse::<IpAddr>().map(|ip| SocketAddr::from((ip, PORT))))
        .map_err(|_| {
            CommandError::Usage(format!(
                "`{text}` is no address of a network, such as 192.168.1.20 or 0.0.0.0:{PORT}"
            ))
        })
}

/// The address as others reach it.
fn at_host(at: SocketAddr) -> String {
    let ip = if at.ip().is_unspecified() { address_in_network().unwrap_or(at.ip()) } else { at.ip() };
    SocketAddr::from((ip, at.port())).to_string()
}

/// The journal of a form lies in the job folder, under the form's identity: another plan is another journal.
fn journal_path(job: &JobInput, name: &str, id: &str) -> PathBuf {
    let folder = match job {
        JobInput::Folder(folder) => folder.clone(),
        JobInput::File(file) => file.parent().map(Path::to_owned).unwrap_or_default(),
    };
    folder.join(format!("{name}.{}.form.jsonl", id.get(..8).unwrap_or(id)))
}

/// A name that begins with a dot: no reader of a job takes it for a part of the record.
fn token_path(journal: &Path) -> PathBuf {
    let name = journal.file_name().unwrap_or_default().to_string_lossy();
    journal.with_file_name(format!(".{name}.token"))
}
