#!/usr/bin/env python3
"""Asks pikepdf's PDF/A checker (an allow list after the veraPDF rule catalogue) about files written as PDF/A-3a.

usage: judge_pdfa.py FILE.pdf...      exit 0: all accepted as 3b, 1: some refused, 2: usage

It knows no level "a", so it is asked for 3b. It refuses three things that ISO 19005-3 allows and that it does not know;
exactly these are left out of its findings, and the file is asked about once more with these three put into the form
that it knows, which it must then accept whole:
  1. /CIDSet in a subset font, which it does not check;
  2. a /Dest that is an indirect reference, in an outline entry or in a link (ISO 32000-1 12.3.2 and 7.3.10 allow it);
  3. the XMP extension schema block with what it declares (pdfuaid), xmpTPg:NPages, the history, and the level letter.
It is not a full PDF/A validator; none is to be had from the public registries.
"""
import io
import re
import sys

import pikepdf
from pikepdf import pdfa

KNOWN = [
    ("ISO_19005_3:6.2.11.4.2-2", r"/CIDSet on a CIDFontType2 subset is not checked"),
    ("pikepdf:schema-OutlineItem", r"/Dest: '\d+ 0 R' is not valid under any of the given schemas"),
    ("pikepdf:schema-LinkAnnot", r"/Dest: '\d+ 0 R' is not valid under any of the given schemas"),
    ("ISO_19005_3:6.6.2.3.1-1", r"XMP namespace (xmpTPg|pdfaExtension|pdfaSchema|pdfaProperty)=\S+ is not permitted"),
    ("ISO_19005_3:6.6.2.3.1-1", r"XMP property (pdfaExtension:schemas|pdfuaid:part|xmpTPg:NPages) is not permitted"),
    ("ISO_19005_3:6.6.2.3.1-2", r"the content of structured XMP property xmpMM:History is not checked"),
    ("ISO_19005_3:6.6.4-3", r"pdfaid:conformance is 'A', expected 'B'"),
]


def is_known(finding):
    return any(finding.rule == rule and re.search(message + "$", str(finding)) for rule, message in KNOWN)


def plain_metadata(xmp):
    """The XMP without the blocks that the checker does not know."""
    xmp = re.sub(r"<pdfaExtension:schemas>.*?</pdfaExtension:schemas>", "", xmp, flags=re.S)
    xmp = re.sub(r"<xmpMM:History>.*?</xmpMM:History>", "", xmp, flags=re.S)
    xmp = re.sub(r"<(xmpTPg:NPages|pdfuaid:part)>[^<]*</\1>", "", xmp)
    xmp = re.sub(r"\s+xmlns:(xmpTPg|pdfaExtension|pdfaSchema|pdfaProperty|pdfuaid|stEvt)=\"[^\"]*\"", "", xmp)
    return xmp.replace("<pdfaid:conformance>A<", "<pdfaid:conformance>B<")


def normalised(path):
    """The same file with the three things in the form that the checker knows."""
    pdf = pikepdf.open(path)
    for thing in pdf.objects:
        if not isinstance(thing, pikepdf.Dictionary):
            continue
        if thing.get("/Type") == "/FontDescriptor" and "/CIDSet" in thing:
            del thing["/CIDSet"]
        if thing.get("/Subtype") == "/Link" and isinstance(thing.get("/Dest"), pikepdf.Array):
            thing["/Dest"] = pikepdf.Array(list(thing["/Dest"]))

    def inline(entry):
        while entry is not None:
            if "/Dest" in entry and isinstance(entry["/Dest"], pikepdf.Array):
                entry["/Dest"] = pikepdf.Array(list(entry["/Dest"]))
            if "/First" in entry:
                inline(entry["/First"])
            entry = entry.get("/Next")

    if "/Outlines" in pdf.Root and "/First" in pdf.Root.Outlines:
        inline(pdf.Root.Outlines.First)
    xmp = pdf.Root.Metadata.read_bytes().decode("utf-8")
    pdf.Root.Metadata.write(plain_metadata(xmp).encode("utf-8"))
    out = io.BytesIO()
    pdf.save(out, fix_metadata_version=False)
    out.seek(0)
    return out


def judge(path):
    as_written = [finding for finding in pdfa.validate_written(path, "3b").findings if not is_known(finding)]
    as_known = list(pdfa.validate_written(normalised(path), "3b").findings)
    return as_written, as_known


def main(paths):
    if not paths:
        print(__doc__)
        return 2
    refused = False
    for path in paths:
        as_written, as_known = judge(path)
        print(path, "refused" if as_written or as_known else "accepted as PDF/A-3b but for the three known gaps")
        for label, findings in (("as written", as_written), ("in the known form", as_known)):
            for finding in findings:
                print("  ", label + ":", str(finding)[:300])
        refused |= bool(as_written or as_known)
    return int(refused)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
