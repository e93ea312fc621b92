//! Points of application.

use crate::{Application, Decimal, PointId};

/// A mark on a picture: fractions of its width and height, from the top left corner, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// From the left edge, 0 to 1.
    pub x: Decimal,
    /// From the top edge, 0 to 1.
    pub y: Decimal,
}

/// A place where discharges are applied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Point {
    /// Name used in logs.
    pub id: PointId,
    /// Description.
    pub description: Option<String>,
    /// How discharges are applied there; a point on an insulating surface has air, a metal one contact.
    pub applications: Vec<Application>,
    /// Why it was chosen.
    pub reason: Option<String>,
    /// Why it is not tested, for a point that was considered and left out.
    pub excluded: Option<String>,
    /// Picture on which it is marked (an attachment's file name).
    pub picture: Option<String>,
    /// The mark on that picture.
    pub mark: Option<Mark>,
}
