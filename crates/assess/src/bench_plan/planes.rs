//! Positions of the coupling planes, from the item's dimensions.

use crate::standard::{Planes, Standard, Status};
use record::{Application, Arrangement, Decimal, Record};

/// A position of a coupling plane or of the generator at it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanePosition {
    /// Horizontal or vertical plane.
    pub plane: Application,
    /// Face of the item: front, right, rear, left.
    pub face: &'static str,
    /// Centre of the position along the face, in millimetres from its left edge.
    pub along_mm: Decimal,
    /// Centre of the position above the item's base, in millimetres; none for the horizontal plane.
    pub above_mm: Option<Decimal>,
    /// In words.
    pub text: String,
    /// How the rule behind it is known.
    pub status: Status,
}

/// The faces of an item: name and width in millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Faces {
    /// Length: front and rear.
    pub length_mm: Decimal,
    /// Width: right and left.
    pub width_mm: Decimal,
    /// Height.
    pub height_mm: Decimal,
}

impl Faces {
    fn each(self) -> [(&'static str, Decimal); 4] {
        [
            ("front", self.length_mm),
            ("right", self.width_mm),
            ("rear", self.length_mm),
            ("left", self.width_mm),
        ]
    }
}

type Notes = Vec<(String, Option<Status>)>;

/// Positions of both planes, and what there is to say about them.
pub(super) fn positions(record: &Record, standard: &Standard) -> (Vec<PlanePosition>, Notes) {
    let (mut positions, mut notes) = (Vec::new(), Notes::new());
    let Some(planes) = &standard.planes else { return (positions, notes) };
    let points = &record.facts.points;
    let planned = |kind: Application| {
        points.iter().filter(|p| p.excluded.is_none() && p.applications.contains(&kind)).count()
    };
    let (hcp, vcp) = (planned(Application::Hcp), planned(Application::Vcp));
    if hcp + vcp == 0 {
        notes.push(("no point on a coupling plane is planned: indirect discharges are part of the basic standard's test".into(), Some(Status::SecondHand)));
        return (positions, notes);
    }
    let item = &record.facts.item;
    let (Some(length), Some(width), Some(height)) = (item.length_mm, item.width_mm, item.height_mm) else {
        notes.push((
            "the item's dimensions are not all stated (item.length_mm, width_mm, height_mm): the positions on the planes can't be computed".into(),
            None,
        ));
        return (positions, notes);
    };
    let faces = Faces { length_mm: length.as_mm(), width_mm: width.as_mm(), height_mm: height.as_mm() };
    let floor = item.arrangement == Some(Arrangement::FloorStanding);
    let status = planes.item_distance_mm.status;
    if vcp > 0 {
        for (face, across) in faces.each() {
            let side = planes.vcp_side_mm.value;
            for above in centres(faces.height_mm, side) {
                for along in centres(across, side) {
                    positions.push(PlanePosition {
                        plane: Application::Vcp,
                        face,
                        along_mm: along,
                        above_mm: Some(above),
                        text: format!(
                            "vertical plane {} mm in front of the {face}, its centre {along} mm from the left edge and {above} mm above the base; discharge to the centre of one vertical edge",
                            planes.item_distance_mm.value
                        ),
                        status,
                    });
                }
            }
        }
        if positions.len() > vcp {
            notes.push((
                format!(
                    "{} positions of the vertical plane are needed to cover all four faces, the plan has {vcp} points for it",
                    positions.len()
                ),
                Some(Status::Memory),
            ));
        }
    }
    if hcp > 0 && floor {
        notes.push((
            "the item stands on the floor: there is no horizontal plane under it".into(),
            Some(Status::Memory),
        ));
    } else if hcp > 0 {
        horizontal(&mut positions, &mut notes, planes, faces);
    }
    (positions, notes)
}

fn horizontal(positions: &mut Vec<PlanePosition>, notes: &mut Notes, planes: &Planes, faces: Faces) {
    let distance = planes.item_distance_mm.value;
    for (face, across) in faces.each() {
        let along = half(across);
        let role =
            if face == "front" { "" } else { ", where that side faces the user or an edge of the plane" };
        positions.push(PlanePosition {
            plane: Application::Hcp,
            face,
            along_mm: along,
            above_mm: None,
            text: format!(
                "edge of the horizontal plane opposite the centre of the {face} ({along} mm from its left edge), {distance} mm from the item, generator in the plane's level{role}"
            ),
            status: planes.item_distance_mm.status,
        });
    }
    let margin = planes.hcp_margin_mm.value * Decimal::from(2);
    let (long, short) = (planes.hcp_length_mm.value - margin, planes.hcp_width_mm.value - margin);
    let (item_long, item_short) = (faces.length_mm.max(faces.width_mm), faces.length_mm.min(faces.width_mm));
    if item_long > long || item_short > short {
        notes.push((
            format!(
                "the item is larger than {long} x {short} mm, the horizontal plane less its margins: a second plane beside the first, 0.3 m away, is needed"
            ),
            Some(Status::Memory),
        ));
    }
}

fn half(value: Decimal) -> Decimal {
    (value / Decimal::from(2)).normalize()
}

/// Centres of as many equal parts as are needed so that none is wider than the plane.
fn centres(across: Decimal, side: Decimal) -> Vec<Decimal> {
    let mut parts = Decimal::ONE;
    // An item of kilometres is a mistake in its dimensions; a bound keeps the list finite.
    while across > parts * side && parts < Decimal::from(200) {
        parts += Decimal::ONE;
    }
    let mut list = Vec::new();
    let mut index = Decimal::ZERO;
    while index < parts {
        let centre = across * (index * Decimal::from(2) + Decimal::ONE) / (parts * Decimal::from(2));
        list.push(centre.round_dp(1).normalize());
        index += Decimal::ONE;
    }
    list
}
