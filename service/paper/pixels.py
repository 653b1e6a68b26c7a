"""Pictures of drawings as PNG.

Rules of this file
------------------
- Only the fonts that ship with the service are used, so that a picture is the same on every machine.
"""

from typing import Final

import resvg_py

from service.paper.lettering import FONTS

WIDEST: Final = 4000
"""Widest picture [px]"""


def png(svg: str, width: int) -> bytes:
    """Render a drawing.

    Parameters
    ----------
    svg
        A drawing that is not themed: pictures know no page's colours.
    width
        Of the picture [px].
    """
    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=svg,
            font_dirs=[str(FONTS)],
            skip_system_fonts=True,
            width=width,
            dpi=96,
        )
    )
