#!/usr/bin/env python3
"""Asks poppler, qpdf, pikepdf, pypdf and pdfua about a PDF report.

usage: judge_pdf.py FILE.pdf...       one line a check; exit 0: all say yes, 1: some say no, 2: usage

Looked at: syntax, title, language, tags, embedded fonts that map to Unicode, embedded files, no script, no action on
opening, no encryption, and the part of the PDF/UA-1 rules that pdfua knows.
"""
import os
import re
import subprocess
import sys

import pikepdf
import pypdf

# poppler 22 calls this Boolean a wrong type; ISO 32000-1, table 321, says Boolean.
POPPLER_ERRS = "Syntax Error: Suspects object is wrong type (boolean)"


def tool(*command):
    done = subprocess.run(command, capture_output=True, timeout=300)
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


def by_poppler(path):
    code, told, errors = tool("pdfinfo", path)
    errors = [line for line in errors.splitlines() if line.strip() and line.strip() != POPPLER_ERRS]
    yield "pdfinfo reads it", code == 0 and not errors, "; ".join(errors)
    title = re.search(r"^Title:\s*(\S.*)$", told, re.M)
    yield "it has a title", bool(title), title.group(1) if title else ""
    yield "it is tagged", bool(re.search(r"^Tagged:\s*yes", told, re.M)), ""
    yield "it holds no script", bool(re.search(r"^JavaScript:\s*no", told, re.M)), ""
    code, told, errors = tool("pdffonts", path)
    rows = [re.search(r"\s(yes|no)\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+\s*$", line) for line in told.splitlines()[2:]]
    yield "it has fonts", code == 0 and bool(rows), "%d" % len(rows)
    yield "every font is embedded", all(row and row.group(1) == "yes" for row in rows), ""
    yield "every font maps to Unicode", all(row and row.group(3) == "yes" for row in rows), ""
    code, told, errors = tool("pdftotext", "-enc", "UTF-8", path, "-")
    yield "it holds text", code == 0 and bool(told.strip()), "%d characters" % len(told)
    yield "no character is lost", "\ufffd" not in told, ""


def by_qpdf(path):
    code, told, errors = tool("qpdf", "--check", path)
    yield "qpdf accepts its syntax", code == 0, "" if code == 0 else (told + errors)[-400:]


def by_pikepdf(path):
    with pikepdf.open(path) as pdf:
        problems = pdf.check_pdf_syntax()
        yield "pikepdf accepts its syntax", not problems, "; ".join(map(str, problems))
        yield "it names its language", "/Lang" in pdf.Root, str(pdf.Root.get("/Lang", ""))
        yield "nothing happens on opening", "/OpenAction" not in pdf.Root and "/AA" not in pdf.Root, ""
        yield "it is not encrypted", not pdf.is_encrypted, ""
        yield "it has a file identity", "/ID" in pdf.trailer, ""
        yield "it embeds a file", len(pdf.attachments) > 0, ", ".join(sorted(pdf.attachments))


def by_pypdf(path):
    pages = len(pypdf.PdfReader(path, strict=True).pages)
    yield "pypdf reads it strictly", pages > 0, "%d pages" % pages


def by_pdfua(path):
    code, told, errors = tool(os.path.join(os.path.dirname(sys.executable), "pdfua"), "check", path)
    yield "pdfua accepts it (a part of the rules)", code == 0, (told + errors).strip()[-400:] if code else ""


def main(paths):
    if not paths:
        print(__doc__)
        return 2
    refused = False
    for path in paths:
        for judge in (by_poppler, by_qpdf, by_pikepdf, by_pypdf, by_pdfua):
            try:
                answers = list(judge(path))
            except Exception as error:  # a judge that stumbles over the file says no to it
                answers = [(judge.__name__, False, repr(error))]
            for name, yes, detail in answers:
                print("%-4s %s%s" % ("yes" if yes else "NO", name, ": " + detail.replace("\n", " ") if detail else ""))
                refused |= not yes
    return int(refused)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
