//! Layouts of records, each in a few rows, and what is asked or refused.
#![allow(clippy::unwrap_used)]

use plugin_api::{Intake, Options, Probe, ReadContext, Reader, SeriesDefaults, Source, Taken};
use plugin_trace::{CODES, TraceReader};
use proptest::prelude::*;
use record::{AmperesPerVolt, Facts, SourceId, TimeBase};
use serde_json::{Map, Value};

fn settings(text: &str) -> Map<String, Value> {
    let pairs = text.split_whitespace().map(|pair| pair.split_once('=').unwrap());
    pairs.map(|(key, value)| (key.to_owned(), Value::String(value.to_owned()))).collect()
}

fn read(bytes: &[u8], said: &str) -> Taken {
    read_in(bytes, said, &SeriesDefaults::default())
}

fn read_in(bytes: &[u8], said: &str, defaults: &SeriesDefaults) -> Taken {
    let open = || -> std::io::Result<Box<dyn std::io::BufRead + '_>> { Ok(Box::new(bytes)) };
    let source = Source::new(SourceId(0), "a.csv", bytes.len() as u64, &open);
    let options = Options { value: settings(said), ..Options::default() };
    let cx = ReadContext { options: &options, defaults, facts: &Facts::default() };
    let mut intake = Intake::new(SourceId(0));
    let done = TraceReader.read(&source, &mut intake, &cx);
    let taken = intake.finish();
    assert_eq!(done.is_err(), taken.traces.is_empty(), "refused, or a trace");
    for finding in &taken.findings {
        assert!(CODES.iter().any(|doc| doc.code == finding.code), "{} is not in the list", finding.code);
        assert!(finding.place.is_some(), "{finding:?}");
    }
    taken
}

/// Times in nanoseconds and currents in amperes of the only trace.
#[track_caller]
fn gives(text: &str, said: &str, times: &[f64], currents: &[f64]) {
    let taken = read(text.as_bytes(), said);
    assert_eq!(taken.traces.len(), 1, "{:#?}", taken.findings);
    let trace = &taken.traces[0];
    let found: Vec<f64> = match &trace.time {
        TimeBase::Uniform { start_ns, step_ns } => {
            (0..trace.current_a.len()).map(|k| start_ns + k as f64 * step_ns).collect()
        }
        TimeBase::Listed(times) => times.clone(),
    };
    let near =
        |a: &[f64], b: &[f64]| a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9);
    assert!(near(&found, times), "{found:?}");
    assert!(near(&trace.current_a, currents), "{:?}", trace.current_a);
    assert!(taken.account.unwrap().balances());
}

/// The place and code of the refusal, and a word of its message or help.
#[track_caller]
fn refuses(text: &str, said: &str, place: &str, code: &str, word: &str) {
    let taken = read(text.as_bytes(), said);
    assert!(taken.traces.is_empty());
    let finding = taken.findings.last().unwrap();
    let all = format!("{} {}", finding.message, finding.help.join(" "));
    assert_eq!(
        (finding.code.as_str(), finding.place.as_ref().unwrap().to_string().as_str()),
        (code, place),
        "{all}"
    );
    assert!(all.contains(word), "{all}");
}

const T: &[f64] = &[0.0, 0.5, 1.0];
const I: &[f64] = &[0.25, 1.5, -2.0];

#[test]
fn delimiters_and_decimal_signs() {
    gives("t [ns],i [A]\n0,0.25\n0.5,1.5\n1,-2\n", "", T, I);
    gives("t [ns];i [A]\r\n0;0,25\r\n0,5;1,5\r\n1;-2\r\n", "", T, I);
    gives("t [ns]\ti [A]\n0\t0,25\n0,5\t1,5\n1\t-2\n", "", T, I);
    gives("\"t [ns]\",\"i [A]\"\n\"0\",\"0,25\"\n\"0,5\",\"1,5\"\n\"1\",\"-2\"\n", "", T, I);
    gives("t_ns i_A\n0.0  0.25\n 0.5 1.5\n1.0 -2\n", "", T, I);
    gives("\u{feff}t [ns],i [A]\n0,0.25\n0.5,1.5\n1,-2", "", T, I);
    gives("t [ns],i [A],\n0,0.25,\n0.5,1.5,\n1,-2,\n", "", T, I);
}

