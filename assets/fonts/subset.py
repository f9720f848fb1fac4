#!/usr/bin/env python3
"""Makes the two paper faces from Noto Serif. See README.md beside this file.

usage: subset.py FOLDER_WITH_NOTO_TTFS OUTPUT_FOLDER     (needs fonttools 4)
"""
import sys
from pathlib import Path

from fontTools import subset
from fontTools.misc.timeTools import timestampFromString
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

WANTED = set(range(0x20, 0x7F)) | set(range(0xA0, 0x250)) | set(range(0x1E00, 0x1F00))
WANTED |= {0x2BB, 0x2BC}  # letter apostrophes, as in Hawaiian names
WANTED |= {ord(c) for c in "‐‑–—‘’‚“”„†‡•…‰′″‹›⁄₤€№™−→✓⅓⅔⅛⅜⅝⅞"} | {0x2009, 0x200A, 0x202F}


def borrow(font, glyphs, codepoint, donor):
    """Copies one outline (same units per em) from another face of the family."""
    name, pen = f"uni{codepoint:04X}", TTGlyphPen(None)
    source = donor.getBestCmap()[codepoint]
    drawn = DecomposingRecordingPen(donor.getGlyphSet())
    donor.getGlyphSet()[source].draw(drawn)
    drawn.replay(pen)
    glyphs[name] = (pen.glyph(), donor["hmtx"][source][0])


def minus(font, glyphs):
    """The bar of the plus sign, as wide as a figure."""
    plus = font.getBestCmap()[ord("+")]
    outline = font["glyf"][plus].coordinates
    xs, ys = [x for x, _ in outline], sorted({y for _, y in outline})
    low, high = ys[1], ys[2]
    pen = TTGlyphPen(None)
    pen.moveTo((min(xs), low))
    for corner in ((min(xs), high), (max(xs), high), (max(xs), low)):
        pen.lineTo(corner)
    pen.closePath()
    glyphs["uni2212"] = (pen.glyph(), font["hmtx"][plus][0])


def make(weight, source, out):
    options = subset.Options(hinting=False, layout_features=[], name_IDs=[0, 1, 2, 3, 4, 5, 6, 7, 13, 14])
    options.drop_tables += ["GDEF", "GPOS", "GSUB", "kern", "DSIG", "gasp", "meta"]
    options.glyph_names = options.notdef_outline = True
    font = TTFont(source / f"NotoSerif-{weight}.ttf", recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=WANTED)
    cutter.subset(font)
    new = {}
    minus(font, new)
    borrow(font, new, 0x2192, TTFont(source / "NotoSansMath-Regular.ttf"))
    borrow(font, new, 0x2713, TTFont(source / "NotoSansSymbols2-Regular.ttf"))
    font.setGlyphOrder(font.getGlyphOrder() + list(new))
    for name, (glyph, advance) in new.items():
        font["glyf"].glyphs[name] = glyph
        glyph.recalcBounds(font["glyf"])
        font["hmtx"][name] = (advance, glyph.xMin)
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[int(name[3:], 16)] = name
    for record in font["name"].names:
        if record.nameID in (1, 3, 4, 6):
            record.string = str(record).replace("Noto Serif", "Gambrel Serif").replace("NotoSerif", "GambrelSerif")
    font["post"].formatType = 3.0
    font["head"].modified = timestampFromString("Thu Jan  1 00:00:00 2026")
    missing = sorted(WANTED - set(font.getBestCmap()))
    widths = {font["hmtx"][font.getBestCmap()[c]][0] for c in map(ord, "0123456789")}
    assert len(widths) == 1, f"figures are not tabular: {widths}"
    target = out / f"GambrelSerif-{weight}.ttf"
    font.save(target)
    print(target, target.stat().st_size, "bytes, without:", [hex(c) for c in missing])


if __name__ == "__main__":
    for each in ("Regular", "Bold"):
        make(each, Path(sys.argv[1]), Path(sys.argv[2]))
