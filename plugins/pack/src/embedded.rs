//! The files that a PDF carries inside.

use crate::names::shown;
use crate::pdf_objects::{Dict, Object, Objects};
use flate2::read::ZlibDecoder;
use std::io::Read;

/// Levels of the tree of names that are followed; a PDF of ours has one.
const DEEPEST: usize = 16;
/// Most files and branches taken from one PDF.
const MOST: usize = 1000;

/// A file inside a PDF.
#[derive(Debug)]
pub(crate) struct Embedded {
    pub(crate) name: String,
    /// As the PDF stores it.
    packed: Vec<u8>,
    deflated: bool,
}

impl Embedded {
    /// Whether its bytes are these. Never unpacks more than that many and one.
    pub(crate) fn compare(&self, expected: &[u8]) -> Result<bool, String> {
        if !self.deflated {
            return Ok(self.packed == expected);
        }
        let mut bytes = Vec::new();
        let most = expected.len() as u64 + 1;
        ZlibDecoder::new(self.packed.as_slice())
            .take(most)
            .read_to_end(&mut bytes)
            .map_err(|_| "can't be unpacked".to_owned())?;
        Ok(bytes == expected)
    }
}

/// The files in the PDF's list of embedded files, in its order. Nothing is unpacked.
pub(crate) fn embedded_files(pdf: &[u8]) -> Result<Vec<Embedded>, String> {
    let objects = Objects::read(pdf)?;
    let catalog = objects.dict(objects.trailer.get("Root"))?.ok_or("has no catalogue of its content")?;
    let mut work = Work { objects, files: Vec::new(), branches: 0, bytes: pdf.len() };
    if let Some(names) = work.objects.dict(catalog.get("Names"))?
        && let Some(tree) = work.objects.dict(names.get("EmbeddedFiles"))?
    {
        work.branch(&tree, DEEPEST)?;
    }
    Ok(work.files)
}

struct Work<'a> {
    objects: Objects<'a>,
    files: Vec<Embedded>,
    branches: usize,
    /// How many more bytes are copied out of the PDF: a stream that is named often is not copied as often.
    bytes: usize,
}

impl Work<'_> {
    fn branch(&mut self, node: &Dict, deeper: usize) -> Result<(), String> {
        self.branches += 1;
        if deeper == 0 || self.branches > MOST {
            return Err("has a list of embedded files that can't be followed".to_owned());
        }
        if let Some(Object::List(leaves)) = self.objects.resolved(node.get("Names"))? {
            for leaf in leaves.chunks(2) {
                let [_, file] = leaf else {
                    return Err("has a list of embedded files that is cut short".to_owned());
                };
                let Some(file) = self.objects.dict(Some(file))? else { continue };
                if self.files.len() >= MOST {
                    return Err("has a list of embedded files that can't be followed".to_owned());
                }
                self.one(&file)?;
            }
        }
        if let Some(Object::List(kids)) = self.objects.resolved(node.get("Kids"))? {
            for kid in &kids {
                if let Some(kid) = self.objects.dict(Some(kid))? {
                    self.branch(&kid, deeper - 1)?;
                }
            }
        }
        Ok(())
    }

    fn one(&mut self, file: &Dict) -> Result<(), String> {
        let named = match self.objects.resolved(file.get("UF"))? {
            Some(Object::Text(name)) => Some(name),
            _ => match self.objects.resolved(file.get("F"))? {
                Some(Object::Text(name)) => Some(name),
                _ => None,
            },
        };
        let name = text(&named.ok_or("names a file inside it without a name")?);
        let held = self.objects.dict(file.get("EF"))?.unwrap_or_default();
        let stream = self.objects.stream(held.get("UF").or_else(|| held.get("F")))?;
        let (dict, bytes) = stream.ok_or_else(|| format!("names `{}` and does not hold it", shown(&name)))?;
        let filter = match self.objects.resolved(dict.get("Filter"))? {
            Some(Object::List(list)) if list.len() == 1 => self.objects.resolved(list.first())?,
            other => other,
        };
        let deflated = match filter {
            None => false,
            Some(Object::Name(name)) if name == b"FlateDecode" && dict.get("DecodeParms").is_none() => true,
            Some(_) => {
                return Err(format!("holds `{}` packed in a way that is not read here", shown(&name)));
            }
        };
        self.bytes = self
            .bytes
            .checked_sub(bytes.len())
            .ok_or("has a list of embedded files that can't be followed")?;
        self.files.push(Embedded { name, packed: bytes.to_vec(), deflated });
        Ok(())
    }
}

