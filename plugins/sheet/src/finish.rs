//! Makes the set document the same for the same content: what the PDF library draws by lot or from the clock is
//! replaced, equal parts are kept once, objects get their numbers from their place, and streams are compressed.
//!
//! Only bytes that were made here a moment ago are read: never a file from outside.

use lopdf::{Dictionary, Document, Object, ObjectId, Stream, StringFormat};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// What can't be finished.
pub(crate) type Trouble = String;

/// Finishes a document.
pub(crate) fn finish(pdf: &[u8], title: &str, program: &str) -> Result<Vec<u8>, Trouble> {
    let made = Document::load_mem(pdf).map_err(|error| error.to_string())?;
    let mut catalog = made.catalog().map_err(|error| error.to_string())?.clone();
    // Dates, random names and a colour profile that no printer of a sheet needs.
    for key in [b"Metadata".as_slice(), b"OutputIntents", b"Outlines", b"OCProperties"] {
        catalog.remove(key);
    }
    let mut copy = Copy {
        made: &made,
        new: Document::with_version("1.5"),
        known: BTreeMap::new(),
        equal: BTreeMap::new(),
    };
    let catalog = copy.dictionary(&catalog, 0)?;
    let mut new = copy.new;
    let root = new.add_object(Object::Dictionary(catalog));
    let mut about = Dictionary::new();
    about.set("Title", utf16(title));
    about.set("Creator", utf16(program));
    let about = new.add_object(Object::Dictionary(about));
    new.trailer.set("Root", Object::Reference(root));
    new.trailer.set("Info", Object::Reference(about));
    let mut digest = Sha256::new();
    for (id, object) in &new.objects {
        digest.update(format!("{id:?}{object:?}").as_bytes());
    }
    let id = digest.finalize().iter().take(16).copied().collect::<Vec<u8>>();
    let id = Object::String(id, StringFormat::Hexadecimal);
    new.trailer.set("ID", Object::Array(vec![id.clone(), id]));
    let mut bytes = Vec::new();
    new.save_to(&mut bytes).map_err(|error| error.to_string())?;
    Ok(bytes)
}

/// A text as PDF has it outside Latin.
fn utf16(text: &str) -> Object {
    let bytes = [0xFE, 0xFF].into_iter().chain(text.encode_utf16().flat_map(u16::to_be_bytes)).collect();
    Object::String(bytes, StringFormat::Hexadecimal)
}

/// Copies what can be reached, in an order that follows from the content alone.
struct Copy<'a> {
    made: &'a Document,
    new: Document,
    known: BTreeMap<ObjectId, ObjectId>,
    /// Streams by digest: each font comes once.
    equal: BTreeMap<Vec<u8>, ObjectId>,
}

/// Deeper than any sheet nests.
const DEEPEST: u8 = 60;

impl Copy<'_> {
    fn dictionary(&mut self, old: &Dictionary, depth: u8) -> Result<Dictionary, Trouble> {
        let mut keys: Vec<&Vec<u8>> = old.iter().map(|(key, _)| key).collect();
        keys.sort();
        let mut new = Dictionary::new();
        for key in keys {
            let value = old.get(key).map_err(|error| error.to_string())?;
            let value = self.object(value, depth + 1)?;
            new.set(key.clone(), value);
        }
        Ok(new)
    }

    fn object(&mut self, old: &Object, depth: u8) -> Result<Object, Trouble> {
        if depth > DEEPEST {
            return Err("the document nests too deep".to_owned());
        }
        Ok(match old {
            Object::Reference(id) => Object::Reference(self.reference(*id, depth)?),
            Object::Array(items) => {
                let items: Result<Vec<_>, _> =
                    items.iter().map(|item| self.object(item, depth + 1)).collect();
                Object::Array(items?)
            }
            Object::Dictionary(old) => Object::Dictionary(self.dictionary(old, depth)?),
            other => other.clone(),
        })
    }

    fn reference(&mut self, old: ObjectId, depth: u8) -> Result<ObjectId, Trouble> {
        if let Some(new) = self.known.get(&old) {
            return Ok(*new);
        }
        match self.made.get_object(old).map_err(|error| error.to_string())? {
            Object::Stream(stream) => {
                let mut digest = Sha256::new();
                digest.update(&stream.content);
                digest.update(format!("{:?}", stream.dict.get(b"Subtype").ok()).as_bytes());
                let digest = digest.finalize().to_vec();
                if let Some(new) = self.equal.get(&digest) {
                    self.known.insert(old, *new);
                    return Ok(*new);
                }
                let dict = self.dictionary(&stream.dict.clone(), depth + 1)?;
                let mut copied = Stream::new(dict, stream.content.clone());
                copied.compress().map_err(|error| error.to_string())?;
                let new = self.new.add_object(Object::Stream(copied));
                self.equal.insert(digest, new);
                self.known.insert(old, new);
                Ok(new)
            }
            object => {
                // The number stands before the content is copied: pages point back at their parent.
                let new = self.new.add_object(Object::Null);
                self.known.insert(old, new);
                let copied = self.object(&object.clone(), depth + 1)?;
                self.new.objects.insert(new, copied);
                Ok(new)
            }
        }
    }
}
