//! A journal as a server keeps it: the form on the first line, then an entry or a photo a line.

use crate::file::{FormFile, Head};
use serde::Deserialize;
use serde_json::value::RawValue;

/// A line that is a photo.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Photo {
    photo: String,
    base64: String,
}

/// Why a journal can't be read: the row, and why.
pub(crate) type Trouble = (u64, String);

/// The form, and the row of a last line that was cut off.
pub(crate) type Whole<'a> = (FormFile<'a>, Option<u64>);

/// Reads such a journal; none where the text is not laid out so.
pub(crate) fn lines(text: &str) -> Option<Result<Whole<'_>, Trouble>> {
    let first = text.split_inclusive('\n').next().filter(|line| line.ends_with('\n'))?;
    let head: Head = match serde_json::from_str(first) {
        Ok(head) => head,
        // A form that was saved by the page begins with a brace on a line of its own.
        Err(error) if error.is_eof() => return None,
        Err(error) => return Some(Err((1, error.to_string()))),
    };
    let mut file = FormFile::of(head);
    for (line, row) in text.split_inclusive('\n').zip(1u64..).skip(1) {
        let Some(line) = line.strip_suffix('\n') else { return Some(Ok((file, Some(row)))) };
        match serde_json::from_str::<Photo>(line) {
            Ok(photo) => {
                file.photos.insert(photo.photo, photo.base64);
            }
            Err(_) => match serde_json::from_str::<&RawValue>(line) {
                Ok(entry) => file.journal.push(entry),
                Err(error) => return Some(Err((row, error.to_string()))),
            },
        }
    }
    Some(Ok((file, None)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = r#"{"form":1,"id":"i","program":"p","standard":null,"plan":[],"facts":{}}"#;

    #[test]
    fn entries_photos_and_a_cut_off_line_are_told_apart() {
        let text = format!(
            "{HEAD}\n{{\"n\":1}}\n{{\"photo\":\"p.jpg\",\"base64\":\"AAAA\"}}\n{{\"n\":2}}\n{{\"n\":3,\"k"
        );
        let Some(Ok((file, cut))) = lines(&text) else { panic!("not read") };
        assert_eq!((file.journal.len(), file.photos.len(), cut), (2, 1, Some(5)));
        assert!(matches!(lines(&format!("{HEAD}\nnonsense\n")), Some(Err((2, _)))));
        assert!(lines("{\n\"form\": 1,\n").is_none());
    }
}
