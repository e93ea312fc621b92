//! The table of sources in shared/reference/README.md says what the cases hold.
#![allow(clippy::unwrap_used)]

use assess::reference::{run_all, sources_by_function};
use std::collections::BTreeSet;

fn readme() -> String {
    let all = run_all().unwrap();
    let pairs: BTreeSet<_> = all.iter().map(|held| (held.function, held.source.as_str())).collect();
    let sources: BTreeSet<_> = all.iter().map(|held| held.source.as_str()).collect();
    let mut text = String::from(
        "# Reference cases\n\n\
        Figures published or computed elsewhere, held against what the program computes.\n\
        They are built into the program: `fulgurite self-check` runs them, `self-check --out DIR` writes them as a \
        validation paper (ISO/IEC 17025:2017 7.11.2), and the tests run them too.\n\n\
        A case is a table in `<topic>/*.toml`: what is computed (`kind`, `inputs`), the figures `expected` with their \
        digits, a tolerance (`absolute` or `relative`; without one the figure must print the same), the `source` with \
        its `clause`, and how far it can be trusted.\n\
        Status `seen`: the source or an open copy of its figures was read; `memory`: quoted from memory; `computed`: \
        by another program or exact arithmetic.\n\
        A `note` says where a printed figure differs from the exact one, and why.\n\
        Tables of many values (`*.csv`) name the script beside them that wrote them.\n\n\
        ## Sources of each public function\n\n",
    );
    text += &format!(
        "{} figures, {} pairs of function and source, {} sources.\n\n\
        | function | source | status | figures |\n|---|---|---|---|\n",
        all.len(),
        pairs.len(),
        sources.len()
    );
    for (function, sources) in sources_by_function(&all) {
        if sources.is_empty() {
            text += &format!("| `{function}` | no source outside the project | | 0 |\n");
        }
        for source in sources {
            text +=
                &format!("| `{function}` | {} | {} | {} |\n", source.source, source.status, source.checks);
        }
    }
    text
}

/// `BLESS=1` rewrites the file.
#[test]
fn the_table_of_reference_sources_is_up_to_date() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/reference/README.md");
    let now = readme();
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, &now).unwrap();
    }
    assert!(std::fs::read_to_string(&path).unwrap() == now, "BLESS=1 rewrites {}", path.display());
}
