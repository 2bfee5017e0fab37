"""Numbers of InkML other than traces: steps of a device, and matrices of mappings.

References
----------
InkML (W3C, 2011): section 3.1 (properties of channels) and 5.1 (mappings); from memory of
the text, which doesn't say in so many words which number of an affine mapping is which.
"""

from __future__ import annotations

from collections.abc import Mapping

from gen.glyphs.pens.drawing import MOST_UNITS
from gen.glyphs.pens.traces import MM
from gen.glyphs.pens.transforms import Matrix


def step_of(attributes: Mapping[str, str]) -> float | None:
    """What one step of a channel is in mm, from a property of it; None for another property.

    Examples
    --------
    >>> step_of({"name": "resolution", "value": "100", "units": "1/cm"})
    0.1
    """
    per = attributes.get("units", "").strip().removeprefix("1/")
    if attributes.get("name") != "resolution" or per not in MM:
        return None
    try:
        value = float(attributes.get("value", ""))
    except ValueError:
        return None
    return MM[per] / value if 1e-6 <= value <= 1e9 else None


def affine_of(text: str) -> Matrix | None:
    """The matrix of an affine mapping of X and Y: two rows of three numbers; None for others.

    Examples
    --------
    >>> affine_of("2 0 10, 0 -2 5")
    Matrix(a=2.0, b=0.0, c=0.0, d=-2.0, e=10.0, f=5.0)
    """
    rows = [row.split() for row in text.split(",")]
    if [len(row) for row in rows] != [3, 3]:
        return None
    try:
        (a, c, e), (b, d, f) = ([float(number) for number in row] for row in rows)
    except ValueError:
        return None
    matrix = Matrix(a, b, c, d, e, f)
    near = all(abs(number) <= MOST_UNITS for number in (a, b, c, d, e, f))
    return matrix if near and matrix.size > 0 else None
