//! Words that head the columns of discharge logs, in English, German, French, Spanish, Italian, Dutch, Portuguese,
//! Polish and Swedish (common practice, no source).

use crate::roles::Role;
use crate::units::{self, Unit};
use crate::words::fold;

/// What a header says its column is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Meaning {
    /// One role.
    Role(Role),
    /// How discharges are applied, or an operating mode of the item: the cells tell.
    ApplicationOrMode,
    /// An outcome that was observed, or one that is demanded: only the laboratory can tell.
    ObservedOrDemanded,
    /// A voltage, or a level of the standard's table: only a unit can tell.
    VoltageOrLevel,
    /// Discharges in a time: only a unit can tell in which.
    Rate,
    /// The time between discharges if it stays the same, else the time since some start.
    IntervalOrClock,
}

const WORDS: &[(Meaning, &[&str])] = &[
    (
        Meaning::Role(Role::Point),
        &[
            "point",
            "pt",
            "tp",
            "test point",
            "location",
            "position",
            "stelle",
            "prüfpunkt",
            "punkt",
            "prüfstelle",
            "point d'essai",
            "punto",
            "punto de ensayo",
            "punto di prova",
            "posizione",
            "testpunt",
            "positie",
            "ponto",
            "ponto de ensaio",
            "punkt pomiarowy",
            "miejsce",
            "provpunkt",
        ],
    ),
    (
        Meaning::Role(Role::Application),
        &[
            "application",
            "c/a",
            "discharge type",
            "discharge mode",
            "entladungsart",
            "type de décharge",
            "tipo de descarga",
            "tipo di scarica",
            "soort ontlading",
            "rodzaj wyładowania",
            "urladdningstyp",
        ],
    ),
    (
        Meaning::ApplicationOrMode,
        &[
            "mode",
            "type",
            "modus",
            "art",
            "modo",
            "tipo",
            "discharge",
            "entladung",
            "décharge",
            "descarga",
            "scarica",
            "ontlading",
            "wyładowanie",
            "urladdning",
            "rodzaj",
            "typ",
            "soort",
        ],
    ),
    (
        Meaning::Role(Role::Polarity),
        &[
            "polarity",
            "pol",
            "+/-",
            "±",
            "polarität",
            "polarité",
            "polaridad",
            "polarità",
            "polariteit",
            "polaridade",
            "polaryzacja",
            "biegunowość",
            "polaritet",
        ],
    ),
    (
        Meaning::Role(Role::Voltage),
        &[
            "voltage",
            "test voltage",
            "charge voltage",
            "u",
            "kv",
            "v",
            "spannung",
            "prüfspannung",
            "ladespannung",
            "tension",
            "tension d'essai",
            "tensión",
            "tensione",
            "tensione di prova",
            "spanning",
            "testspanning",
            "tensão",
            "napięcie",
            "spänning",
        ],
    ),
    (
        Meaning::VoltageOrLevel,
        &[
            "level",
            "pegel",
            "niveau",
            "nivel",
            "test level",
            "prüfpegel",
            "livello",
            "nível",
            "poziom",
            "nivå",
        ],
    ),
    (
        Meaning::Role(Role::Count),
        &[
            "n",
            "count",
            "shots",
            "discharges",
            "number of discharges",
            "no. of discharges",
            "anzahl",
            "anzahl entladungen",
            "entladungen",
            "nombre",
            "nombre de décharges",
            "número",
            "número de descargas",
            "anz",
            "quantità",
            "numero",
            "numero di scariche",
            "aantal",
            "aantal ontladingen",
            "quantidade",
            "liczba",
            "liczba wyładowań",
            "antal",
            "antal urladdningar",
        ],
    ),
    (Meaning::Role(Role::Counter), &["counter", "zähler", "zählerstand", "compteur", "contador"]),
    (
        Meaning::Role(Role::Shot),
        &["shot", "shot no", "shot no.", "shot number", "schuss", "schuss nr", "schuss nr.", "entladung nr."],
    ),
    (
        Meaning::Role(Role::Interval),
        &["interval", "intervall", "intervalle", "intervalo", "intervallo", "odstęp"],
    ),
    (Meaning::Rate, &["rate", "repetition rate", "wiederholrate"]),
    (Meaning::IntervalOrClock, &["t"]),
    (
        Meaning::Role(Role::Time),
        &[
            "time",
            "timestamp",
            "date time",
            "date/time",
            "date and time",
            "zeit",
            "uhrzeit",
            "zeitstempel",
            "heure",
            "hora",
            "ora",
            "tijd",
            "czas",
            "godzina",
            "tid",
        ],
    ),
    (Meaning::Role(Role::Date), &["date", "datum", "fecha", "data"]),
    (
        Meaning::Role(Role::Result),
        &[
            "result",
            "outcome",
            "ergebnis",
            "résultat",
            "resultado",
            "reaction",
            "reaktion",
            "réaction",
            "risultato",
            "esito",
            "resultaat",
            "wynik",
            "resultat",
        ],
    ),
    (
        Meaning::Role(Role::Observation),
        &[
            "obs",
            "observation",
            "observed",
            "seen",
            "what was seen",
            "beobachtung",
            "befund",
            "effect",
            "effet",
            "efecto",
            "osservazione",
            "effetto",
            "waarneming",
            "observação",
            "efeito",
            "obserwacja",
            "efekt",
        ],
    ),
    (
        Meaning::ObservedOrDemanded,
        &[
            "crit",
            "criterion",
            "criteria",
            "performance criterion",
            "class",
            "performance class",
            "pc",
            "kriterium",
            "krit",
            "criterium",
            "critério",
            "kryterium",
            "klass",
            "klasa",
            "bewertungskriterium",
            "klasse",
            "critère",
            "classe",
            "criterio",
            "clase",
        ],
    ),
    (Meaning::Role(Role::Upsets), &["upsets", "upset", "störungen"]),
    (Meaning::Role(Role::Function), &["function", "funktion", "fonction", "función"]),
    (Meaning::Role(Role::StateChanged), &["state changed", "zustand geändert"]),
    (Meaning::Role(Role::DataLost), &["data lost", "data loss", "datenverlust", "perte de données"]),
    (Meaning::Role(Role::Restored), &["restored", "restored by", "wiederhergestellt durch"]),
    (Meaning::Role(Role::Lasted), &["lasted", "effect lasted"]),
    (Meaning::Role(Role::Coincident), &["coincident"]),
    (Meaning::Role(Role::BeforeNext), &["before next"]),
    (Meaning::Role(Role::Affected), &["affected", "betroffen"]),
    (Meaning::Role(Role::Sparks), &["sparks", "funken", "étincelles", "chispas"]),
    (Meaning::Role(Role::Spark), &["spark", "funke", "étincelle", "chispa"]),
    (Meaning::Role(Role::State), &["modification state", "modification", "modifikation"]),
    (
        Meaning::Role(Role::Mode),
        &["operating mode", "betriebsart", "mode de fonctionnement", "modo de operación"],
    ),
    (Meaning::Role(Role::Tip), &["tip", "spitze"]),
    (
        Meaning::Role(Role::Person),
        &["op", "operator", "tester", "tested by", "initials", "prüfer", "bediener", "opérateur", "operador"],
    ),
    (
        Meaning::Role(Role::ExternalReference),
        &["external reference", "reference", "ref", "referenz", "référence"],
    ),
    (
        Meaning::Role(Role::Remark),
        &[
            "remark",
            "remarks",
            "comment",
            "comments",
            "note",
            "notes",
            "bemerkung",
            "bemerkungen",
            "kommentar",
            "remarque",
            "commentaire",
            "comentario",
            "osservazioni",
            "nota",
            "opmerking",
            "opmerkingen",
            "observações",
            "uwagi",
            "anmärkning",
        ],
    ),
];

