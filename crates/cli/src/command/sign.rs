//! `sign PACK`: adds a signature or a time stamp to an evidence pack that is in order.

use super::verify::verified;
use crate::arguments::Sign;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::Output;
use host::{HostError, WholeFile};
use plugin_pack::{
    Depth, Limits, Request, SignError, SignedAs, add_signature, add_time_stamp, checked_signature,
    make_signature,
};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

pub(crate) fn run(given: &Sign, output: &Output) -> CommandResult {
    let target = match (&given.out, given.in_place) {
        (Some(out), _) if out.exists() => {
            return Err(HostError::OutputExists { path: out.clone() }.into());
        }
        (Some(out), _) => out,
        (None, true) => &given.pack,
        (None, false) => {
            return Err(CommandError::Usage(
                "say where the signed pack goes: --out FILE, or --in-place".to_owned(),
            ));
        }
    };
    // Nobody should sign what does not hold.
    let request = Request { depth: Depth::ReDerive, ..Request::default() };
    let report = verified(&given.pack, &request)?;
    if !report.outcome.is_sound() || report.pack_version.is_none() {
        output.print(&report.to_string())?;
        return Err(CommandError::Usage("the pack is not in order, and was not signed".to_owned()));
    }
    let read = |path: &Path| {
        std::fs::read(path).map_err(|source| HostError::ReadInput { path: path.to_owned(), source })
    };
    let added = added(given, read)?;
    let pack = File::open(&given.pack)
        .map_err(|source| HostError::ReadInput { path: given.pack.clone(), source })?;
    let mut file = WholeFile::begin(target)?;
    let pack = BufReader::new(pack);
    let limits = Limits::default();
    let said = match &added {
        Added::Key(key, role) => {
            add_signature(pack, &limits, *role, |message| make_signature(key, message, *role), &mut file)
                .map(|path| format!("signed as {}: {path}", role.id()))
        }
        Added::Signature(made, role) => {
            add_signature(pack, &limits, *role, |message| checked_signature(made, message, *role), &mut file)
                .map(|path| format!("signed as {}: {path}", role.id()))
        }
        Added::TimeStamp(token) => add_time_stamp(pack, &limits, token, &mut file).map(|(path, at)| {
            format!("time stamp of {at}: {path}\nwho states it was not checked: verify does, with --tsa-cert")
        }),
    };
    let said = match said {
        Ok(said) => said,
        Err(SignError::Io(source)) => {
            return Err(HostError::WriteOutput { path: target.clone(), source }.into());
        }
        Err(error) => return Err(CommandError::Usage(error.to_string())),
    };
    file.finish()?;
    let identity = report.identity.unwrap_or_default();
    output.print(&format!("{said}\nidentity  {identity}\n{}\n", target.display()))?;
    Ok(Exit::Done)
}

/// What is put into the pack.
enum Added {
    /// A signature made here with this key.
    Key(String, SignedAs),
    /// A signature made elsewhere.
    Signature(Vec<u8>, SignedAs),
    /// An authority's token.
    TimeStamp(Vec<u8>),
}

fn added(given: &Sign, read: impl Fn(&Path) -> Result<Vec<u8>, HostError>) -> Result<Added, CommandError> {
    match (&given.key, &given.attach, &given.time_stamp, given.role) {
        (Some(key), None, None, Some(role)) => {
            Ok(Added::Key(String::from_utf8_lossy(&read(key)?).into_owned(), role.into()))
        }
        (None, Some(made), None, Some(role)) => Ok(Added::Signature(read(made)?, role.into())),
        (None, None, Some(token), None) => Ok(Added::TimeStamp(read(token)?)),
        _ => Err(CommandError::Usage("give --key or --attach with --role, or --time-stamp".to_owned())),
    }
}
