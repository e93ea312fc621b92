//! `sign PACK`: adds a signature to an evidence pack that is in order.

use super::verify::verified;
use crate::arguments::Sign;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::render::Output;
use host::{HostError, WholeFile};
use plugin_pack::{
    Depth, Limits, Request, SignError, SignedAs, add_signature, checked_signature, make_signature,
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
    let role: SignedAs = given.role.into();
    let (key, made) = match (&given.key, &given.attach) {
        (Some(key), None) => (Some(String::from_utf8_lossy(&read(key)?).into_owned()), None),
        (None, Some(made)) => (None, Some(read(made)?)),
        _ => return Err(CommandError::Usage("give either --key or --attach".to_owned())),
    };
    let pack = File::open(&given.pack)
        .map_err(|source| HostError::ReadInput { path: given.pack.clone(), source })?;
    let sign = |message: &[u8]| match (&key, &made) {
        (Some(key), _) => make_signature(key, message, role),
        (None, made) => checked_signature(made.as_deref().unwrap_or_default(), message, role),
    };
    let mut file = WholeFile::begin(target)?;
    let path = match add_signature(BufReader::new(pack), &Limits::default(), role, sign, &mut file) {
        Ok(path) => path,
        Err(SignError::Io(source)) => {
            return Err(HostError::WriteOutput { path: target.clone(), source }.into());
        }
        Err(error) => return Err(CommandError::Usage(error.to_string())),
    };
    file.finish()?;
    let identity = report.identity.unwrap_or_default();
    output.print(&format!(
        "signed as {}: {path}\nidentity  {identity}\n{}\n",
        role.id(),
        target.display()
    ))?;
    Ok(Exit::Done)
}
