"""Make the fonts of printed pages from those of the screens: ``python tools/fonts.py``.

Also written is which signs can be printed: an archival PDF refuses every other. Those of the typeface are
read from it, those of the face that stands in for the rest (it comes with the typesetter) are found by trial.
"""

import json
from collections.abc import Sequence
from pathlib import Path

import typst
from fontTools.ttLib import TTFont

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "kettlewell"
VENDORED, FONTS = PACKAGE / "web" / "static" / "web" / "vendor", PACKAGE / "pages" / "fonts"
FAMILY, MORE = "Atkinson Hyperlegible", "Atkinson Hyperlegible Ext"
FAMILY_NAMES, POSTSCRIPT_NAME = (1, 4, 16), 6
STAND_IN = "DejaVu Sans Mono"
# Latin, Greek and Cyrillic, punctuation, currencies, arrows, signs of mathematics, boxes and marks
TRIED = ((0x20, 0x7F), (0xA0, 0x180), (0x370, 0x530), (0x2000, 0x205F), (0x20A0, 0x20C0), (0x2100, 0x2700))
TRIAL = """
#set document(title: "trial", date: datetime(year: 2026, month: 1, day: 1))
#set text(font: "DejaVu Sans Mono", fallback: false, lang: "en")
#json(bytes(sys.inputs.signs))
"""


def convert(subset: str, weight: int) -> set[str]:
    """Write a face as TrueType, and return its signs; the further subset is a family of its own."""
    face = TTFont(VENDORED / f"atkinson-hyperlegible-{subset}-{weight}-normal.woff2", recalcTimestamp=False)
    face.flavor = None
    if subset != "latin":
        for record in face["name"].names:
            if record.nameID in FAMILY_NAMES:
                record.string = str(record).replace(FAMILY, MORE)
            elif record.nameID == POSTSCRIPT_NAME:
                record.string = str(record).replace(FAMILY.replace(" ", ""), MORE.replace(" ", ""))
    face.save(FONTS / f"atkinson-hyperlegible-{subset}-{weight}.ttf")
    return {chr(code) for code in face.getBestCmap()}


def printable(signs: Sequence[str]) -> set[str]:
    """Return which of these signs the stand-in has, found by halves."""
    try:
        told = {"signs": json.dumps("".join(signs))}
        typst.compile(TRIAL.encode(), ignore_system_fonts=True, pdf_standards=["a-2a"], sys_inputs=told)
    except typst.TypstError:
        half = len(signs) // 2
        return printable(signs[:half]) | printable(signs[half:]) if half else set()
    return set(signs)


FONTS.mkdir(parents=True, exist_ok=True)
known = set.union(*(convert(subset, weight) for subset in ("latin", "latin-ext") for weight in (400, 700)))
for begin, end in TRIED:
    known |= printable([chr(code) for code in range(begin, end)])
(FONTS / "printable.txt").write_text("".join(sorted(sign for sign in known if sign.isprintable())), "utf-8")
