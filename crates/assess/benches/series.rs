//! Many series assessed: the time must grow with their number, not faster.
#![allow(clippy::unwrap_used, reason = "a bench stops at what it can't use")]
#![allow(missing_docs, reason = "criterion's macros make public items")]

use assess::standard::{Standard, built_in};
use assess::{Verdict, assess};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use record::*;
use std::hint::black_box;

/// Contact discharges at 8 kV, both polarities: five partial series of two shots for each required one.
fn record(series: u64) -> Record {
    let mut draft = Draft::default();
    for (name, role) in [("job.toml", SourceRole::Job), ("log.csv", SourceRole::Log)] {
        draft.sources.push(SourceFile {
            name: name.into(),
            role,
            bytes: 1,
            sha256: "0".repeat(64),
            part: None,
            read_by: None,
            understood_as: Vec::new(),
            account: None,
        });
    }
    draft.facts.method.standard = Some("iec-61000-4-2-ed2".into());
    draft.facts.plan.level = Some("4".into());
    draft.facts.plan.polarity = Some(PolarityRule::Both);
    draft.facts.demands.push(Demand {
        function: None,
        mode: None,
        application: None,
        from_kv: None,
        to_kv: None,
        accepted: vec!["B".into()],
        basis: None,
    });
    for point in 0..series / 10 {
        draft.facts.points.push(Point {
            id: PointId::new(&format!("P{point}")).unwrap(),
            description: None,
            applications: vec![Application::Contact],
            reason: None,
            excluded: None,
            picture: None,
            mark: None,
        });
    }
    for row in 0..series {
        let polarity = if row % 2 == 0 { Polarity::Positive } else { Polarity::Negative };
        draft.series.push(Series {
            id: SeriesId::new(&format!("log#{}", row + 2)).unwrap(),
            point: PointId::new(&format!("P{}", row / 10)).unwrap(),
            application: Application::Contact,
            polarity,
            voltage_kv: Kilovolts::parse("8").unwrap(),
            count: 2,
            sparks: None,
            interval_s: Some(Seconds::parse("1").unwrap()),
            single: None,
            mode: None,
            state: None,
            kind: RunKind::Compliance,
            monitoring: Stated::Stated(Monitoring::Continuous),
            tip: None,
            started: None,
            ended: None,
            tested_by: None,
            external_reference: None,
            remark: None,
            shots: Vec::new(),
            origin: Origin::rows(SourceId(1), row + 2, row + 2),
        });
    }
    check(draft).unwrap()
}

fn bench(c: &mut Criterion) {
    let (name, text) = built_in().iter().find(|(name, _)| *name == "iec-61000-4-2-ed2").unwrap();
    let standard = Standard::parse(name, text).unwrap();
    let mut group = c.benchmark_group("assess");
    group.sample_size(10);
    for series in [1_000, 10_000, 100_000] {
        let record = record(series);
        assert_ne!(assess(&record, Some(&standard)).verdict(), Verdict::Fail);
        group.throughput(Throughput::Elements(series));
        group.bench_function(BenchmarkId::from_parameter(series), |b| {
            b.iter(|| black_box(assess(&record, Some(&standard))));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