#[test]
fn units_of_time_and_current() {
    gives("time_s,current_A\n0,0.25\n5e-10,1.5\n1e-9,-2\n", "", T, I);
    gives("Time,I\nps,mA\n0,250\n500,1500\n1000,-2000\n", "", T, I);
    let micro = b"t [\xb5s];i [A]\n0;0,25\n0,0005;1,5\n0,001;-2\n";
    assert_eq!(read(micro, "").traces[0].current_a, I, "a micro sign of Windows-1252");
    gives("t [ms],i [A]\n0,0.25\n5e-7,1.5\n1e-6,-2\n", "", T, I);
}

#[test]
fn volts_need_a_stated_conversion() {
    let text = "t [ns],u [V]\n0,0.025\n0.5,0.15\n1,-0.2\n";
    gives(text, "scale_a_per_v=10", T, I);
    refuses(text, "", "a.csv:1:2", "trace/scale-not-stated", "--scale-a-per-v");
    let taken = read(b"t [ns],i [A]\n0,0.25\n0.5,1.5\n1,-2\n", "scale_a_per_v=10");
    assert_eq!(taken.findings[0].code, "trace/scale-not-used");
    assert_eq!(taken.traces[0].current_a, I);
}

#[test]
fn volts_are_converted_by_the_measuring_chain_where_no_setting_says_how() {
    let chain = AmperesPerVolt::parse("4.9504950495049504950").ok();
    let defaults = SeriesDefaults { chain_a_per_v: chain, ..SeriesDefaults::default() };
    let volts = b"t [ns],u [mV]\n0,500\n0.5,-1000\n";
    let taken = read_in(volts, "", &defaults);
    // 0.5 x 4.950495... = 2.475247..., the double nearest to the decimal.
    assert_eq!(taken.traces[0].current_a, [0.5 * 4.950_495_049_504_950_5, -4.950_495_049_504_950_5]);
    assert_eq!(taken.traces[0].a_per_v, chain);
    assert!(taken.understood.iter().any(|line| line.contains("measuring chain: 4.95")));
    let taken = read_in(volts, "scale_a_per_v=10", &defaults);
    assert_eq!(taken.traces[0].current_a, [5.0, -10.0]);
    let taken = read_in(b"t [ns],i [A]\n0,0.5\n0.5,-1\n", "", &defaults);
    assert_eq!((&taken.traces[0].current_a[..], taken.traces[0].a_per_v), (&[0.5, -1.0][..], None));
    assert_eq!(taken.findings, []);
}

#[test]
fn records_without_a_time_column() {
    gives("# dt=5e-10 s\n# t0=0 s\n# unit=A\n0.25\n1.5\n-2\n", "", T, I);
    gives("Sample Rate,2,GSa/s\nVertical Units,A\n0.25\n1.5\n-2\n", "", T, I);
    gives("i [A]\n0.25\n1.5\n-2\n", "sample_interval_ns=0.5", T, I);
    gives("sample,i [A]\n0,0.25\n1,1.5\n2,-2\n", "sample_interval_ns=0.5", T, I);
    refuses("i [A]\n0.25\n1.5\n-2\n", "", "a.csv:1", "trace/no-time", "sample_interval_ns");
    refuses("# dt=5e-10\n# unit=A\n0.25\n1.5\n", "", "a.csv:1", "trace/unit-not-stated", "time_unit");
}

#[test]
fn a_stated_interval_stands_in_for_a_rounded_time_column() {
    let text = "time_s,current_A\n0.0e-9,0.25\n0.0e-9,1.5\n1.0e-9,-2\n";
    gives(text, "sample_interval_ns=0.5", T, I);
    gives(text, "sample_interval_ns=0.5 start_ns=3", &[3.0, 3.5, 4.0], I);
}

