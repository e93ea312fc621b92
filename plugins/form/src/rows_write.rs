//! The rows of a paper sheet as a table to be typed into: what is planned stands there, what was done is copied in.

use crate::codes;
use crate::rows_table::{COLUMNS, neutral};
use assess::tip_to_fit;
use plugin_api::{Artifact, Reported, WriteContext, WriteInput, Writer, sheet_code};
use record::{CodeDoc, Finding};

/// Name of the format.
pub(crate) const NAME: &str = "sheet-rows";

/// Makes the table.
#[derive(Clone, Copy, Debug, Default)]
pub struct SheetRowsWriter;

impl Writer for SheetRowsWriter {
    fn name(&self) -> &'static str {
        NAME
    }

    fn about(&self) -> &'static str {
        "a table (CSV) with the rows of the paper sheet, into which the filled sheet is typed; read as one of the `forms`"
    }

    fn codes(&self) -> &'static [CodeDoc] {
        &[]
    }

    fn write(&self, input: &WriteInput<'_>, cx: &mut WriteContext) -> Result<Vec<Artifact>, Reported> {
        let (facts, plan) = (&input.record.facts, &input.assessment.plan);
        if plan.is_empty() {
            return Err(cx.refuse(Finding::error(codes::NO_PLAN, "the job's plan requires no series")));
        }
        let code = sheet_code(facts, plan);
        let state = facts.plan.judged_state.as_ref().or(facts.states.first().map(|state| &state.id));
        let mut table = csv::Writer::from_writer(Vec::new());
        let mut wrote = table.write_record(COLUMNS);
        for (required, number) in plan.iter().zip(1u32..) {
            let tip = tip_to_fit(&facts.generator, input.standard, required.application);
            let planned = [
                code.clone(),
                number.to_string(),
                neutral(required.point.as_str()),
                required.application.to_string(),
                required.polarity.to_string(),
                required.voltage_kv.as_kv().to_string(),
                required.mode.as_ref().map(|mode| neutral(mode.as_str())).unwrap_or_default(),
                state.map(|state| neutral(state.as_str())).unwrap_or_default(),
                tip.to_string(),
                required.interval_s.as_s().to_string(),
                required.count.to_string(),
            ];
            let empty = std::iter::repeat_n(String::new(), COLUMNS.len().saturating_sub(planned.len()));
            wrote = wrote.and_then(|()| table.write_record(planned.into_iter().chain(empty)));
        }
        let text = wrote
            .map_err(|error| error.to_string())
            .and_then(|()| table.into_inner().map_err(|error| error.to_string()));
        match text {
            Ok(bytes) => {
                Ok(vec![Artifact::bytes(format!("{}.sheet-rows.csv", input.stem), "text/csv", NAME, bytes)])
            }
            Err(why) => {
                Err(cx.refuse(Finding::error(codes::NO_PLAN, format!("the table can't be written: {why}"))))
            }
        }
    }
}
