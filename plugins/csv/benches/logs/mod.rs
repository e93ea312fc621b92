//! Logs of any length for the benches: one with a row for each shot, one with a row for each set.

use std::fmt::Write;

/// A row for each shot: ten equal ones at a time, each with its time.
pub(crate) fn per_shot(rows: u64) -> String {
    let mut text = String::from("Point,Application,U [kV],Pol,Shot,Time,Result\n");
    for row in 0..rows {
        let (set, shot) = (row / 10, row % 10 + 1);
        let (point, kv) = (set % 8 + 1, [2, 4, 6, 8][set as usize % 4]);
        let (application, sign) =
            (["contact", "air"][set as usize / 4 % 2], ["+", "-"][set as usize / 2 % 2]);
        let (day, hour) = (row / 86_400 + 12, row / 3600 % 24);
        let (minute, second) = (row / 60 % 60, row % 60);
        writeln!(
            text,
            "P{point},{application},{kv},{sign},{shot},2026-03-{day:02}T{hour:02}:{minute:02}:{second:02}+01:00,ok"
        )
        .unwrap();
    }
    text
}

/// A row for each set of ten.
pub(crate) fn per_set(rows: u64) -> String {
    let mut text = String::from("Point;Application;U [kV];Pol;n;Date;Result\n");
    for row in 0..rows {
        let (point, kv) = (row % 8 + 1, ["2,5", "4", "6,0", "8"][row as usize % 4]);
        let (application, sign) =
            (["contact", "air"][row as usize / 4 % 2], ["+", "-"][row as usize / 2 % 2]);
        let (day, hour) = (row / 86_400 + 12, row / 3600 % 24);
        let (minute, second) = (row / 60 % 60, row % 60);
        writeln!(
            text,
            "P{point};{application};{kv};{sign};10;{day:02}.03.2026 {hour:02}:{minute:02}:{second:02};ok"
        )
        .unwrap();
    }
    text
}