#[test]
fn codes_are_converted_by_the_factors_of_the_preamble() {
    let text = "YMULT,0.25\nYZERO,0.5\nYOFF,2\nYUNIT,A\nXINCR,0.5\nXZERO,0\nXUNIT,ns\nDATA\n1\n6\n-8\n";
    gives(text, "", T, I);
    assert_eq!(read(text.as_bytes(), "").traces[0].step_a, Some(0.25));
    let scaled = text.replace("\n1\n6\n-8\n", "\n0.25\n1.5\n-2\n");
    refuses(&scaled, "", "a.csv:8:1", "trace/two-readings", "codes or scaled");
    gives(&scaled, "values=scaled", T, I);
}

#[test]
fn a_preamble_states_units_and_is_held_against_the_table() {
    let text = "Record Length,3\nSample Interval,5e-10,s\nVertical Units,A\nHorizontal Units,s\n\n0,0.25\n5e-10,1.5\n1e-9,-2\n";
    gives(text, "", T, I);
    assert_eq!(read(text.as_bytes(), "").findings, []);
    let codes = |text: &str| -> Vec<String> {
        read(text.as_bytes(), "").findings.iter().map(|finding| finding.code.clone()).collect()
    };
    assert_eq!(codes(&text.replace("Length,3", "Length,4")), ["trace/other-length"]);
    assert_eq!(codes(&text.replace("Interval,5e-10", "Interval,1e-10")), ["trace/other-interval"]);
    refuses(
        &text.replace("Units,A", "Units,dBm"),
        "",
        "a.csv:3 (Vertical Units)",
        "trace/unknown-unit",
        "dBm",
    );
    let both = text.replace("\n\n", "\nt [ns],i [A]\n");
    refuses(&both, "", "a.csv:5:1", "trace/contradiction", "different units");
}

#[test]
fn several_channels_are_asked_for() {
    let text = "Time,CH1,CH2\ns,V,V\n0,0.025,9\n5e-10,0.15,9\n1e-9,-0.2,9\n";
    refuses(text, "scale_a_per_v=10", "a.csv:1:2", "trace/two-readings", "`CH1`, `CH2`");
    gives(text, "scale_a_per_v=10 channel=CH1", T, I);
    gives(text, "scale_a_per_v=10 channel=2", T, I);
    refuses(text, "scale_a_per_v=10 channel=CH3", "a.csv:1", "trace/no-such-column", "`CH2`");
    gives("t [ns],trigger [V],i [A]\n0,9,0.25\n0.5,9,1.5\n1,9,-2\n", "", T, I);
    refuses("t [ns],u_s,i [A]\n0,0,0\n1,1,1\n", "", "a.csv:1:1", "trace/two-readings", "time_column");
}

#[test]
fn units_that_nobody_states_are_asked_for() {
    let text = "0,0.25\n0.5,1.5\n1,-2\n";
    let taken = read(text.as_bytes(), "");
    let asked: Vec<&str> = taken.findings.iter().flat_map(|f| &f.help).map(String::as_str).collect();
    assert!(asked[0].contains("--set time_unit=ns") && asked[1].contains("--set value_unit=A"), "{asked:?}");
    let places: Vec<String> = taken.findings.iter().map(|f| f.place.as_ref().unwrap().to_string()).collect();
    assert_eq!(places, ["a.csv:1:1", "a.csv:1:2"]);
    gives(text, "time_unit=ns value_unit=A", T, I);
    let taken = read(b"time_s,current_A\n0,1\n1,2\n", "time_unit=ns");
    assert_eq!(taken.findings[0].code, "trace/setting-over-file");
}

#[test]
fn two_readings_of_a_number_are_asked_for() {
    // Two cells or one; three digits behind every mark.
    refuses("# unit=A\n0,12\n1,13\n", "sample_interval_ns=1", "a.csv:2", "trace/two-readings", "delimiter");
    refuses("t [ns];i [A]\n1;1,234\n2;2,345\n", "", "a.csv", "trace/two-readings", "thousands");
    gives("t [ns];i [A]\n1;1,234\n2;2,345\n", "decimal=comma", &[1.0, 2.0], &[1.234, 2.345]);
    gives("t [ns];i [A]\n1;1,234\n2;0,345\n", "", &[1.0, 2.0], &[1.234, 0.345]);
}

