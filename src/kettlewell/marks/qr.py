"""A text as a QR picture, which a phone's camera reads."""

from io import BytesIO, StringIO

import segno

from kettlewell.marks.svg import Svg


def qr(text: str) -> Svg:
    """Return the picture, dark on light in every theme, as cameras want it."""
    return Svg(code_of(text).svg_inline(omitsize=True, light="white", dark="black", svgclass="qr"))


def qr_printed(text: str) -> Svg:
    """Return the picture as a drawing that stands by itself, for paper."""
    drawn = BytesIO()
    code_of(text).save(drawn, kind="svg", xmldecl=False, omitsize=True)
    return Svg(drawn.getvalue().decode("ascii"))


def qr_rows(text: str) -> list[str]:
    """Return the picture as rows of blocks for a terminal, light on dark: what is dark is left blank."""
    rows = StringIO()
    code_of(text).terminal(rows, compact=True)
    return rows.getvalue().splitlines()


def code_of(text: str) -> segno.QRCode:
    """Return the code that both pictures show."""
    return segno.make(text, error="m", micro=False)
