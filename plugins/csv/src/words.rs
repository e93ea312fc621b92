//! Words in cells: what they stand for by common usage (from memory, no source), and what the settings add.

use record::{Affected, Application, Class, Polarity, Restoration, RunKind, Tip};

/// Positive, negative, or both in one row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Poles {
    One(Polarity),
    Both,
}

/// Words with what they stand for; those of the settings come first.
#[derive(Clone, Debug)]
pub(crate) struct Vocabulary<T: 'static> {
    own: Vec<(String, T)>,
    common: &'static [(&'static str, T)],
}

impl<T: Copy> Vocabulary<T> {
    fn new(common: &'static [(&'static str, T)]) -> Self {
        Self { own: Vec::new(), common }
    }

    /// Adds a word of the settings.
    pub(crate) fn add(&mut self, word: &str, value: T) {
        self.own.push((fold(word), value));
    }

    /// What a cell stands for.
    pub(crate) fn get(&self, cell: &str) -> Option<T> {
        let folded;
        let plain = |b: u8| b.is_ascii_graphic() && !b.is_ascii_uppercase();
        let cell = if cell.bytes().all(plain) {
            cell
        } else {
            folded = fold(cell);
            &folded
        };
        self.own
            .iter()
            .find(|(word, _)| word == cell)
            .map(|(_, value)| *value)
            .or_else(|| self.common.iter().find(|(word, _)| *word == cell).map(|(_, value)| *value))
    }
}

/// Lower case, single blanks, no blanks around.
pub(crate) fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for part in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.extend(part.chars().flat_map(char::to_lowercase));
    }
    out
}

/// The vocabularies of one log.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    pub(crate) polarity: Vocabulary<Poles>,
    pub(crate) application: Vocabulary<Application>,
    /// Words in a result cell that mean that nothing was seen.
    pub(crate) nothing: Vocabulary<()>,
    /// Words that judge instead of telling what was seen.
    pub(crate) verdict: Vocabulary<()>,
    pub(crate) answer: Vocabulary<bool>,
    pub(crate) restored: Vocabulary<Restoration>,
    pub(crate) affected: Vocabulary<Affected>,
    pub(crate) class: Vocabulary<Class>,
    pub(crate) kind: Vocabulary<RunKind>,
    pub(crate) tip: Vocabulary<Tip>,
    pub(crate) single: Vocabulary<bool>,
    /// Outcomes that may be demanded.
    pub(crate) demand: Vocabulary<()>,
    /// Names in the log and in the job, by kind.
    pub(crate) names: Names,
}

/// Names in the log (folded) with the names of the job.
#[derive(Clone, Debug, Default)]
pub(crate) struct Names {
    pub(crate) point: Vec<(String, String)>,
    pub(crate) state: Vec<(String, String)>,
    pub(crate) mode: Vec<(String, String)>,
    pub(crate) function: Vec<(String, String)>,
}

/// The job's name for a name in the log.
pub(crate) fn renamed<'a>(list: &'a [(String, String)], name: &'a str) -> &'a str {
    if list.is_empty() {
        return name;
    }
    let folded = fold(name);
    list.iter().find(|(log, _)| *log == folded).map_or(name, |(_, job)| job)
}