/// What a header says, and the unit in it.
pub(crate) fn meaning(header: &str) -> (Option<Meaning>, Option<Unit>) {
    let (name, unit) = units::split(header);
    let mut key = fold(&name.replace('_', " "));
    while key.ends_with([':', ' ']) || (key.ends_with('.') && key.len() > 2) {
        if key == "no." {
            break;
        }
        key.pop();
    }
    let found = WORDS.iter().find(|(_, words)| words.contains(&key.as_str())).map(|(meaning, _)| *meaning);
    let found = match (found, unit) {
        // A bare `t` may be a temperature.
        (Some(Meaning::IntervalOrClock), unit) if !unit.is_some_and(Unit::is_duration) => None,
        (Some(Meaning::Rate), Some(unit)) if unit.is_duration() => Some(Meaning::Role(Role::Interval)),
        // `Time [s]` is no time of day.
        (Some(Meaning::Role(Role::Time)), Some(_)) => None,
        (Some(Meaning::VoltageOrLevel), Some(unit)) if unit.is_voltage() => {
            Some(Meaning::Role(Role::Voltage))
        }
        (found, _) => found,
    };
    (found, unit)
}

/// How much a row looks like the header of a discharge log: the number of different columns it names.
pub(crate) fn score<'a>(cells: impl Iterator<Item = &'a str>) -> (usize, bool) {
    let mut roles = Vec::new();
    for cell in cells.take(200) {
        if cell.len() > 60 {
            continue;
        }
        if let (Some(meaning), _) = meaning(cell)
            && !roles.contains(&meaning)
        {
            roles.push(meaning);
        }
    }
    let voltage = roles.contains(&Meaning::Role(Role::Voltage)) || roles.contains(&Meaning::VoltageOrLevel);
    let where_or_how = roles.contains(&Meaning::Role(Role::Point))
        || roles.contains(&Meaning::Role(Role::Application))
        || roles.contains(&Meaning::Role(Role::Polarity));
    (roles.len(), voltage && where_or_how)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_unique_and_folded() {
        let mut all: Vec<&str> = WORDS.iter().flat_map(|(_, words)| words.iter().copied()).collect();
        assert!(all.iter().all(|word| fold(word) == **word));
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
    }

    #[test]
    fn observed_and_demanded_are_never_told_apart_by_a_word() {
        for word in ["Crit.", "Criterion", "Performance_Criterion", "Kriterium", "Class"] {
            assert_eq!(meaning(word).0, Some(Meaning::ObservedOrDemanded), "{word}");
        }
        assert_eq!(meaning("Level").0, Some(Meaning::VoltageOrLevel));
        assert_eq!(meaning("Level [kV]").0, Some(Meaning::Role(Role::Voltage)));
        assert_eq!(meaning("T"), (None, None));
        assert_eq!(meaning("t(s)").0, Some(Meaning::IntervalOrClock));
        assert_eq!(meaning("Rate").0, Some(Meaning::Rate));
        assert_eq!(meaning("Rate [Hz]").0, Some(Meaning::Role(Role::Interval)));
    }
}
