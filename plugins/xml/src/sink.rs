//! Where the elements of the summary go: XML events.

use crate::NAMESPACE;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};
use quick_xml::writer::Writer;

/// Takes the elements of a document in order.
pub(crate) trait Sink {
    /// An element begins.
    fn start(&mut self, name: &'static str, attributes: &[(&'static str, String)]);
    /// Its text.
    fn text(&mut self, text: &str);
    /// It ends.
    fn end(&mut self, name: &'static str);
}

/// Writes elements as XML 1.0 in UTF-8, indented by one space.
pub(crate) struct XmlSink {
    writer: Writer<Vec<u8>>,
    /// An element whose start was not written yet: it may be empty.
    waiting: Option<BytesStart<'static>>,
    depth: usize,
}

impl XmlSink {
    /// A document with nothing but its declaration.
    pub(crate) fn new() -> Self {
        let writer = Writer::new_with_indent(Vec::new(), b' ', 1);
        let mut sink = Self { writer, waiting: None, depth: 0 };
        sink.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        sink
    }

    /// The bytes of the document.
    pub(crate) fn into_bytes(self) -> Vec<u8> {
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        bytes
    }

    fn event(&mut self, event: Event<'_>) {
        // A Vec takes every write.
        let _ = self.writer.write_event(event);
    }

    fn release(&mut self) {
        if let Some(start) = self.waiting.take() {
            self.event(Event::Start(start));
        }
    }
}

impl Sink for XmlSink {
    fn start(&mut self, name: &'static str, attributes: &[(&'static str, String)]) {
        self.release();
        let mut start = BytesStart::new(name);
        if self.depth == 0 {
            start.push_attribute(("xmlns", NAMESPACE));
        }
        for (key, value) in attributes {
            start.push_attribute((*key, value.as_str()));
        }
        self.waiting = Some(start);
        self.depth += 1;
    }

    fn text(&mut self, text: &str) {
        if text.is_empty() {
            return;
        }
        self.release();
        self.event(Event::Text(BytesText::new(text)));
    }

    fn end(&mut self, name: &'static str) {
        self.depth = self.depth.saturating_sub(1);
        match self.waiting.take() {
            Some(start) => self.event(Event::Empty(start)),
            None => self.event(Event::End(BytesEnd::new(name))),
        }
    }
}
