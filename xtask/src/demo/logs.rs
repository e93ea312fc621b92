//! Three discharge logs in three layouts.

use super::noise::Noise;

/// Dates of the two test days: of the first job, and of the settled one a week later.
fn days(settled: bool) -> [&'static str; 2] {
    if settled { ["2026-03-19", "2026-03-20"] } else { ["2026-03-12", "2026-03-13"] }
}

/// Metal parts: UTF-8, comma, a row for each set of ten.
pub(super) fn contact(settled: bool) -> Vec<u8> {
    let [day, _] = days(settled);
    let mut text = String::from("Point,Level [kV],Pol,Mode,n,Interval [s],Seen,State,Time,Op\n");
    let mut minute = 9 * 60 + 10;
    let mut row = |text: &mut String, point: &str, kv: u32, polarity: char, seen: &str, state: &str| {
        *text += &format!(
            "{point},{kv},{polarity},contact,10,1,{seen},{state},{day} {:02}:{:02},I. Marsh\n",
            minute / 60,
            minute % 60
        );
        minute += 4;
    };
    let state = if settled { "M1" } else { "AR" };
    for point in ["SCREW", "USB", "M12"] {
        for kv in [4, 6, 8] {
            for polarity in ['+', '-'] {
                let seen = match (point, kv, polarity, settled) {
                    ("USB", 6, '+', false) => "service connection dropped and came back",
                    ("USB", 8, '-', false) => "service connection lost",
                    _ => "ok",
                };
                row(&mut text, point, kv, polarity, seen, state);
            }
        }
    }
    if !settled {
        for kv in [4, 6, 8] {
            for polarity in ['+', '-'] {
                row(&mut text, "USB", kv, polarity, "ok", "M1");
            }
        }
    }
    text.into_bytes()
}

/// The air log, and the row at which something was seen.
pub(super) struct AirLog {
    pub(super) bytes: Vec<u8>,
    pub(super) seen_row: usize,
}

/// Insulating parts: Windows-1252, semicolon, decimal comma, a preamble, a row for each approach.
pub(super) fn air(settled: bool) -> AirLog {
    let [_, day] = days(settled);
    let (year, month, date) = (&day[0..4], &day[5..7], &day[8..10]);
    let mut noise = Noise::new(if settled { 8 } else { 7 });
    let mut text = format!(
        "Entladungsgenerator G-1;Nr. 30417\r\nPr\u{fc}fer;I. Marsh\r\nDatum;{date}.{month}.{year}\r\n\r\nNr.;Punkt;U [kV];Funke;Beobachtung;Zeitpunkt\r\n"
    );
    let mut second = 9 * 3600 + 5 * 60;
    let mut number = 0;
    let mut seen_row = 0;
    for point in ["KEYS", "WINDOW", "GLAND"] {
        for kv in ["2,0", "4,0", "8,0", "15,0"] {
            for sign in ['+', '-'] {
                for shot in 1..=10 {
                    number += 1;
                    let likely = match kv {
                        "2,0" => 0.1,
                        "4,0" => 0.35,
                        "8,0" => 0.8,
                        _ => 1.0,
                    };
                    let spark = noise.even() < likely;
                    let flicker = point == "WINDOW" && kv == "8,0" && sign == '+' && shot == 4;
                    if flicker {
                        seen_row = 5 + number;
                    }
                    let seen = if flicker { "Anzeige dunkel, kehrte zur\u{fc}ck" } else { "-" };
                    text += &format!(
                        "{number};{point};{sign}{kv};{};{seen};{date}.{month}.{year} {:02}:{:02}:{:02}\r\n",
                        if spark || flicker { "ja" } else { "nein" },
                        second / 3600,
                        second / 60 % 60,
                        second % 60
                    );
                    second += 6;
                }
                second += 60;
            }
        }
    }
    // Every character of the text is one of Latin-1, which Windows-1252 shares above 0xA0.
    let bytes = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?')).collect();
    AirLog { bytes, seen_row }
}

/// Coupling planes: tab, volts, words for the polarity, remarks in front.
pub(super) fn planes(settled: bool) -> Vec<u8> {
    let [day, _] = days(settled);
    let mut text = String::from(
        "# planes, set by set\n# bleeders measured in the morning, see job\nplace\tplane\tvolts\tpolarity\tshots\tresult\twhen\n",
    );
    let mut minute = 12 * 60 + 40;
    for (place, plane) in
        [("HCP", "hcp"), ("VCP-F", "vcp"), ("VCP-R", "vcp"), ("VCP-B", "vcp"), ("VCP-L", "vcp")]
    {
        for volts in [4000, 6000, 8000] {
            for polarity in ["pos", "neg"] {
                text += &format!(
                    "{place}\t{plane}\t{volts}\t{polarity}\t10\tnothing\t{day}T{:02}:{:02}\n",
                    minute / 60,
                    minute % 60
                );
                minute += 2;
            }
        }
    }
    text.into_bytes()
}
