"""Pictures of drawings: SVG to PNG, on one page as large as the drawing."""

from __future__ import annotations

_PAGE = """
#set page(width: auto, height: auto, margin: 0pt)
#image(bytes(sys.inputs.drawing), format: "svg")
"""


def png(svg: str, *, pixels_per_inch: float = 144.0) -> bytes:
    """The drawing as PNG.

    Parameters
    ----------
    svg : str
        A drawing with its own colours.
    pixels_per_inch : float, default 144
        Two pixels a unit of the drawing at 144.

    Returns
    -------
    bytes
        The whole file.
    """
    import typst

    return bytes(typst.compile(_PAGE.encode(), format="png", ppi=pixels_per_inch, sys_inputs={"drawing": svg}))
