"""Asked and seen: how much of each perturbation the rendered pixels really show.

Every cell of a sweep whose amount can be read off pixels is measured on some glyphs,
against the same glyphs at nominal: shift of the centroid, turn of the principal
axis, root of the second moments, skew, growth of variance, width of strokes. Beside
it stands what else changed: centroid, ink, strokes, and the variance that resampling
added. That hidden blur is what a drop in accuracy may owe to the rendering itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from gen.glyphs.base import Glyphs, Pixels, Real, StrokeGlyphs
from gen.glyphs.width import stroke_width_px
from gen.perturb.base import Marks, PoseChange
from gen.perturb.placement import EDGES
from gen.recipe.model import Level
from gen.render.engine import Renderer
from gen.render.laying import composed
from gen.render.marks import picture_marks, stroke_marks
from gen.render.moments import Moments, moments
from gen.render.plan import Cell, Plan, Step

GLYPHS = 200
"""How many glyphs are measured, spread evenly over the set."""
_KEPT_INK = 1e-3
"""Share of ink that may leave the frame: a mark that is cut can't be measured."""
_LONG = 1.5
"""A principal axis is read only of marks whose deviation along it is this much larger."""
DIGITS = 4


@dataclass(frozen=True)
class Calibration:
    """One cell, measured.

    Attributes
    ----------
    cell, perturbation, unit
        Which cell, and what of.
    asked
        The level, in px where it was a length on paper.
    seen
        Mean amount in the pixels, in the same unit; None for a rule.
    error
        Mean of the glyphs' own errors, each without its sign; of a rule the distance
        from it, px.
    glyphs
        How many were measured: those that lost no ink.
    centroid_px
        Mean distance that the centroid moved beyond what was asked, px.
    ink
        Ink as a share of what was to be expected, mean.
    stroke_px
        Change of stroke width beyond what was asked, px, mean.
    hidden_variance_px2
        Variance that resampling added along y and x, px^2, mean: (0, 0) where bytes
        were copied or strokes were drawn anew.
    """

    cell: str
    perturbation: str
    unit: str
    asked: Level
    seen: float | None
    error: float | None
    glyphs: int
    centroid_px: float | None
    ink: float | None
    stroke_px: float | None
    hidden_variance_px2: tuple[float, float] | None

    def as_dict(self) -> dict[str, Any]:
        """Plain values, figures rounded to four digits behind the point."""
        return {key: _rounded(value) for key, value in asdict(self).items()}


def _rounded(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_rounded(one) for one in value]
    return round(value, DIGITS) + 0.0 if isinstance(value, float) else value


@dataclass(frozen=True)
class _Seen:
    """Some pictures with what is measured of them.

    Strokes come to pixels through squares of one px, which adds 1/12 px^2 to the
    variance of the ink whatever its size (W. F. Sheppard's correction, 1898); it is
    taken off. A picture's pixels are what they are.
    """

    images: Pixels
    of: Moments
    drawn: bool


_Measure = Callable[[_Seen, _Seen, Step], Real]


def calibrate(plan: Plan, glyphs: Glyphs, *, most: int = GLYPHS) -> Iterator[Calibration]:
    """Measure every cell of a plan that can be measured.

    Parameters
    ----------
    plan
        For the frame of the glyphs.
    glyphs
        Strokes or pictures.
    most
        How many of them to look at.

    Yields
    ------
    Calibration
        For each sweep's cells in turn, nominal and unmeasurable ones left out.

    Examples
    --------
    >>> from gen import parse_recipe, write_strokes
    >>> from gen.render.plan import make_plan
    >>> recipe = parse_recipe('''
    ... title = "Sagging mount"
    ... [[sweep]]
    ... perturbation = "translation"
    ... along = "y"
    ... unit = "px"
    ... levels = [1.5]
    ... ''')
    >>> (row,) = calibrate(make_plan(recipe, (28, 28)), write_strokes(count=100))
    >>> row.asked, f"{row.seen:.2f}"
    (1.5, '1.50')
    """
    count = min(most, len(glyphs))
    few = np.linspace(0, len(glyphs) - 1, count).astype(np.intp)
    renderer = Renderer(plan, glyphs)
    block = renderer.block(few)
    drawn = isinstance(glyphs, StrokeGlyphs)
    nominal = block.nominal
    strokes_before = stroke_width_px(nominal)
    # Where the marks are taken to be: by their strokes where there are some.
    marks = (
        stroke_marks(glyphs.strokes(few), nominal)
        if isinstance(glyphs, StrokeGlyphs)
        else picture_marks(nominal)
    )
    inked = nominal.any(axis=(1, 2))
    for cell in plan.cells:
        if not isinstance(cell, Cell) or len(cell.steps) != 1:
            continue
        (step,) = cell.steps
        if step.perturbation not in _MEASURES:
            continue
        rendered = block.render(cell)
        left = rendered.images.any(axis=(1, 2))
        kept = np.flatnonzero((rendered.ink_lost <= _KEPT_INK) & inked & left)
        was, after = (_seen(images[kept], drawn) for images in (nominal, rendered.images))
        of_kept = Marks(marks.centroid[kept], marks.box[kept])
        expected = _expected_map(renderer, cell, of_kept)
        yield _row(cell, was, after, strokes_before[kept], expected)


