"""What the numbers under the axis of a sweep are, in words."""

from __future__ import annotations

from gen.report.words import Swept

# Units that stand under an axis in other words.
_AXES = {
    "deg": "degrees",
    "rule": "by rule",
    "times": "with and without",
    "share": "percent",
    "quarters": "quarter turns, anticlockwise",
    "height": "parts of its height",
    "bits": "bits a pixel",
    "electrons": "electrons, laid out by ratio",
}


def axis_words(swept: Swept) -> str:
    """What the numbers under the axis are, and which way plus goes."""
    along = str(dict(swept.options).get("along"))
    unit = _AXES.get(swept.unit, swept.unit)
    if swept.perturbation == "translation":
        way = {"x": "+ is right", "y": "+ is down"}.get(along, f"+ is towards {along} degrees")
        return f"{unit}, {way}"
    if swept.perturbation == "rotation":
        return f"{unit}, + is anticlockwise"
    if swept.perturbation == "row-slip":
        return f"{unit}, + is early"
    if swept.perturbation == "slant":
        return f"{unit}, + leans to the right"
    if swept.perturbation == "stroke-width" and swept.unit != "ratio":
        return f"{unit}, + is wider"
    return unit
