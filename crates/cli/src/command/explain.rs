//! `explain CODE`: what a finding's code means and what to do.

use crate::arguments::Explain;
use crate::exit::{CommandError, CommandResult, Exit};
use crate::plugins::plugins;
use crate::render::text::{STRONG, fold, styled};
use record::CodeDoc;
use std::io::Write;

/// Every code that the program can raise, in alphabetical order.
fn all() -> Vec<&'static CodeDoc> {
    let mut all = plugins().every_code();
    all.sort_by_key(|doc| doc.code);
    all.dedup_by_key(|doc| doc.code);
    all
}

pub(crate) fn run(given: &Explain) -> CommandResult {
    let all = all();
    let mut stdout = anstream::stdout().lock();
    if given.list {
        let list: String = all.iter().map(|doc| format!("{}\n", doc.code)).collect();
        stdout.write_all(list.as_bytes())?;
        return Ok(Exit::Done);
    }
    let code = given.code.as_deref().unwrap_or_default();
    let code = code.trim_matches(|c| "[]`".contains(c));
    let Some(doc) = all.iter().find(|doc| doc.code == code) else {
        let names: Vec<&str> = all.iter().map(|doc| doc.code).collect();
        let near = plugin_api::wire::v1::nearest(code, &names)
            .map(|near| format!("; did you mean `{near}`?"))
            .unwrap_or_default();
        return Err(CommandError::Usage(format!("no finding has the code `{code}`{near}")));
    };
    let mut out = format!("{}\n\n{}\n", styled(STRONG, doc.code), fold(doc.means, 96, ""));
    for (head, text) in
        [("Why it matters", doc.matters), ("For example", doc.example), ("What to do", doc.remedy)]
    {
        out += &format!("\n{}\n{}\n", styled(STRONG, head), fold(text, 96, ""));
    }
    stdout.write_all(out.as_bytes())?;
    Ok(Exit::Done)
}