def _seen(images: Pixels, drawn: bool) -> _Seen:
    of = moments(images)
    if drawn:
        of = replace(of, covariance=of.covariance - np.eye(2) / 12)
    return _Seen(images, of, drawn)


def _row(
    cell: Cell, before: _Seen, after: _Seen, strokes: Real, expected: tuple[Real, Real]
) -> Calibration:
    (step,) = cell.steps
    count = len(after.images)
    if not count:
        return Calibration(
            cell.name, step.perturbation, step.unit, step.level, *(None,) * 2, 0, *(None,) * 4
        )
    amounts = _MEASURES[step.perturbation](before, after, step)
    by_rule = isinstance(step.level, str)
    # Some marks can't be measured: the axis of a round one.
    amounts = amounts[np.isfinite(amounts)]
    error = np.abs(amounts if by_rule else amounts - float(step.level))
    linear, shift = expected
    moved = after.of.centroid - (np.einsum("nij,nj->ni", linear, before.of.centroid) + shift)
    area = np.abs(np.linalg.det(linear))
    turned = np.einsum("nij,njk,nlk->nil", linear, before.of.covariance, linear)
    added = after.of.covariance - turned
    widens = step.perturbation in ("stroke-width", "blur")
    grown = stroke_width_px(after.images) - strokes * np.sqrt(area)
    return Calibration(
        cell=cell.name,
        perturbation=step.perturbation,
        unit=step.unit,
        asked=step.level,
        seen=None if by_rule or not len(amounts) else float(amounts.mean()),
        error=float(error.mean()) if len(error) else None,
        glyphs=count,
        centroid_px=float(np.sqrt((moved**2).sum(axis=1)).mean()),
        ink=None
        if step.perturbation == "stroke-width"
        else float((after.of.ink / (before.of.ink * area)).mean()),
        stroke_px=None if widens else float(grown.mean()),
        hidden_variance_px2=None
        if widens
        else (float(added[:, 0, 0].mean()), float(added[:, 1, 1].mean())),
    )


def _expected_map(renderer: Renderer, cell: Cell, marks: Marks) -> tuple[Real, Real]:
    """The linear part and the shift that a cell's pose asks for, one a glyph."""
    count = len(marks.centroid)
    poses = [effect for effect in renderer.effects(cell) if isinstance(effect, PoseChange)]
    if not poses:
        return np.broadcast_to(np.eye(2), (count, 2, 2)), np.zeros((count, 2))
    forward = composed(poses, marks, renderer.plan.frame)
    whole = np.broadcast_to(forward, (count, 2, 3))
    return whole[:, :, :2], whole[:, :, 2]


def _translation(before: _Seen, after: _Seen, step: Step) -> Real:
    from gen.core.exact import cos_sin_deg

    along = dict(step.options).get("along", "x")
    angle = {"x": 0.0, "y": -90.0}.get(str(along))
    cosine, sine = cos_sin_deg(float(along) if angle is None and along is not None else angle or 0)
    moved = after.of.centroid - before.of.centroid
    return np.asarray(moved[:, 1] * cosine - moved[:, 0] * sine)


def _axis_deg(of: Moments) -> Real:
    """Direction of the long axis, anticlockwise from x; NaN for marks that have none."""
    cov = of.covariance
    half = 0.5 * (cov[:, 1, 1] - cov[:, 0, 0])
    reach = np.sqrt(half**2 + cov[:, 0, 1] ** 2)
    middle = 0.5 * (cov[:, 1, 1] + cov[:, 0, 0])
    angle = np.rad2deg(0.5 * np.arctan2(-2 * cov[:, 0, 1], 2 * half))
    return np.where(middle + reach > _LONG**2 * (middle - reach), angle, np.nan)


