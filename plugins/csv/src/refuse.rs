//! What is said about a file as a whole before its rows are read.

use crate::codes;
use crate::encoding::{How, NotText, Survey};
use plugin_api::Intake;
use record::{Finding, Place};
use std::io;

pub(crate) fn at(file: &str, row: u64) -> Place {
    Place { file: file.to_owned(), row: Some(row), column: None, label: None }
}

pub(crate) fn unreadable(file: &str, e: &io::Error) -> Finding {
    let place = Place { file: file.to_owned(), ..Place::default() };
    if e.kind() == io::ErrorKind::InvalidData {
        return Finding::error(codes::UNDECODABLE, "the file changed while it was read")
            .at(place)
            .help("read it again");
    }
    Finding::error(codes::UNREADABLE, format!("the file can't be read: {e}"))
        .at(place)
        .help("check the disk or the share it is on")
}

pub(crate) fn not_text(file: &str, why: NotText) -> Finding {
    match why {
        NotText::Empty => {
            Finding::error(codes::EMPTY, "the file is empty").at(at(file, 1)).help("export the log again")
        }
        NotText::Unmarked { likely } => Finding::error(
            codes::UTF16_WITHOUT_MARK,
            format!("every second byte is zero: it looks like {likely} without the mark that says so"),
        )
        .at(at(file, 1))
        .help(format!("set `encoding = \"{likely}\"` for this log")),
        NotText::Undecodable { row, encoding } => Finding::error(
            codes::UNDECODABLE,
            format!("row {row} holds bytes that are no text in {encoding}"),
        )
        .at(at(file, row))
        .help("set `encoding` for this log to the one its program writes"),
        NotText::Nul { row } => {
            Finding::error(codes::NOT_TEXT, format!("not a text file: row {row} holds a NUL character"))
                .at(at(file, row))
                .help("export the log as text (CSV); if it is text in another encoding, set `encoding`")
        }
        NotText::Io(e) => Finding::error(codes::UNREADABLE, format!("the file can't be read: {e}"))
            .at(at(file, 1))
            .help("check the disk or the share it is on"),
    }
}

pub(crate) fn say_encoding(file: &str, survey: &Survey, intake: &mut Intake) {
    let how = match survey.how {
        How::Mark => "by its mark",
        How::Declared => "declared",
        How::Valid => "valid throughout",
        How::Assumed { .. } => "assumed",
    };
    intake.understood(format!("encoding: {} ({how})", survey.encoding.name()));
    intake.understood(format!("line ends: {}", survey.text.line_ends()));
    if let How::Assumed { row } = survey.how {
        intake.say(
            Finding::warning(
                codes::ENCODING_ASSUMED,
                format!("encoding problem: not valid UTF-8 from row {row} on; read as {}", survey.encoding.name()),
            )
            .at(at(file, row))
            .help("look at the special characters; set `encoding` for this log if they are wrong, or to confirm it"),
        );
    }
    if survey.text.padded() {
        intake.understood("padding after the last row (NUL or 0x1A) left out".to_owned());
    }
}
