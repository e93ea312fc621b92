//! What a job or a command line tells a reader about a file.

use record::{AmperesPerVolt, Application, ModeId, Monitoring, Place, PointId, RunKind, Seconds, StateId};
use std::collections::BTreeMap;

/// Settings of a plug-in for one file, with the place where each was written.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// The settings, as an object; keys are the plug-in's own.
    pub value: serde_json::Map<String, serde_json::Value>,
    /// Place of each setting by its path (`/columns/point`), for findings about the settings themselves.
    pub places: BTreeMap<String, Place>,
}

impl Options {
    /// The place of a setting; the longest known part of the path counts.
    pub fn place(&self, path: &str) -> Option<Place> {
        let mut path = path;
        loop {
            if let Some(place) = self.places.get(path) {
                return Some(Place { label: Some(record::spoken_path(path)), ..place.clone() });
            }
            path = &path[..path.rfind('/')?];
        }
    }
}

/// What the job says about every row of a file that does not say it itself.
#[derive(Clone, Debug, Default)]
pub struct SeriesDefaults {
    /// Point, for a log without a column for it.
    pub point: Option<PointId>,
    /// Modification state.
    pub state: Option<StateId>,
    /// Operating mode.
    pub mode: Option<ModeId>,
    /// Compliance, exploratory or threshold; compliance where nothing is said.
    pub kind: Option<RunKind>,
    /// Whether the item was watched.
    pub monitoring: Option<Monitoring>,
    /// Time between discharges.
    pub interval_s: Option<Seconds>,
    /// Single discharges or bursts.
    pub single: Option<bool>,
    /// Kind of discharge.
    pub application: Option<Application>,
    /// Who applied them.
    pub tested_by: Option<String>,
    /// What a volt stands for by the measuring chain of a verification, where no setting states it.
    pub chain_a_per_v: Option<AmperesPerVolt>,
}