def _rotation(before: _Seen, after: _Seen, step: Step) -> Real:
    turned = _axis_deg(after.of) - _axis_deg(before.of)
    # An axis says nothing of half turns: the one nearest to what was asked is meant.
    return np.asarray(turned - 180 * np.rint((turned - float(step.level)) / 180))


def _scale(before: _Seen, after: _Seen, step: Step) -> Real:
    del step
    size = [np.trace(seen.of.covariance, axis1=1, axis2=2) for seen in (before, after)]
    return np.asarray(np.sqrt(size[1] / size[0]))


def _slant(before: _Seen, after: _Seen, step: Step) -> Real:
    del step
    skew = before.of.covariance[:, 0, 1] - after.of.covariance[:, 0, 1]
    return np.asarray(np.rad2deg(np.arctan(skew / before.of.covariance[:, 0, 0])))


def _stroke_width(before: _Seen, after: _Seen, step: Step) -> Real:
    """Ink over the length of the middle line, which stays as it was at nominal."""
    if step.unit == "ratio":
        return after.of.ink / before.of.ink
    length = before.of.ink / stroke_width_px(before.images)
    return np.asarray((after.of.ink - before.of.ink) / length)


def _blur(before: _Seen, after: _Seen, step: Step) -> Real:
    del step
    added = np.trace(after.of.covariance - before.of.covariance, axis1=1, axis2=2) / 2
    return np.asarray(np.sqrt(np.maximum(added, 0.0)))


def _placement(before: _Seen, after: _Seen, step: Step) -> Real:
    """How far centroid or box are from where the rule puts them, px."""
    del before
    frame = np.array(after.images.shape[1:])
    rule = str(step.level)
    if rule == "centre of mass":
        return np.asarray(np.abs(after.of.centroid - (frame - 1) / 2).mean(axis=1))
    if rule == "centre of mass, whole px":
        # Moved by whole px, the centroid ends within half a px of the index.
        return np.maximum(_longest(after.of.centroid - frame // 2) - 0.5, 0.0)
    if after.drawn:
        # The box of strokes ends between pixels, where pixels can't show it.
        return np.full(len(after.images), np.nan)
    box = picture_marks(after.images).box
    way = np.array(EDGES.get(rule, (0, 0)))
    margin = float(dict(step.options).get("margin_px") or 0.0)
    edge_low, edge_high = -0.5 + margin, frame - 0.5 - margin
    off = np.where(
        way == 0,
        (box[:, :2] + box[:, 2:]) / 2 - (frame - 1) / 2,
        np.where(way < 0, box[:, :2] - edge_low, box[:, 2:] - edge_high),
    )
    return _longest(off)


def _longest(off: Real) -> Real:
    return np.asarray(np.abs(off).max(axis=1))


_MEASURES: dict[str, _Measure] = {
    "translation": _translation,
    "rotation": _rotation,
    "scale": _scale,
    "slant": _slant,
    "stroke-width": _stroke_width,
    "blur": _blur,
    "placement": _placement,
}


def as_table(rows: list[dict[str, Any]]) -> str:
    """Calibration as lines of text, a cell a line.

    Parameters
    ----------
    rows
        What `Calibration.as_dict` gives.
    """
    head = ("cell", "asked", "seen", "error", "centroid", "ink", "strokes", "hidden variance")
    lines = [head]
    for row in rows:
        hidden = row["hidden_variance_px2"]
        lines.append(
            (
                row["cell"],
                _figure(row["asked"], "g"),
                _figure(row["seen"], ".3f"),
                _figure(row["error"], ".4f"),
                _figure(row["centroid_px"], ".4f"),
                _figure(row["ink"], ".4f"),
                _figure(row["stroke_px"], "+.3f"),
                "-" if hidden is None else f"{hidden[0]:.3f} {hidden[1]:.3f}",
            )
        )
    widths = [max(len(line[place]) for line in lines) for place in range(len(head))]
    return "\n".join(
        "  ".join(f"{word:<{width}}" for word, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def _figure(value: Any, form: str) -> str:
    if value is None:
        return "-"
    return value if isinstance(value, str) else format(value, form)
