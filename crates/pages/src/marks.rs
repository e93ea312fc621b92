//! Marks that tie rendered markup to its place in a template file.
//!
//! Before rendering, a processing instruction `<?m FILE LINE COLUMN?>` is put before every tag of a template.
//! It survives the rendering, so that the parser of the result can name the template's file, line and column
//! for any tag, however many loops and parts it came through. Data can't forge one: they are escaped.

/// A template's text with marks, and where they are.
#[derive(Debug, Default)]
pub(crate) struct Marked {
    pub(crate) text: String,
    /// For each line, the marks in it: column in the marked text at which one starts, and its length.
    lines: Vec<Vec<(u32, u32)>>,
}

impl Marked {
    /// Puts marks into a template, which is file number `file`.
    pub(crate) fn new(source: &str, file: usize) -> Self {
        let mut out = Self { text: String::with_capacity(source.len() * 3 / 2), lines: vec![Vec::new()] };
        let (mut line, mut column, mut shift) = (1u32, 1u32, 0u32);
        let mut rest = source;
        // What ends the stretch that is copied without looking for tags.
        let mut until: Option<&str> = None;
        while let Some(c) = rest.chars().next() {
            match until {
                Some(end) if rest.starts_with(end) => until = None,
                Some(_) => {}
                None if rest.starts_with("{{!--") => until = Some("--}}"),
                None if rest.starts_with("{{") => until = Some("}}"),
                None if rest.starts_with("<!--") => until = Some("-->"),
                None if c == '<' && rest[1..].starts_with(|n: char| n == '/' || n.is_alphabetic()) => {
                    let mark = format!("<?m {file} {line} {column}?>");
                    let len = mark.len() as u32;
                    if let Some(marks) = out.lines.last_mut() {
                        marks.push((column + shift, len));
                    }
                    shift += len;
                    out.text.push_str(&mark);
                }
                None => {}
            }
            out.text.push(c);
            if c == '\n' {
                line += 1;
                (column, shift) = (1, 0);
                out.lines.push(Vec::new());
            } else {
                column += 1;
            }
            rest = &rest[c.len_utf8()..];
        }
        out
    }

    /// The column in the template for a column in the marked text; both count from 1.
    pub(crate) fn column(&self, line: usize, column: usize) -> usize {
        let marks = line.checked_sub(1).and_then(|l| self.lines.get(l));
        let mut shift = 0;
        for &(at, len) in marks.into_iter().flatten() {
            if (at as usize) < column {
                shift += (len as usize).min(column - at as usize);
            }
        }
        column.saturating_sub(shift).max(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_tags_only() {
        let m = Marked::new("<p>{{#if (lt a \"<b>\")}}ü<em>{{x}}</em>{{/if}}\n {{!-- <q> --}}</p>", 0);
        assert_eq!(
            m.text,
            "<?m 0 1 1?><p>{{#if (lt a \"<b>\")}}ü<?m 0 1 25?><em>{{x}}<?m 0 1 34?></em>{{/if}}\n \
             {{!-- <q> --}}<?m 0 2 16?></p>"
        );
        // `{{x}}` stands at column 29 of the template, after two marks of 11 and 12 characters.
        assert_eq!(m.column(1, 29 + 11 + 12), 29);
        assert_eq!(m.column(2, 2), 2);
    }
}