impl Default for Words {
    fn default() -> Self {
        use Application::{Air, Contact, Hcp, Vcp};
        const P: Poles = Poles::One(Polarity::Positive);
        const N: Poles = Poles::One(Polarity::Negative);
        Self {
            polarity: Vocabulary::new(&[
                ("+", P),
                ("p", P),
                ("pos", P),
                ("pos.", P),
                ("plus", P),
                ("positive", P),
                ("positiv", P),
                ("positif", P),
                ("positivo", P),
                ("+ve", P),
                ("-", N),
                ("\u{2212}", N),
                ("n", N),
                ("neg", N),
                ("neg.", N),
                ("minus", N),
                ("negative", N),
                ("negativ", N),
                ("négatif", N),
                ("negativo", N),
                ("-ve", N),
                ("both", Poles::Both),
                ("beide", Poles::Both),
                ("±", Poles::Both),
                ("+/-", Poles::Both),
                ("+/\u{2212}", Poles::Both),
                ("+-", Poles::Both),
            ]),
            application: Vocabulary::new(&[
                ("contact", Contact),
                ("contact discharge", Contact),
                ("direct contact", Contact),
                ("cd", Contact),
                ("c", Contact),
                ("kontakt", Contact),
                ("kontaktentladung", Contact),
                ("ke", Contact),
                ("k", Contact),
                ("décharge au contact", Contact),
                ("contacto", Contact),
                ("contatto", Contact),
                ("contato", Contact),
                ("descarga por contacto", Contact),
                ("air", Air),
                ("air discharge", Air),
                ("ad", Air),
                ("a", Air),
                ("luft", Air),
                ("luftentladung", Air),
                ("le", Air),
                ("l", Air),
                ("décharge dans l'air", Air),
                ("aire", Air),
                ("aria", Air),
                ("lucht", Air),
                ("ar", Air),
                ("powietrze", Air),
                ("descarga en el aire", Air),
                ("hcp", Hcp),
                ("indirect hcp", Hcp),
                ("hcp indirect", Hcp),
                ("horizontal coupling plane", Hcp),
                ("horizontale koppelplatte", Hcp),
                ("horizontale koppelfläche", Hcp),
                ("plan de couplage horizontal", Hcp),
                ("plano de acoplamiento horizontal", Hcp),
                ("vcp", Vcp),
                ("indirect vcp", Vcp),
                ("vcp indirect", Vcp),
                ("vertical coupling plane", Vcp),
                ("vertikale koppelplatte", Vcp),
                ("vertikale koppelfläche", Vcp),
                ("plan de couplage vertical", Vcp),
                ("plano de acoplamiento vertical", Vcp),
            ]),
            nothing: Vocabulary::new(&[
                ("ok", ()),
                ("o.k.", ()),
                ("okay", ()),
                ("-", ()),
                ("\u{2013}", ()),
                ("\u{2212}", ()),
                ("--", ()),
                ("none", ()),
                ("nothing", ()),
                ("nothing seen", ()),
                ("no effect", ()),
                ("no reaction", ()),
                ("no change", ()),
                ("nil", ()),
                ("i.o.", ()),
                ("io", ()),
                ("keine", ()),
                ("keine auffälligkeit", ()),
                ("keine auffälligkeiten", ()),
                ("kein effekt", ()),
                ("nichts", ()),
                ("ohne befund", ()),
                ("o.b.", ()),
                ("rien", ()),
                ("aucun", ()),
                ("aucun effet", ()),
                ("ras", ()),
                ("r.a.s.", ()),
                ("nada", ()),
                ("ninguno", ()),
                ("sin efecto", ()),
                ("niente", ()),
                ("nessun effetto", ()),
                ("niets", ()),
                ("geen effect", ()),
                ("nenhum", ()),
                ("sem efeito", ()),
                ("brak", ()),
                ("bez efektu", ()),
                ("inget", ()),
                ("ingen effekt", ()),
            ]),
            verdict: Vocabulary::new(&[
                ("pass", ()),
                ("passed", ()),
                ("fail", ()),
                ("failed", ()),
                ("p", ()),
                ("f", ()),
                ("bestanden", ()),
                ("nicht bestanden", ()),
                ("conforme", ()),
                ("non conforme", ()),
            ]),
            answer: Vocabulary::new(&[
                ("yes", true),
                ("y", true),
                ("true", true),
                ("1", true),
                ("x", true),
                ("ja", true),
                ("j", true),
                ("oui", true),
                ("sí", true),
                ("si", true),
                ("no", false),
                ("n", false),
                ("false", false),
                ("0", false),
                ("none", false),
                ("nein", false),
                ("non", false),
            ]),
            restored: Vocabulary::new(&[
                ("nothing-lost", Restoration::NothingLost),
                ("nothing lost", Restoration::NothingLost),
                ("by-itself", Restoration::ByItself),
                ("by itself", Restoration::ByItself),
                ("self", Restoration::ByItself),
                ("itself", Restoration::ByItself),
                ("von selbst", Restoration::ByItself),
                ("selbst", Restoration::ByItself),
                ("operator", Restoration::Operator),
                ("bediener", Restoration::Operator),
                ("opérateur", Restoration::Operator),
                ("operador", Restoration::Operator),
                ("power-cycle", Restoration::PowerCycle),
                ("power cycle", Restoration::PowerCycle),
                ("neustart der versorgung", Restoration::PowerCycle),
                ("not-restored", Restoration::NotRestored),
                ("not restored", Restoration::NotRestored),
                ("nicht", Restoration::NotRestored),
                ("never", Restoration::NotRestored),
            ]),
            affected: Vocabulary::new(&[
                ("item", Affected::Item),
                ("eut", Affected::Item),
                ("prüfling", Affected::Item),
                ("associated", Affected::Associated),
                ("ae", Affected::Associated),
            ]),
            class: Vocabulary::new(&[("a", Class::A), ("b", Class::B), ("c", Class::C), ("d", Class::D)]),
            kind: Vocabulary::new(&[
                ("compliance", RunKind::Compliance),
                ("exploratory", RunKind::Exploratory),
                ("threshold", RunKind::Threshold),
            ]),
            tip: Vocabulary::new(&[
                ("sharp", Tip::Sharp),
                ("pointed", Tip::Sharp),
                ("round", Tip::Round),
                ("rounded", Tip::Round),
            ]),
            single: Vocabulary::new(&[
                ("single", true),
                ("burst", false),
                ("bursts", false),
                ("repetitive", false),
                ("yes", true),
                ("no", false),
            ]),
            demand: Vocabulary::new(&[
                ("a", ()),
                ("b", ()),
                ("c", ()),
                ("d", ()),
                ("criterion a", ()),
                ("criterion b", ()),
                ("criterion c", ()),
                ("criterion d", ()),
                ("kriterium a", ()),
                ("kriterium b", ()),
                ("kriterium c", ()),
                ("kriterium d", ()),
            ]),
            names: Names::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_blanks_do_not_matter_and_own_words_win() {
        let mut words = Words::default();
        assert_eq!(words.application.get("Contact  Discharge"), Some(Application::Contact));
        assert_eq!(words.application.get("A"), Some(Application::Air));
        words.application.add("A", Application::Contact);
        assert_eq!(words.application.get("a"), Some(Application::Contact));
        assert_eq!(words.polarity.get("NÉGATIF"), Some(Poles::One(Polarity::Negative)));
        assert!(words.nothing.get("reset").is_none());
    }
}
