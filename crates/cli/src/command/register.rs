//! The register of records: entering each, and `register find`.

use crate::exit::{CommandError, CommandResult};
use crate::render::Output;
use crate::unattended::RegisterFind;
use host::JobResult;
use std::path::Path;

#[cfg(feature = "register")]
pub(super) use with::Keeper;
#[cfg(not(feature = "register"))]
pub(super) use without::Keeper;

#[cfg(feature = "register")]
pub(crate) fn find(given: &RegisterFind, output: &Output) -> CommandResult {
    with::find(given, output)
}

#[cfg(not(feature = "register"))]
pub(crate) fn find(_: &RegisterFind, _: &Output) -> CommandResult {
    Err(without::missing())
}

#[cfg(feature = "register")]
mod with {
    use super::*;
    use crate::exit::Exit;
    use crate::render::text::{FAINT, STRONG, styled};
    use register::{Entry, Found, Query, Register};
    use serde_json::json;
    use std::sync::Mutex;

    /// A register that is written to, or none.
    pub(crate) struct Keeper(Option<Mutex<Register>>);

    impl Keeper {
        /// Opens it.
        pub(crate) fn open(path: Option<&Path>) -> Result<Self, CommandError> {
            Ok(Self(path.map(Register::open).transpose()?.map(Mutex::new)))
        }

        /// Enters a record; a job that was refused has none.
        pub(crate) fn keep(&self, result: &JobResult, program: &str) -> Result<(), CommandError> {
            let (Some(register), Some(record), Some(assessment)) =
                (&self.0, &result.record, &result.assessment)
            else {
                return Ok(());
            };
            let mut register = register.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            register.enter(&Entry {
                job: &result.name,
                input: &result.input.to_string_lossy(),
                program,
                entered_at: &host::now_text(),
                record,
                assessment,
                findings: &result.findings,
            })?;
            Ok(())
        }
    }

    pub(super) fn find(given: &RegisterFind, output: &Output) -> CommandResult {
        let given = given.clone();
        let found = Register::read(&given.file)?.find(&Query {
            item: given.item,
            serial: given.serial,
            standard: given.standard,
            verdict: given.verdict,
            equipment: given.equipment,
            from: given.from,
            to: given.to,
            reference: given.reference,
        })?;
        let mut text = String::new();
        for one in &found {
            text += &if given.json { format!("{}\n", object(one)) } else { line(one) };
        }
        if !given.json && !output.quiet {
            text += &format!("{} {}\n", found.len(), if found.len() == 1 { "record" } else { "records" });
        }
        output.print(&text)?;
        Ok(Exit::Done)
    }

    fn line(of: &Found) -> String {
        let day = of.work_ended.as_deref().or(of.work_started.as_deref()).unwrap_or("no day     ");
        let item = of.item.as_deref().unwrap_or("item not stated");
        let serial = of.item_serial.as_ref().map_or_else(String::new, |s| format!(" serial {s}"));
        let report = of.report_number.as_ref().map_or_else(String::new, |n| format!(", report {n}"));
        let standard = of.standard.as_ref().map_or_else(String::new, |s| format!(", {s}"));
        let level = of.level.as_ref().map_or_else(String::new, |l| format!(" level {l}"));
        format!(
            "{day}  {:<12} {item}{serial}{report}{standard}{level}, {} discharges\n  {}\n",
            styled(STRONG, &of.verdict),
            of.discharges,
            styled(FAINT, format!("{} ({})", of.input, &of.sha256.get(..12).unwrap_or_default()))
        )
    }

    fn object(of: &Found) -> serde_json::Value {
        json!({
            "sha256": of.sha256, "entered_at": of.entered_at, "job": of.job, "input": of.input,
            "report_number": of.report_number, "report_revision": of.report_revision,
            "work_started": of.work_started, "work_ended": of.work_ended,
            "item": of.item, "item_serial": of.item_serial, "standard": of.standard, "level": of.level,
            "verdict": of.verdict, "bench_data": of.bench_data, "reason": of.reason,
            "discharges": of.discharges,
        })
    }
}

#[cfg(not(feature = "register"))]
mod without {
    use super::*;

    /// No register: this program was built without.
    pub(crate) struct Keeper;

    pub(super) fn missing() -> CommandError {
        CommandError::Usage("this program was built without the register (feature `register`)".into())
    }

    impl Keeper {
        pub(crate) fn open(path: Option<&Path>) -> Result<Self, CommandError> {
            if path.is_some() { Err(missing()) } else { Ok(Self) }
        }

        pub(crate) fn keep(&self, _: &JobResult, _: &str) -> Result<(), CommandError> {
            Ok(())
        }
    }
}
