"""Writes the workbooks of these fixtures with openpyxl 3.1.5 and odfpy 1.4.1 (PyPI), outside writers; run it by hand,
in this folder.

Cells that hold formulas are given the result that a spreadsheet program would store, since openpyxl stores none.
"""
import datetime
import io
import pathlib
import re
import zipfile

import openpyxl
from openpyxl.utils import get_column_letter

HERE = pathlib.Path(__file__).parent
HEAD = ["Point", "Mode", "Polarity", "Voltage [kV]", "Discharges", "Remark"]
# The same file from every run: openpyxl writes the time of saving.
FIXED = datetime.datetime(2026, 3, 12, 9, 0, 0)


def book(*sheets):
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets:
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return made


def save(name, made, results=None):
    folder = HERE / name
    folder.mkdir(exist_ok=True)
    made.properties.created = made.properties.modified = FIXED
    raw = io.BytesIO()
    made.save(raw)
    out = zipfile.ZipFile(folder / "input.xlsx", "w", zipfile.ZIP_DEFLATED)
    with zipfile.ZipFile(raw) as source:
        for entry in source.namelist():
            data = source.read(entry)
            if entry == "docProps/core.xml":
                data = re.sub(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2026-03-12T09:00:00Z", data)
            if results and entry == "xl/worksheets/sheet1.xml":
                for cell, value in results.items():
                    data = re.sub(
                        rb'(<c r="' + cell.encode() + rb'"[^>]*><f>[^<]*</f>)<v ?/>|(<c r="' + cell.encode() + rb'"[^>]*><f>[^<]*</f>)<v></v>',
                        lambda m: (m.group(1) or m.group(2)) + b"<v>" + value.encode() + b"</v>", data)
            info = zipfile.ZipInfo(entry, (2026, 3, 12, 9, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            out.writestr(info, data)
    out.close()


rows = [HEAD] + [["USB", "contact", p, v, 10, None] for v in (4, 6, 8) for p in "+-"]

save("ok-plain", book(("Log", rows)))

# Preamble, empty rows and columns before the table, notes on another sheet.
made = book(("Notes", [["Written by hand"]]), ("Log", []))
log = made["Log"]
log["B2"] = "Old Pumphouse Laboratory (invented)"
log["B3"] = "Generator G-1"
for r, row in enumerate(rows, 6):
    for c, value in enumerate(row, 2):
        log.cell(r, c, value)
save("ok-table-not-at-the-corner", made)

# Dates and times as the workbook stores them; voltages with digits after the point; signs on the voltage.
made = book(("Log", [["Date", "Time", "Point", "Mode", "kV", "Discharges"]]))
log = made["Log"]
for n, (point, kv) in enumerate([("USB", 2.5), ("USB", -2.5), ("M12", 12.125)]):
    log.append([datetime.date(2026, 3, 12), datetime.time(9, 30 + n, 15), point, "air", kv, 10])
save("ok-dates-and-decimals", made)

# Merged cells: the point covers its rows, and so does a number that is not ours to spread.
made = book(("Log", [HEAD[:5], ["USB", "contact", "+", 4, 10], [None, None, "-", 4, 10], ["M12", "contact", "+", 8, 10],
                     [None, None, "-", 8, None]]))
log = made["Log"]
for area in ("A2:A3", "B2:B3", "A4:A5", "B4:B5", "E4:E5"):
    log.merge_cells(area)
save("part-merged-count", made)

# Formulas with stored results.
made = book(("Log", [HEAD[:5], ["USB", "contact", "+", 4, "=5+5"], ["USB", "contact", "-", 4, "=E2"]]))
save("ok-formulas", made, {"E2": "10", "E3": "10"})

# A formula whose result was never stored: nothing is there to be read.
save("part-formula-without-result", book(("Log", [HEAD[:5], ["USB", "contact", "+", 4, 10], ["USB", "contact", "-", 4, "=E2"]])))

# Line breaks within a cell must not move the rows below it.
save("ok-line-break-in-cell", book(("Log", [HEAD, ["USB", "contact", "+", 4, 10, "tip worn,\nchanged"], ["USB", "contact", "-", 4, 10, None]])))

# A value that can't be read keeps its row and column as the sheet has them.
bad = [list(r) for r in rows]
bad[3][3] = "six"
save("part-bad-voltage", book(("Log", bad)))

# Two sheets that could be the log.
save("err-which-sheet", book(("Contact", rows), ("Air", [[c.replace("contact", "air") if isinstance(c, str) else c for c in r] for r in rows])))
save("ok-sheet-named", book(("Contact", rows), ("Air", [[c.replace("contact", "air") if isinstance(c, str) else c for c in r] for r in rows])))
save("err-no-such-sheet", book(("Contact", rows), ("Air", rows)))

# Hidden sheets are not taken for the log.
made = book(("Log", rows), ("Old", rows))
made["Old"].sheet_state = "hidden"
save("ok-hidden-sheet", made)

save("err-no-log", book(("A", [["x", "y"], [1, 2]]), ("B", [["x"], [1]])))

# Damaged and oversized files.
whole = (HERE / "ok-plain" / "input.xlsx").read_bytes()
(HERE / "err-cut-short").mkdir(exist_ok=True)
(HERE / "err-cut-short" / "input.xlsx").write_bytes(whole[: len(whole) * 2 // 3])
(HERE / "err-bomb").mkdir(exist_ok=True)
with zipfile.ZipFile(HERE / "err-bomb" / "input.xlsx", "w", zipfile.ZIP_DEFLATED, compresslevel=9) as bomb:
    with zipfile.ZipFile(HERE / "ok-plain" / "input.xlsx") as source:
        for entry in source.namelist():
            info = zipfile.ZipInfo(entry, (2026, 3, 12, 9, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            bomb.writestr(info, source.read(entry))
    for part in range(3):
        info = zipfile.ZipInfo(f"xl/media/blank{part}.bin", (2026, 3, 12, 9, 0, 0))
        info.compress_type = zipfile.ZIP_DEFLATED
        with bomb.open(info, "w") as sink:
            for _ in range(200):
                sink.write(bytes(1 << 20))

# A sheet whose cells lie far apart: small as a file, large as a table.
made = book(("Log", rows))
for r in range(1, 4):
    made["Log"].cell(r * 250000, 16384, "x")
save("ok-far-apart", made)

# The date system that counts from 1904.
made = book(("Log", [["Date", "Time", "Point", "Mode", "kV", "Discharges"]]))
made.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
for n, kv in enumerate((4, -4)):
    made["Log"].append([datetime.date(2026, 3, 12), datetime.time(9, 30 + n, 15), "USB", "air", kv, 10])
save("ok-dates-from-1904", made)


# OpenDocument spreadsheets.
from odf import office, table, text  # noqa: E402
from odf.opendocument import OpenDocumentSpreadsheet  # noqa: E402
from odf.style import Style, TableProperties  # noqa: E402


def ods_cell(value, **more):
    if value is None:
        return table.TableCell(**more)
    if isinstance(value, (int, float)):
        made = table.TableCell(valuetype="float", value=str(value), **more)
        made.addElement(text.P(text=str(value)))
    elif isinstance(value, datetime.date):
        made = table.TableCell(valuetype="date", datevalue=value.isoformat(), **more)
        made.addElement(text.P(text=value.strftime("%d.%m.%y")))
    elif isinstance(value, datetime.time):
        made = table.TableCell(valuetype="time", timevalue=value.strftime("PT%HH%MM%SS"), **more)
        made.addElement(text.P(text=value.strftime("%H:%M")))
    else:
        made = table.TableCell(valuetype="string", **more)
        for line in value.split("\n"):
            made.addElement(text.P(text=line))
    return made


def ods_sheet(name, rows, **more):
    made = table.Table(name=name, **more)
    for row in rows:
        line = table.TableRow()
        for value in row:
            line.addElement(value if hasattr(value, "qname") else ods_cell(value))
        made.addElement(line)
    return made


def save_ods(name, *sheets, styles=()):
    folder = HERE / name
    folder.mkdir(exist_ok=True)
    made = OpenDocumentSpreadsheet()
    for style in styles:
        made.automaticstyles.addElement(style)
    for sheet in sheets:
        made.spreadsheet.addElement(sheet)
    raw = io.BytesIO()
    made.write(raw)
    raw.seek(0)
    out = zipfile.ZipFile(folder / "input.ods", "w", zipfile.ZIP_DEFLATED)
    with zipfile.ZipFile(raw) as source:
        for entry in source.namelist():
            info = zipfile.ZipInfo(entry, (2026, 3, 12, 9, 0, 0))
            info.compress_type = zipfile.ZIP_STORED if entry == "mimetype" else zipfile.ZIP_DEFLATED
            data = re.sub(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d", b"2026-03-12T09:00:00", source.read(entry)) if entry == "meta.xml" else source.read(entry)
            out.writestr(info, data)
    out.close()


save_ods("ok-ods-plain", ods_sheet("Log", rows))
dated = [["Date", "Time", "Point", "Mode", "kV", "Discharges", "Remark"]]
for n, (point, kv) in enumerate([("USB", 2.5), ("USB", -2.5), ("M12", 12.125)]):
    dated.append([datetime.date(2026, 3, 12), datetime.time(9, 30 + n, 15), point, "air", kv, 10, "tip worn,\nchanged" if n == 1 else None])
save_ods("ok-ods-dates-and-decimals", ods_sheet("Log", dated))
over = lambda value, count: ods_cell(value, numberrowsspanned=str(count))
covered = lambda: table.CoveredTableCell()
save_ods("part-ods-merged-count", ods_sheet("Log", [
    HEAD[:5], [over("USB", 2), over("contact", 2), "+", 4, 10], [covered(), covered(), "-", 4, 10],
    [over("M12", 2), over("contact", 2), "+", 8, over(10, 2)], [covered(), covered(), "-", 8, covered()]]))
# Formulas with stored results; rows and cells that are repeated; a sheet that is not shown.
formula = lambda code, value: table.TableCell(valuetype="float", value=str(value), formula="of:=" + code)
repeated = ods_sheet("Log", [HEAD[:5], ["USB", "contact", "+", 4, formula("5+5", 10)]])
gap = table.TableRow(numberrowsrepeated="3")
gap.addElement(table.TableCell(numbercolumnsrepeated="1024"))
repeated.addElement(gap)
twice = table.TableRow(numberrowsrepeated="2")
for value in ("USB", "contact", "-"):
    twice.addElement(ods_cell(value))
twice.addElement(ods_cell(8, numbercolumnsrepeated="2"))
repeated.addElement(twice)
hidden = Style(name="hidden", family="table")
hidden.addElement(TableProperties(display="false"))
save_ods("ok-ods-repeated-and-hidden", repeated, ods_sheet("Old", rows, stylename="hidden"), styles=[hidden])
save_ods("err-ods-which-sheet", ods_sheet("Contact", rows), ods_sheet("Air", rows))
whole = (HERE / "ok-ods-plain" / "input.ods").read_bytes()
(HERE / "err-ods-cut-short").mkdir(exist_ok=True)
(HERE / "err-ods-cut-short" / "input.ods").write_bytes(whole[: len(whole) * 2 // 3])

# A row beyond the last that a sheet can have: counted in 32 bits it would be row 3.
(HERE / "err-reference-beyond-the-sheet").mkdir(exist_ok=True)
with zipfile.ZipFile(HERE / "ok-plain" / "input.xlsx") as source:
    with zipfile.ZipFile(HERE / "err-reference-beyond-the-sheet" / "input.xlsx", "w", zipfile.ZIP_DEFLATED) as out:
        for entry in source.namelist():
            data = source.read(entry)
            if entry == "xl/worksheets/sheet1.xml":
                data = data.replace(b'r="A3"', b'r="A4294967299"')
            info = zipfile.ZipInfo(entry, (2026, 3, 12, 9, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            out.writestr(info, data)

# Workbooks of which several sheets are read, for the cases of the whole program.
CASES = HERE.parent.parent.parent / "tests" / "cases" / "xlsx"
contact = [HEAD] + [["USB", "contact", p, v, 10, None] for v in (4, 6, 8) for p in "+-"]
air = [["Point", "Mode", "Polarity", "Voltage [kV]", "Discharges", "Remark"]]
air += [["WINDOW", "air", p, v, 10, None] for v in (2, 4, 8) for p in "+-"]
made = book(("Cover", [["Bench 2", "12 March"]]), ("Contact", contact), ("Air", air))
for name in ("ok-two-sheets", "err-sheet-twice", "part-two-sheets"):
    if name.startswith("part"):
        made["Air"]["D5"] = "four"
    folder = CASES / name / "input" / "job"
    save(folder, made)
    (folder / "input.xlsx").replace(folder / "day.xlsx")
