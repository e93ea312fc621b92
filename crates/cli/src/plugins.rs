//! The plug-ins that the program is built with: one line each.

use host::Plugins;

/// The list. Its order is the order of `formats` and, within a stage, of writing.
pub(crate) fn plugins() -> Plugins {
    Plugins {
        readers: vec![
            Box::new(plugin_csv::CsvLogs),
            Box::new(plugin_csv::Workbooks),
            Box::new(plugin_csv::JsonLogs),
            Box::new(plugin_trace::TraceReader),
            Box::new(plugin_dcc::DccReader),
            Box::new(plugin_json::Json),
            Box::new(plugin_form::FormReader),
            Box::new(plugin_form::SheetRowsReader),
            Box::new(plugin_pack::PackReader),
        ],
        writers: vec![
            Box::new(plugin_json::Json),
            Box::new(plugin_xml::Xml),
            Box::new(plugin_results::Results),
            Box::new(plugin_html::HtmlWriter::default()),
            Box::new(plugin_pdf::PdfWriter::default()),
            Box::new(plugin_form::FormWriter),
            Box::new(plugin_form::SheetRowsWriter),
            #[cfg(feature = "sheet")]
            Box::new(plugin_sheet::SheetWriter),
            Box::new(plugin_pack::PackWriter),
        ],
    }
}
