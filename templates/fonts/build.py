"""Builds the font files of this folder from their packages (see README.md); needs fonttools and brotli."""
import sys, io, os
from fontTools.ttLib import TTFont
from fontTools.merge import Merger
from fontTools import subset

OUT = sys.argv[1]
SANS, CODE, NOTO, JAPANESE, HEBREW = sys.argv[2:7]  # unpacked @fontsource/source-sans-3, source-code-pro, folder of Noto TTFs, unpacked @fontsource/noto-sans-jp and noto-sans-hebrew
STAMP = 3786825600  # fixed date (2024-01-01, seconds since 1904), so that the same input gives the same bytes

def rename(font, family, style):
    name = font["name"]
    keep = {0, 13, 14}
    name.names = [n for n in name.names if n.nameID in keep and n.platformID == 3]
    for i, s in ((1, family), (2, style), (3, f"{family} {style}"), (4, f"{family} {style}"),
                 (5, "Version 1.000"), (6, (family + "-" + style).replace(" ", ""))):
        name.setName(s, i, 3, 1, 0x409)
    font["head"].created = font["head"].modified = STAMP
    font.recalcTimestamp = False

def merge(parts, tmp):
    files = []
    for i, p in enumerate(parts):
        f = TTFont(p); f.flavor = None
        for t in ("STAT", "DSIG", "gasp", "fpgm", "prep", "cvt ", "meta", "BASE"):
            if t in f: del f[t]
        q = f"{tmp}/part{i}.ttf"; f.save(q); files.append(q)
    return Merger().merge(files)

def save(font, name):
    font.save(os.path.join(OUT, name)); print(name, os.path.getsize(os.path.join(OUT, name)), len(font.getBestCmap()))

import tempfile
with tempfile.TemporaryDirectory() as tmp:
    for w, it, style, out in ((400, "normal", "Regular", "report-sans-regular.ttf"), (600, "normal", "Semibold", "report-sans-semibold.ttf"),
                              (400, "italic", "Italic", "report-sans-italic.ttf"), (600, "italic", "Semibold Italic", "report-sans-semibold-italic.ttf")):
        parts = [f"{SANS}/files/source-sans-3-{s}-{w}-{it}.woff2" for s in ("latin", "latin-ext", "greek", "greek-ext", "cyrillic", "cyrillic-ext", "vietnamese")]
        f = merge(parts, tmp); rename(f, "Report Sans", style); save(f, out)
    f = merge([f"{CODE}/files/source-code-pro-{s}-400-normal.woff2" for s in ("latin", "latin-ext", "greek", "cyrillic")], tmp)
    rename(f, "Report Mono", "Regular"); save(f, "report-mono-regular.ttf")

def sub(src, ranges, out, family):
    f = TTFont(src)
    o = subset.Options(); o.layout_features = ["ccmp", "mark", "mkmk", "kern", "locl"]; o.hinting = False; o.name_IDs = ["*"]; o.notdef_outline = True
    for t in ("MATH", "DSIG"): o.drop_tables.append(t)
    s = subset.Subsetter(o); s.populate(unicodes=[c for a, b in ranges for c in range(a, b + 1)]); s.subset(f)
    rename(f, family, "Regular"); save(f, out)

sub(f"{NOTO}/NotoSans-Regular.ttf", [(0x20, 0x7E), (0xA0, 0x36F), (0x370, 0x52F), (0x1D00, 0x1FFF), (0x2000, 0x206F), (0x2070, 0x20CF), (0x2100, 0x218F), (0x2190, 0x21FF), (0x2C60, 0x2C7F), (0xA640, 0xA69F), (0xA720, 0xA7FF), (0xFB00, 0xFB06)], "noto-sans-regular.ttf", "Noto Sans")
sub(f"{NOTO}/NotoSansMath-Regular.ttf", [(0x2070, 0x209F), (0x2100, 0x214F), (0x2190, 0x23FF), (0x25A0, 0x25FF), (0x27C0, 0x27FF), (0x2900, 0x2AFF)], "noto-sans-math-regular.ttf", "Noto Sans Math")
sub(f"{NOTO}/NotoSansSymbols-Regular.ttf", [(0x2100, 0x27BF)], "noto-sans-symbols-regular.ttf", "Noto Sans Symbols")
sub(f"{NOTO}/NotoSansSymbols2-Regular.ttf", [(0x2190, 0x2BFF)], "noto-sans-symbols2-regular.ttf", "Noto Sans Symbols 2")

# The package's own Japanese part holds every kanji of JIS X 0208; only what horizontal setting needs stays.
for weight, style, out in ((400, "Regular", "noto-sans-jp-regular.ttf"), (600, "Semibold", "noto-sans-jp-semibold.ttf")):
    f = TTFont(f"{JAPANESE}/files/noto-sans-jp-japanese-{weight}-normal.woff"); f.flavor = None
    for t in ("BASE", "STAT", "gasp", "prep", "vhea", "vmtx"):
        if t in f: del f[t]
    rename(f, "Noto Sans JP", style); save(f, out)

for weight, style, out in ((400, "Regular", "noto-sans-hebrew-regular.ttf"), (600, "Semibold", "noto-sans-hebrew-semibold.ttf")):
    f = TTFont(f"{HEBREW}/files/noto-sans-hebrew-hebrew-{weight}-normal.woff"); f.flavor = None
    for t in ("STAT", "gasp", "prep"):
        if t in f: del f[t]
    rename(f, "Noto Sans Hebrew", style); save(f, out)
