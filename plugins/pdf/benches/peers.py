"""Sets rows of words and vector plots, read as JSON from stdin, with ReportLab and with Typst; prints name, ms, pages,
bytes."""

import io
import json
import statistics
import sys
import time

RUNS = 7


def reportlab_pdf(given):
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import LongTable, Paragraph, SimpleDocTemplate, TableStyle
    from xml.sax.saxutils import escape

    style = getSampleStyleSheet()["BodyText"]
    style.fontSize, style.leading = 8, 10
    lines = TableStyle([("LINEBELOW", (0, 0), (-1, -1), 0.4, "grey"), ("FONTSIZE", (0, 0), (-1, -1), 8)])
    flow = []
    for width, group in groups(given["rows"]):
        if width == 1:
            flow += [Paragraph(escape(row[0]), style) for row in group]
        else:
            # A cell of few words needs no paragraph of its own: what is cheapest for ReportLab.
            cells = [[cell if len(cell) < 24 else Paragraph(escape(cell), style) for cell in row] for row in group]
            flow.append(LongTable(cells, colWidths=[480 / width] * width, style=lines, repeatRows=1))
    out = io.BytesIO()
    SimpleDocTemplate(out, pagesize=A4).build(flow)
    return out.getvalue()


def reportlab_like_ours(given):
    """The words in the report's own fonts, embedded; the plots; a running line on each page; an outline."""
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.platypus import Flowable, LongTable, Paragraph, SimpleDocTemplate, TableStyle
    from xml.sax.saxutils import escape

    # Read once by ReportLab and kept, as the templates and fonts of the others are.
    for name, file in given["fonts"].items():
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, file))

    class Plot(Flowable):
        def __init__(self, plot):
            super().__init__()
            self.plot, self.width, self.height = plot, plot["width"], plot["height"]

        def draw(self):
            for shape in self.plot["shapes"]:
                draw_shape(self.canv, self.height, shape)

    class Mark(Flowable):
        """A place that the outline leads to."""

        def __init__(self, key, title):
            super().__init__()
            self.key, self.title = key, title

        def draw(self):
            self.canv.bookmarkPage(self.key)
            self.canv.addOutlineEntry(self.title, self.key)

    style = getSampleStyleSheet()["BodyText"]
    style.fontName, style.fontSize, style.leading = "regular", 8, 10
    lines = TableStyle(
        [
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, "grey"),
            ("FONT", (0, 0), (-1, -1), "regular", 8),
            ("FONT", (0, 0), (-1, 0), "semibold", 8),
        ]
    )
    flow = [Plot(plot) for plot in given["plots"]]
    for at, (width, group) in enumerate(groups(given["rows"])):
        if width == 1:
            flow += [Paragraph(escape(row[0]), style) for row in group]
        else:
            flow.append(Mark(f"t{at}", group[0][0] or "table"))
            cells = [[cell if len(cell) < 24 else Paragraph(escape(cell), style) for cell in row] for row in group]
            flow.append(LongTable(cells, colWidths=[480 / width] * width, style=lines, repeatRows=1))

    def running(canvas, document):
        canvas.setFont("regular", 7)
        canvas.drawString(56, 30, f"{given['rows'][0][0]}, page {document.page}")

    out = io.BytesIO()
    SimpleDocTemplate(out, pagesize=A4, title=given["rows"][0][0]).build(flow, onFirstPage=running, onLaterPages=running)
    return out.getvalue()


def draw_shape(canvas, height, shape):
    """A shape of a plot: its y grows downwards, that of a page upwards."""
    kind = shape["kind"]
    if kind == "label":
        canvas.setFillColorRGB(*shape["fill"])
        canvas.setFont(shape["font"], shape["size"])
        draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
        draw[shape["anchor"]](shape["x"], height - shape["y"], shape["text"])
        return
    if kind == "clip":
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(shape["x"], height - shape["y"] - shape["height"], shape["width"], shape["height"])
        canvas.clipPath(path, stroke=0, fill=0)
        for inner in shape["shapes"]:
            draw_shape(canvas, height, inner)
        canvas.restoreState()
        return
    fill, pen = shape["fill"], shape["pen"]
    if fill:
        canvas.setFillColorRGB(*fill)
    if pen:
        canvas.setStrokeColorRGB(*pen["colour"])
        canvas.setLineWidth(pen["width"])
        canvas.setDash(pen["dash"] or [])
    how = {"stroke": 1 if pen else 0, "fill": 1 if fill else 0}
    if kind == "rect":
        canvas.rect(shape["x"], height - shape["y"] - shape["height"], shape["width"], shape["height"], **how)
    elif kind == "circle":
        canvas.circle(shape["x"], height - shape["y"], shape["radius"], **how)
    else:
        path = canvas.beginPath()
        (x, y), *more = shape["points"]
        path.moveTo(x, height - y)
        for x, y in more:
            path.lineTo(x, height - y)
        if shape["closed"]:
            path.close()
        canvas.drawPath(path, **how)


def typst_pdf(given):
    import typst

    quoted = lambda text: json.dumps(text, ensure_ascii=False)
    parts = ["#set page(paper: \"a4\")\n#set text(size: 8pt, lang: \"en\")\n"]
    for width, group in groups(given["rows"]):
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

    # An outline has a count too, but no kids.
    counts = re.findall(rb"/Count (\d+)\s*/Kids", pdf)
    return max(map(int, counts)) if counts else 0


def main():
    given = json.load(sys.stdin)
    rows = given["rows"]
    engines = [
        ("ReportLab, words only", reportlab_pdf),
        ("ReportLab, with fonts and plots", reportlab_like_ours),
        ("Typst", typst_pdf),
    ]
    for name, make in engines:
        made = make(given)
        times = []
        for run in range(RUNS):
            # Another word each time: Typst keeps what it has set before.
            rows[0] = [f"{rows[0][0]} {run}"] + rows[0][1:]
            # The lesser of both: other work of the machine does not count, nor do threads that work beside each other.
            clock, processor = time.perf_counter(), time.process_time()
            made = make(given)
            times.append(min(time.perf_counter() - clock, time.process_time() - processor) * 1000)
        print(name, f"{statistics.median(times):.1f}", pages(made), len(made), sep="\t")


main()
