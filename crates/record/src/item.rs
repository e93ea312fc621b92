//! The item under test: identity, configuration, modes, monitored functions, modification states.

use crate::{FunctionId, Millimetres, ModeId, Moment, StateId, Stated, word::words};

words!(
    /// How the item stands during the test.
    Arrangement {
        /// On the table, over the horizontal coupling plane.
        TableTop = "table-top",
        /// On the floor, on its support.
        FloorStanding = "floor-standing",
        /// Worn on the body.
        Wearable = "wearable",
        /// Mounted on a wall.
        WallMounted = "wall-mounted",
    }
);

/// The item under test (ISO/IEC 17025:2017 7.8.2.1 g).
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Item {
    /// What it is.
    pub name: Option<String>,
    /// Type designation.
    pub type_designation: Option<String>,
    /// Maker.
    pub maker: Option<String>,
    /// Serial number.
    pub serial: Option<String>,
    /// Hardware version.
    pub hardware_version: Option<String>,
    /// Firmware or software version.
    pub firmware_version: Option<String>,
    /// Supply.
    pub supply: Option<String>,
    /// Table-top, floor-standing, ...
    pub arrangement: Option<Arrangement>,
    /// Whether it is earthed in the test.
    pub earthed: Stated<bool>,
    /// How it is earthed, or why it is not.
    pub earthing: Option<String>,
    /// Length.
    pub length_mm: Option<Millimetres>,
    /// Width.
    pub width_mm: Option<Millimetres>,
    /// Height.
    pub height_mm: Option<Millimetres>,
    /// Cables, accessories, settings.
    pub configuration: Option<String>,
    /// Conditions of use that conformity depends on.
    pub conditions_of_use: Option<String>,
}

/// Equipment that works with the item but is not under test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssociatedEquipment {
    /// What it is.
    pub name: String,
    /// Serial number.
    pub serial: Option<String>,
    /// What it does in the test.
    pub purpose: Option<String>,
}

/// An operating mode of the item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mode {
    /// Name used in logs.
    pub id: ModeId,
    /// Description.
    pub description: Option<String>,
}

/// A function of the item that is watched during the test.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Name used in observations and demands.
    pub id: FunctionId,
    /// Description.
    pub description: Option<String>,
    /// How it is watched.
    pub monitored_by: Option<String>,
    /// The loss of performance that is allowed, in words.
    pub allowed_loss: Option<String>,
}

/// A modification state of the item; a verdict belongs to one of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemState {
    /// Name used in logs.
    pub id: StateId,
    /// Description; for a modified item, what was changed.
    pub description: Option<String>,
    /// Why it was changed.
    pub reason: Option<String>,
    /// Since when.
    pub since: Option<Moment>,
    /// Who changed it.
    pub by: Option<String>,
}
