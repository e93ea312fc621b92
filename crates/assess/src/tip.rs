//! The tip to be fitted for a kind of discharge.

use crate::standard::Standard;
use record::{Application, Generator, Tip};

/// The tip that the job names, else the standard's; without both the usual one: round in air, sharp for contact
/// (from memory; a standard's data say how each is known).
pub fn tip_to_fit(generator: &Generator, standard: Option<&Standard>, application: Application) -> Tip {
    let rules = standard.map(|standard| &standard.rules);
    if application == Application::Air {
        generator.air_tip.or(rules.map(|rules| rules.air_tip.value)).unwrap_or(Tip::Round)
    } else {
        generator.contact_tip.or(rules.map(|rules| rules.contact_tip.value)).unwrap_or(Tip::Sharp)
    }
}
