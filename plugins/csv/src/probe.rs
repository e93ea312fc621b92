//! Whether a file looks like a discharge log, from its first bytes and its name.

use crate::header_words;
use encoding_rs::{Encoding, WINDOWS_1252};
use plugin_api::Probe;

/// Looks at the first bytes.
pub(crate) fn probe(head: &[u8], file_name: &str) -> Probe {
    let head = head.get(..head.len().min(16 * 1024)).unwrap_or_default();
    let text = match Encoding::for_bom(head) {
        Some((encoding, mark)) => {
            encoding.decode_without_bom_handling(head.get(mark..).unwrap_or_default()).0
        }
        None => WINDOWS_1252.decode_without_bom_handling(head).0,
    };
    if text.contains('\0') {
        return Probe::No;
    }
    // The table of a paper sheet's rows says what it is.
    let first = text.trim_start_matches('\u{feff}');
    if ["sheet,row,", "sheet;row;", "sheet\trow\t"].iter().any(|start| first.starts_with(start)) {
        return Probe::No;
    }
    let lines = || text.split(['\n', '\r']).filter(|line| !line.trim().is_empty());
    for line in lines().take(100) {
        for delimiter in [',', ';', '\t', '|'] {
            let cells = line.split(delimiter).map(|cell| cell.trim().trim_matches('"'));
            if header_words::score(cells).1 {
                return Probe::Yes;
            }
        }
    }
    let name = file_name.to_ascii_lowercase();
    let named = [".csv", ".tsv", ".tab", ".txt", ".log"].iter().any(|ending| name.ends_with(ending));
    let delimited = lines().take(100).any(|line| line.contains([',', ';', '\t', '|']));
    if named && delimited { Probe::Maybe } else { Probe::No }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_of_a_discharge_log_is_a_yes() {
        assert_eq!(probe(b"Lab;X\n\nPoint;kV;Pol;n\nTP1;8;+;10\n", "a.dat"), Probe::Yes);
        assert_eq!(probe("Stelle\tSpannung/kV\r\n".as_bytes(), "a.txt"), Probe::Yes);
        assert_eq!(probe(b"\xff\xfeP\0o\0i\0n\0t\0,\0k\0V\0\n\0", "a.csv"), Probe::Yes);
    }

    #[test]
    fn a_waveform_and_a_picture_are_none() {
        assert_eq!(probe(b"Time [s];Current [A]\n0;1\n", "a.csv"), Probe::Maybe);
        assert_eq!(probe(b"\x89PNG\r\n\x1a\n\0\0", "a.csv"), Probe::No);
        assert_eq!(probe(b"{\"schema\": 1, \"a\": 2}", "a.json"), Probe::No);
    }
}