/// A text string of a PDF: UTF-16 with a mark, UTF-8 with a mark, or (for what we compare) ASCII.
fn text(bytes: &[u8]) -> String {
    match bytes {
        [0xFE, 0xFF, rest @ ..] => {
            let (pairs, _) = rest.as_chunks::<2>();
            String::from_utf16_lossy(&pairs.iter().map(|pair| u16::from_be_bytes(*pair)).collect::<Vec<_>>())
        }
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        other => String::from_utf8_lossy(other).into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::Compression;
    use flate2::write::ZlibEncoder;
    use std::io::Write;

    /// A PDF of these objects, numbered from 1; the trailer is given.
    fn pdf(objects: &[Vec<u8>], trailer: &str) -> Vec<u8> {
        let mut bytes = b"%PDF-1.7\n".to_vec();
        let mut offsets = Vec::new();
        for (at, object) in objects.iter().enumerate() {
            offsets.push(bytes.len());
            bytes.extend(format!("{} 0 obj\n", at + 1).as_bytes());
            bytes.extend(object);
            bytes.extend(b"\nendobj\n");
        }
        let start = bytes.len();
        bytes.extend(format!("xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1).as_bytes());
        for offset in offsets {
            bytes.extend(format!("{offset:010} 00000 n \n").as_bytes());
        }
        bytes.extend(format!("trailer\n{trailer}\nstartxref\n{start}\n%%EOF\n").as_bytes());
        bytes
    }

    fn stream(dict: &str, bytes: &[u8]) -> Vec<u8> {
        [format!("<<{dict}/Length {}>>\nstream\n", bytes.len()).as_bytes(), bytes, b"\nendstream"].concat()
    }

    fn holding(stream: Vec<u8>, trailer: &str) -> Vec<u8> {
        let root = b"<</Type/Catalog/Names<</EmbeddedFiles<</Names[(r.json) 2 0 R]>>>>>>".to_vec();
        let file = b"<</Type/Filespec/F(r.json)/EF<</F 3 0 R>>>>".to_vec();
        pdf(&[root, file, stream], trailer)
    }

    const TRAILER: &str = "<</Size 4/Root 1 0 R>>";

    #[test]
    fn a_file_inside_is_compared() {
        let mut packer = ZlibEncoder::new(Vec::new(), Compression::new(6));
        packer.write_all(b"{\"schema\":1}").unwrap();
        for stream in
            [stream("", b"{\"schema\":1}"), stream("/Filter/FlateDecode", &packer.finish().unwrap())]
        {
            let files = embedded_files(&holding(stream, TRAILER)).unwrap();
            assert_eq!((files.len(), files[0].name.as_str()), (1, "r.json"));
            assert_eq!(files[0].compare(b"{\"schema\":1}"), Ok(true));
            assert_eq!(files[0].compare(b"{\"schema\":2}"), Ok(false));
        }
    }

    /// 256 MB of nothing in 0.3 MB: unpacked no further than what it is compared with.
    #[test]
    fn a_bomb_inside_is_not_unpacked() {
        let mut packer = ZlibEncoder::new(Vec::new(), Compression::new(9));
        let nothing = vec![0; 1 << 20];
        for _ in 0..256 {
            packer.write_all(&nothing).unwrap();
        }
        let bomb = packer.finish().unwrap();
        assert!(bomb.len() < 1 << 20);
        let files = embedded_files(&holding(stream("/Filter/FlateDecode", &bomb), TRAILER)).unwrap();
        assert_eq!(files[0].compare(b"{}"), Ok(false));
        // Objects packed in a stream: that stream is never looked into.
        let packed = stream("/Type/ObjStm/N 1/First 4/Filter/FlateDecode", &bomb);
        let table = stream("/Type/XRef/Size 4/W[1 2 1]/Root 1 0 R/Filter/FlateDecode", &bomb);
        let mut file = pdf(&[packed, table], "<</Size 3/Root 1 0 R>>");
        assert!(embedded_files(&file).unwrap().is_empty());
        // The table itself as a stream.
        let place = file.windows(7).position(|window| window == b"2 0 obj").unwrap();
        file.extend(format!("startxref\n{place}\n%%EOF\n").as_bytes());
        assert_eq!(embedded_files(&file).unwrap_err(), "is no PDF of the form that our papers have");
    }

    #[test]
    fn forms_that_could_show_two_contents_are_refused() {
        let plain = || stream("", b"{}");
        let refused = |trailer: &str| embedded_files(&holding(plain(), trailer)).unwrap_err();
        assert!(refused("<</Size 4/Root 1 0 R/Prev 9>>").contains("second table"));
        assert!(refused("<</Size 4/Root 1 0 R/XRefStm 9>>").contains("second table"));
        assert!(refused("<</Size 4/Root 1 0 R/#45ncrypt 2 0 R>>").contains("encrypted"));
        assert!(refused("<</Size 4/Root 1 0 R/Root 2 0 R>>").contains("twice"));
        assert!(refused("<</Size 4/Root 9 0 R>>").contains("object 9"));
        assert!(refused("<</Size 4>>").contains("no catalogue"));
        assert!(embedded_files(b"%PDF-1.7 and nothing more").is_err());
        assert!(embedded_files(b"no PDF").is_err());
    }

    /// A tree of names that leads to itself, and one stream under a thousand names.
    #[test]
    fn circles_end() {
        let root = b"<</Names<</EmbeddedFiles 2 0 R>>>>".to_vec();
        let circle = pdf(&[root, b"<</Kids[2 0 R 2 0 R]>>".to_vec()], "<</Root 1 0 R>>");
        assert!(embedded_files(&circle).unwrap_err().contains("can't be followed"));
        let length = pdf(
            &[
                b"<</Names<</EmbeddedFiles<</Names[(a) 2 0 R]>>>>>>".to_vec(),
                b"<</F(a)/EF<</F 3 0 R>>>>".to_vec(),
                b"<</Length 3 0 R>>\nstream\nabc\nendstream".to_vec(),
            ],
            "<</Root 1 0 R>>",
        );
        assert!(embedded_files(&length).unwrap_err().contains("cut short"));
        let many = format!("<</Names<</EmbeddedFiles<</Names[{}]>>>>>>", "(a) 2 0 R ".repeat(900));
        let many = pdf(
            &[many.into_bytes(), b"<</F(a)/EF<</F 3 0 R>>>>".to_vec(), stream("", &vec![b'x'; 100_000])],
            "<</Root 1 0 R>>",
        );
        assert!(embedded_files(&many).unwrap_err().contains("can't be followed"));
    }
}
