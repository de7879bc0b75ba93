"""A text as a QR picture, which a phone's camera reads."""

import segno

from kettlewell.marks.svg import Svg


def qr(text: str) -> Svg:
    """Return the picture, dark on light in every theme, as cameras want it."""
    code = segno.make(text, error="m", micro=False)
    return Svg(code.svg_inline(omitsize=True, light="white", dark="black", svgclass="qr"))
