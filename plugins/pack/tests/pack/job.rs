//! The pack of a job, as the engine has it written.

use crate::samples::noise;
use plugin_api::{Artifact, Body, Opener, OriginalFiles, StreamBody, WriteContext, WriteInput, Writer};
use plugin_pack::{Limits, Outcome, PackWriter, verify_zip};
use record::{Record, SourceFile, SourceId, SourceRole};
use std::io::{self, Cursor, Read};
use std::path::Path;
use std::sync::Arc;

/// Originals in memory; `None` for one that is not at hand.
struct Files(Vec<Option<Vec<u8>>>);

impl OriginalFiles for Files {
    fn open(&self, id: SourceId) -> io::Result<Box<dyn Read + Send + '_>> {
        (self.opener(id)?)()
    }

    fn opener(&self, id: SourceId) -> io::Result<Opener> {
        let bytes = self.0[id.0 as usize].clone().ok_or(io::ErrorKind::NotFound)?;
        Ok(Box::new(move || Ok(Box::new(Cursor::new(bytes.clone())))))
    }
}

fn sha256(bytes: &[u8]) -> String {
    use sha2::Digest as _;
    sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

fn job(sources: &[(&str, &[u8])]) -> Arc<Record> {
    let mut draft = record::Draft::default();
    for (name, bytes) in sources {
        draft.sources.push(SourceFile {
            name: (*name).to_owned(),
            role: SourceRole::Log,
            bytes: bytes.len() as u64,
            sha256: sha256(bytes),
            part: None,
            read_by: None,
            understood_as: Vec::new(),
            account: None,
        });
    }
    draft.facts.report.number = Some("OPL-2026-017".to_owned());
    draft.facts.invented = Some("Invented data: no such item was tested.".to_owned());
    draft.facts.item.name = Some("lock-gate level sensor".to_owned());
    draft.facts.item.serial = Some("0017".to_owned());
    Arc::new(record::check(draft).unwrap())
}

fn write(
    record: &Arc<Record>,
    artifacts: &[Artifact],
    originals: &Files,
) -> (io::Result<Vec<u8>>, Vec<String>) {
    let assessment = assess::assess(record, None);
    let input = WriteInput {
        record,
        assessment: &assessment,
        changes: None,
        standard: None,
        standard_file: Some(("own-plan.toml", "id = \"own-plan\"\n")),
        stem: "LGL-FEN-1-0017",
        artifacts,
        originals,
        language: "en",
        template: "report",
        template_files: &[("plain/report.hbs".to_owned(), b"<p>{{number}}</p>".to_vec())],
        program: "fulgurite test",
    };
    let mut cx = WriteContext::default();
    let made = PackWriter.write(&input, &mut cx);
    let codes = cx.into_findings().into_iter().map(|finding| finding.code).collect();
    let Ok(made) = made else { return (Err(io::Error::other("refused")), codes) };
    let [artifact] = made.as_slice() else { panic!("one artifact") };
    assert_eq!(artifact.path, "LGL-FEN-1-0017.evidence.zip");
    let Body::Stream(body) = &artifact.body else { panic!("streamed") };
    let mut bytes = Vec::new();
    let done = body(&mut bytes).map(|()| bytes);
    (done, codes)
}

fn content(pack: &[u8], path: &str) -> Vec<u8> {
    let mut zip = zip::ZipArchive::new(Cursor::new(pack)).unwrap();
    let mut bytes = Vec::new();
    zip.by_name(&format!("OPL-2026-017-evidence/{path}")).unwrap().read_to_end(&mut bytes).unwrap();
    bytes
}

#[test]
fn a_job_is_packed_whole() {
    let log = b"point;kV\r\nhousing screw;4\r\n".to_vec();
    let picture = noise(5000);
    let record = job(&[("logs/shots 1.csv", &log), ("set-up.jpg", &picture)]);
    let streamed: StreamBody = Arc::new(|out| out.write_all(b"<summary xmlns='urn:fulgurite:summary:1'/>"));
    let artifacts = [
        Artifact::bytes("LGL-FEN-1-0017.pdf", "application/pdf", "pdf", b"%PDF-1.7 ...".to_vec()),
        Artifact::bytes("LGL-FEN-1-0017.json", "application/json", "json", b"{}".to_vec()),
        Artifact::bytes("own.xsd", "application/xml", "xml", b"<schema/>".to_vec()),
        Artifact {
            path: "LGL-FEN-1-0017.xml".into(),
            media_type: "application/xml",
            format: "xml",
            body: Body::Stream(streamed),
        },
    ];
    let (pack, codes) = write(&record, &artifacts, &Files(vec![Some(log.clone()), Some(picture.clone())]));
    let pack = pack.unwrap();
    assert!(codes.is_empty(), "{codes:?}");
    let report = verify_zip(Cursor::new(&pack), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
    assert_eq!(content(&pack, "data/sources/logs/shots 1.csv"), log);
    assert_eq!(content(&pack, "data/sources/set-up.jpg"), picture);
    assert_eq!(content(&pack, "data/papers/LGL-FEN-1-0017.pdf"), b"%PDF-1.7 ...");
    assert_eq!(
        content(&pack, "data/summary/LGL-FEN-1-0017.xml"),
        b"<summary xmlns='urn:fulgurite:summary:1'/>"
    );
    assert_eq!(content(&pack, "data/schemas/own.xsd"), b"<schema/>");
    // A summary comes with its schema.
    let schemas = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/schemas");
    for name in ["summary-1.xsd", "xml-namespace.xsd"] {
        assert_eq!(
            content(&pack, &format!("data/schemas/{name}")),
            std::fs::read(schemas.join(name)).unwrap()
        );
    }
    assert_eq!(content(&pack, "data/standards/own-plan.toml"), b"id = \"own-plan\"\n");
    assert_eq!(content(&pack, "data/templates/plain/report.hbs"), b"<p>{{number}}</p>");
    // The record in the pack reads back as the same record.
    let value: serde_json::Value = serde_json::from_slice(&content(&pack, "data/record.json")).unwrap();
    assert_eq!(value, plugin_api::wire::v1::record_to_value(&record));
    let assessment: serde_json::Value =
        serde_json::from_slice(&content(&pack, "data/assessment.json")).unwrap();
    assert_eq!(assessment, plugin_api::wire::v1::assessment_to_value(&assess::assess(&record, None)));
    // Invented data are marked wherever a person looks first.
    for path in ["READ-ME-FIRST.txt", "bag-info.txt"] {
        let text = String::from_utf8(content(&pack, path)).unwrap();
        assert!(text.contains("Invented data: no such item was tested."), "{text}");
    }
}

#[test]
fn an_original_that_is_not_at_hand_is_named_and_not_passed_over() {
    let record = job(&[("shots.csv", b"one"), ("trace.csv", b"two")]);
    let (pack, codes) = write(&record, &[], &Files(vec![Some(b"one".to_vec()), None]));
    assert_eq!(codes, ["pack/original-missing"]);
    let pack = pack.unwrap();
    let report = verify_zip(Cursor::new(&pack), &Limits::default());
    assert_eq!(report.outcome, Outcome::Intact, "{report}");
    assert!(
        report.to_string().contains("note: trace.csv: was not at hand when the pack was made"),
        "{report}"
    );
    let table: serde_json::Value = serde_json::from_slice(&content(&pack, "data/contents.json")).unwrap();
    assert_eq!(table["absent"][0]["original_name"], "trace.csv");
    assert_eq!(table["absent"][0]["sha256"], sha256(b"two"));
    let read_me = String::from_utf8(content(&pack, "READ-ME-FIRST.txt")).unwrap();
    assert!(read_me.contains("1 file(s) that belong to it were not at hand"), "{read_me}");
}

#[test]
fn an_original_that_changed_since_it_was_read_stops_the_pack() {
    let record = job(&[("shots.csv", b"one")]);
    let (pack, _) = write(&record, &[], &Files(vec![Some(b"two".to_vec())]));
    assert!(pack.unwrap_err().to_string().contains("`data/sources/shots.csv` has changed since it was read"));
}

#[test]
fn a_document_that_cannot_be_made_again_stops_the_pack() {
    let broken: StreamBody = Arc::new(|_| Err(io::Error::other("the disk is full")));
    let artifacts = [Artifact {
        path: "x.xml".into(),
        media_type: "application/xml",
        format: "xml",
        body: Body::Stream(broken),
    }];
    let (pack, _) = write(&job(&[]), &artifacts, &Files(Vec::new()));
    let error = pack.unwrap_err();
    let cause = std::error::Error::source(&error).map(ToString::to_string);
    assert_eq!(error.to_string(), "`data/summary/x.xml` could not be packed");
    assert_eq!(cause.as_deref(), Some("the disk is full"));
}
