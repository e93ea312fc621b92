"""Sets rows of words, read as JSON from stdin, with ReportLab and with Typst; prints name, ms, pages, bytes."""

import io
import json
import statistics
import sys
import time

RUNS = 7


def reportlab_pdf(rows):
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import LongTable, Paragraph, SimpleDocTemplate, TableStyle
    from xml.sax.saxutils import escape

    style = getSampleStyleSheet()["BodyText"]
    style.fontSize, style.leading = 8, 10
    lines = TableStyle([("LINEBELOW", (0, 0), (-1, -1), 0.4, "grey"), ("FONTSIZE", (0, 0), (-1, -1), 8)])
    flow = []
    for width, group in groups(rows):
        if width == 1:
            flow += [Paragraph(escape(row[0]), style) for row in group]
        else:
            # A cell of few words needs no paragraph of its own: what is cheapest for ReportLab.
            cells = [[cell if len(cell) < 24 else Paragraph(escape(cell), style) for cell in row] for row in group]
            flow.append(LongTable(cells, colWidths=[480 / width] * width, style=lines, repeatRows=1))
    out = io.BytesIO()
    SimpleDocTemplate(out, pagesize=A4).build(flow)
    return out.getvalue()


def typst_pdf(rows):
    import typst

    quoted = lambda text: json.dumps(text, ensure_ascii=False)
    parts = ["#set page(paper: \"a4\")\n#set text(size: 8pt, lang: \"en\")\n"]
    for width, group in groups(rows):
        if width == 1:
            parts += [f"#par({quoted(row[0])})\n" for row in group]
        else:
            cells = ", ".join(quoted(cell) for row in group[1:] for cell in row)
            head = ", ".join(quoted(cell) for cell in group[0])
            parts.append(f"#table(columns: {width}, table.header({head}), {cells})\n")
    return typst.compile("".join(parts).encode())


def groups(rows):
    """Rows that follow one another with as many cells are one table."""
    out = []
    for row in rows:
        if row and out and out[-1][0] == len(row):
            out[-1][1].append(row)
        elif row:
            out.append((len(row), [row]))
    return out


def pages(pdf):
    import re

    counts = re.findall(rb"/Count (\d+)", pdf)
    return max(map(int, counts)) if counts else 0


def main():
    rows = json.load(sys.stdin)
    for name, make in [("ReportLab", reportlab_pdf), ("Typst", typst_pdf)]:
        make(rows)
        times = []
        for run in range(RUNS):
            # Another word each time: Typst keeps what it has set before.
            rows[0] = [f"{rows[0][0]} {run}"] + rows[0][1:]
            start = time.perf_counter()
            made = make(rows)
            times.append((time.perf_counter() - start) * 1000)
        print(name, f"{statistics.median(times):.1f}", pages(made), len(made), sep="\t")


main()