#[test]
fn bad_rows_stop_the_reading_with_their_place() {
    let row = |bad: &str| format!("t [ns],i [A]\n0,0.25\n0.5,1.5\n{bad}\n1,-2\n2,0\n3,0\n");
    refuses(&row("0.7,1.5x"), "", "a.csv:4:2", "trace/bad-number", "`1.5x`");
    refuses(&row("0.7"), "", "a.csv:4", "trace/bad-row", "1 cells");
    refuses(&row("0.7,1,5"), "", "a.csv:4", "trace/bad-row", "3 cells");
    refuses(&row("stopped here"), "", "a.csv:4", "trace/bad-row", "stopped here");
    refuses("t [ns];i [A]\n0;0,25\n1;1.5\n2;0,5\n3;0,5\n", "", "a.csv:3:2", "trace/bad-number", "`1.5`");
    refuses("t [ns],i [A]\n", "", "a.csv", "trace/no-table", "");
    refuses("", "", "a.csv", "trace/no-table", "");
    refuses(";0\nE;", "time_unit=ns value_unit=A", "a.csv", "trace/no-table", "");
}

#[test]
fn samples_without_a_number_are_kept_as_unknown() {
    let taken = read(b"t [ns],i [A]\n0,0.25\n0.5,NaN\n1,OVER\n1.5,\n", "");
    let trace = &taken.traces[0];
    assert!(trace.over_range && trace.current_a[1..].iter().all(|current| current.is_nan()));
    let said: Vec<String> =
        taken.findings.iter().map(|f| format!("{} {}", f.code, f.place.as_ref().unwrap())).collect();
    assert_eq!(said, ["trace/no-number a.csv:3:2 (i [A])", "trace/over-range a.csv:4:2 (i [A])"]);
}

#[test]
fn lines_behind_the_table_are_mentioned() {
    let taken = read(b"t [ns],i [A]\n0,0.25\n0.5,1.5\nend of data\n", "");
    assert_eq!(taken.findings[0].code, "trace/lines-behind-the-table");
    assert_eq!(taken.traces[0].current_a.len(), 2);
    assert_eq!(taken.account.unwrap().footer, 1);
}

#[test]
fn segments_are_told_apart() {
    let text = "t [ns],i [A]\n0,1\n1,2\n\n0,3\n1,4\nt [ns],i [A]\n0,5\n1,6\nSegment 4\n0,7\n1,8\n";
    let taken = read(text.as_bytes(), "");
    let found: Vec<(u32, u64, f64)> =
        taken.traces.iter().map(|t| (t.segment, t.origin.rows.unwrap().first, t.current_a[0])).collect();
    assert_eq!(found, [(1, 2, 1.0), (2, 5, 3.0), (3, 8, 5.0), (4, 11, 7.0)]);
    assert!(taken.account.unwrap().balances());
}

#[test]
fn what_is_no_text_is_refused() {
    for (bytes, word) in [
        (b"\x1f\x8b\x08\x00rest".as_slice(), "compressed"),
        (b"\xff\xfet\0,\0".as_slice(), "UTF-16"),
        (b"t,i\n0,\x001\n".as_slice(), "zero bytes"),
        (&[b'1'; 70_000], "64 KiB"),
    ] {
        let taken = read(bytes, "");
        assert_eq!(taken.findings[0].code, "trace/not-text");
        assert!(taken.findings[0].message.contains(word));
    }
}

