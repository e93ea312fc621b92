//! The closed sets of classes: what a writer may be asked to tell apart. A class outside its set is an error
//! in the template, so that no paper silently ignores a meaning.

macro_rules! classes {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $text:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$vdoc])* $variant,)+ }
        impl $name {
            /// All of them, in the order of their declaration.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The word in the `class` attribute.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $text,)+ }
            }
            /// The class of that name.
            pub fn parse(text: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|c| c.name() == text)
            }
        }
    };
}

classes!(
    /// What a span of text stands for.
    SpanClass {
        /// A verdict of pass; set with the mark for it, so that colour never says it alone.
        VerdictPass = "verdict-pass",
        /// A verdict of fail.
        VerdictFail = "verdict-fail",
        /// An undetermined verdict.
        VerdictUndetermined = "verdict-undetermined",
        /// Less important than its surroundings.
        Quiet = "quiet",
        /// A fact that nobody stated.
        Missing = "missing",
        /// The mark of a value's status (seen, memory, ...), raised, explained in a legend.
        StatusMark = "status-mark",
        /// Never broken over lines.
        Together = "together",
        /// A place in an original file.
        Origin = "origin",
        /// Words that this program has in English only, in a paper of another language.
        English = "english",
    }
);

classes!(
    /// What a section is.
    SectionClass {
        /// Starts on a page of its own.
        NewPage = "new-page",
        /// The head of the paper: who reports what to whom.
        Title = "title",
        /// Kept on one page where it fits on one.
        Whole = "whole",
    }
);

classes!(
    /// What a paragraph is.
    ParagraphClass {
        /// The sentence that sums up what follows.
        Lead = "lead",
        /// Small print.
        Small = "small",
        /// A line above a heading that says what kind of thing follows.
        Kicker = "kicker",
        /// A verdict in a word; the largest text after the title.
        Verdict = "verdict",
        /// The mark at the end of the report.
        End = "end",
    }
);

classes!(
    /// What a set-off passage is for.
    AsideClass {
        /// Something to bear in mind.
        Note = "note",
        /// A danger to people or goods.
        Caution = "caution",
        /// Says that the data are invented.
        Invented = "invented",
        /// Says that the paper is a draft or no test report.
        State = "state",
        /// The verdict: pass.
        VerdictPass = "verdict-pass",
        /// The verdict: fail.
        VerdictFail = "verdict-fail",
        /// The verdict: undetermined.
        VerdictUndetermined = "verdict-undetermined",
    }
);

classes!(
    /// How a list is set.
    ListClass {
        /// Reasons, each leading to those below it.
        Reasons = "reasons",
        /// Without bullets, one short line each.
        Bare = "bare",
    }
);

classes!(
    /// How a list of names and values is set.
    FactsClass {
        /// Name above value, side by side in columns, for the head of a paper.
        Card = "card",
    }
);

classes!(
    /// What a table is for.
    TableClass {
        /// Many rows, small type.
        Results = "results",
        /// Measured values against limits.
        Values = "values",
        /// Lines to sign on.
        Signatures = "signatures",
    }
);

classes!(
    /// What a row of a table is.
    RowClass {
        /// A heading for the rows below it; stays with the next row.
        Group = "group",
        /// A row about a failure.
        Fail = "verdict-fail",
        /// A row about something undetermined.
        Undetermined = "verdict-undetermined",
    }
);

classes!(
    /// How a cell is set.
    CellClass {
        /// A number, aligned to the right; the decimal signs of a column stand below each other.
        Number = "number",
        /// Centred.
        Centre = "centre",
        /// Never broken over lines.
        Together = "together",
    }
);