#[test]
fn a_packed_record_reads_like_the_text_in_it() {
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write;
    let text = "t [ns],i [A]\n0,0.25\n0.5,1.5\n1,-2\n";
    let pack = |text: &str| {
        let mut packer = GzEncoder::new(Vec::new(), Compression::default());
        packer.write_all(text.as_bytes()).unwrap();
        packer.finish().unwrap()
    };
    let packed = pack(text);
    assert_eq!(read(&packed, "").traces, read(text.as_bytes(), "").traces);
    assert_eq!(TraceReader.probe(&packed, "a.csv.gz"), TraceReader.probe(text.as_bytes(), "a.csv"));
    // Two members in one file (RFC 1952, section 2.2) are one text.
    let (head, tail) = text.split_at(20);
    let both = [pack(head), pack(tail)].concat();
    assert_eq!(read(&both, "").traces, read(text.as_bytes(), "").traces);
    // A row that can't be read is named by its place in the text.
    refuses_bytes(&pack(&text.replace("1.5", "x")), "trace/bad-number", Some(3));
    for end in [packed.len() / 2, packed.len() - 3] {
        refuses_bytes(&packed[..end], "trace/not-text", None);
    }
    let mut bomb = GzEncoder::new(Vec::new(), Compression::best());
    bomb.write_all(text.as_bytes()).unwrap();
    for _ in 0..20 {
        bomb.write_all(&b"1,1\n".repeat(1 << 18)).unwrap();
    }
    refuses_bytes(&bomb.finish().unwrap(), "trace/not-text", None);
}

#[track_caller]
fn refuses_bytes(bytes: &[u8], code: &str, row: Option<u64>) {
    let taken = read(bytes, "");
    let finding = taken.findings.last().unwrap();
    assert!(taken.traces.is_empty());
    assert_eq!(finding.code, code, "{}", finding.message);
    if row.is_some() {
        assert_eq!(finding.place.as_ref().unwrap().row, row);
    }
}

#[test]
fn settings_are_checked() {
    let text = "t [ns],i [A]\n0,0.25\n0.5,1.5\n";
    for (said, code) in [
        ("scale=10", "trace/unknown-setting"),
        ("scale_a_per_v=0", "trace/bad-setting"),
        ("scale_a_per_v=1,5", "trace/bad-setting"),
        ("sample_interval_ns=-1", "trace/bad-setting"),
        ("time_unit=A", "trace/bad-setting"),
        ("delimiter=pipe", "trace/bad-setting"),
        ("values=raw", "trace/bad-setting"),
    ] {
        let taken = read(text.as_bytes(), said);
        assert_eq!(taken.findings[0].code, code, "{said}");
        assert!(!taken.findings[0].help.is_empty(), "{said}");
    }
}

#[test]
fn the_first_bytes_tell_a_record_from_other_tables() {
    let probe = |text: &str| TraceReader.probe(text.as_bytes(), "a.csv");
    assert_eq!(probe("time_s,current_A\n0,0.25\n5e-10,1.5\n1e-9,-2\n"), Probe::Yes);
    assert_eq!(probe("Time,CH1\ns,V\n0,0.25\n5e-10,1.5\n1e-9,-2\n"), Probe::Yes);
    assert_eq!(probe("point,mode,kV,count\nP1,contact,4,10\nP1,contact,-4,10\n"), Probe::No);
    assert_eq!(probe("t [s];U [kV];count\n0;4;10\n10;4;10\n20;4;10\n"), Probe::No);
    assert_eq!(probe(""), Probe::No);
    assert_eq!(probe("{\"schema\": 1}"), Probe::No);
    assert_eq!(probe("PK\u{3}\u{4}"), Probe::No);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever the bytes are, there is a trace or a finding, and no panic.
    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = TraceReader.probe(&bytes, "a.csv");
        let taken = read(&bytes, "");
        prop_assert!(!taken.traces.is_empty() || !taken.findings.is_empty());
    }

    /// The same for bytes that occur in records.
    #[test]
    fn no_text_like_a_record_makes_it_panic(text in "[0-9.,;eE+\\-\t \"\nANsa#=\\[\\]]{0,400}") {
        let taken = read(text.as_bytes(), "time_unit=ns value_unit=A");
        for trace in &taken.traces {
            let _ = assess::waveform::figures(trace, &Default::default());
        }
        prop_assert!(!taken.traces.is_empty() || !taken.findings.is_empty());
    }
}
