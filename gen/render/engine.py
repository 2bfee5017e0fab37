"""The renderer: cells of a plan, carried out on glyphs, a block at a time.

For each cell the effects of its steps are put in the order of the path of light.
Neighbouring poses are composed into one map before a pixel is touched. On
strokes, pen and pose act on the strokes themselves and coverage is computed
once; on pictures they become operators on pixels.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gen.glyphs.base import Glyphs, Pixels, RasterGlyphs, Real, StrokeGlyphs, Strokes, Whole
from gen.glyphs.mapped import taken
from gen.perturb import PERTURBATIONS
from gen.perturb.base import (
    STATIONS,
    Effect,
    FileFault,
    Marks,
    PictureChange,
    PoseChange,
)
from gen.render import affine
from gen.render.blend import BlendCell, render_blend
from gen.render.coverage import draw
from gen.render.inking import InkChange, inked_pictures, inked_strokes
from gen.render.laying import Laid, composed, draw_counting, lay
from gen.render.lens import Spread, spread
from gen.render.major import PixelMajor, glyph_major, joined, pixel_major
from gen.render.marks import picture_marks, stroke_marks
from gen.render.overlap import SharedMap, apply_each
from gen.render.plan import Cell, Plan, Step

_KEPT_WEIGHTS = 8_000_000
"""Weights of shared operators kept between blocks: 64 MB at the most."""
_KEPT_EFFECTS = 4096
"""Cells whose effects are kept."""
_STATION = {station: place for place, station in enumerate(STATIONS)}
_ORDER = {name: place for place, name in enumerate(PERTURBATIONS)}


@dataclass(frozen=True)
class Rendered:
    """What a cell looks like.

    Attributes
    ----------
    images
        ndarray of shape (n, H, W), uint8, ink bright.
    ink_lost
        ndarray of shape (n,), float64: the share of each glyph's ink that left the frame.
    """

    images: Pixels
    ink_lost: Real


class Renderer:
    """Renders the cells of one plan on one set of glyphs.

    Parameters
    ----------
    plan
        From `make_plan`, for the frame of the glyphs.
    glyphs
        Strokes or pictures.

    Examples
    --------
    >>> from gen.recipe.model import Recipe, Sweep
    >>> from gen.render.plan import make_plan
    >>> from gen.glyphs.base import Provenance
    >>> dots = np.zeros((1, 8, 8), np.uint8)
    >>> dots[0, 3, 3] = 255
    >>> glyphs = RasterGlyphs(frame=(8, 8), labels=np.zeros(1, int), classes=("dot",),
    ...     provenance=Provenance("array", "dots", ""), writers=None, images=dots)
    >>> sweep = Sweep("translation", "px", (2.0,), (("along", "x"),))
    >>> plan = make_plan(Recipe("dots", "", 0, (sweep,)), glyphs.frame)
    >>> block = Renderer(plan, glyphs).block(np.array([0]))
    >>> moved = block.render(plan.cells[1]).images[0]
    >>> [int(i) for i in np.argwhere(moved)[0]]
    [3, 5]
    """

    def __init__(self, plan: Plan, glyphs: Glyphs) -> None:
        if plan.frame != glyphs.frame:
            raise ValueError(f"planned for {plan.frame}, glyphs are {glyphs.frame}")
        self.plan = plan
        self.glyphs = glyphs
        self._effects: dict[Cell, tuple[Effect, ...]] = {}
        self._maps: OrderedDict[tuple[float, ...], SharedMap] = OrderedDict()

    def block(self, indices: Whole) -> Block:
        """The glyphs at some indices, ready to be rendered in any cell."""
        return Block(self, indices)

    def effects(self, cell: Cell) -> tuple[Effect, ...]:
        """What happens in a cell, in the order of the path of light."""
        if cell not in self._effects:
            if len(self._effects) >= _KEPT_EFFECTS:  # draws of a blend are hardly ever alike
                self._effects.clear()
            self._effects[cell] = tuple(
                self._effect(step) for step in sorted(cell.steps, key=_place_in_path)
            )
        return self._effects[cell]

    def _effect(self, step: Step) -> Effect:
        return PERTURBATIONS[step.perturbation].effect(
            step.level, unit=step.unit, options=dict(step.options), frame=self.plan.frame
        )

    def shared_map(self, forward: Real) -> SharedMap:
        """The operator of a map that all glyphs share, built once."""
        key = tuple(forward.ravel().tolist())
        if key in self._maps:
            self._maps.move_to_end(key)
        else:
            self._maps[key] = SharedMap.of(forward, self.plan.frame)
            while (
                sum(shared.matrix.nnz for shared in self._maps.values()) > _KEPT_WEIGHTS
                and len(self._maps) > 1
            ):
                self._maps.popitem(last=False)
        return self._maps[key]


def _place_in_path(step: Step) -> tuple[int, int]:
    station = PERTURBATIONS[step.perturbation].entry.station
    return _STATION[station], _ORDER[step.perturbation]


class Block:
    """Some glyphs, with what every cell needs of them worked out once."""

    def __init__(self, renderer: Renderer, indices: Whole) -> None:
        self._renderer = renderer
        self._frame = renderer.plan.frame
        self._seed = renderer.plan.recipe.seed
        self.indices = indices

    @cached_property
    def _strokes(self) -> Strokes | None:
        glyphs = self._renderer.glyphs
        return glyphs.strokes(self.indices) if isinstance(glyphs, StrokeGlyphs) else None

    @cached_property
    def nominal(self) -> Pixels:
        """The glyphs as they are, (n, H, W), uint8."""
        if self._strokes is not None:
            return draw(self._strokes, self._frame)
        glyphs = self._renderer.glyphs
        assert isinstance(glyphs, RasterGlyphs)
        return taken(glyphs.images, self.indices)

    def part(self, places: Whole) -> Block:
        """Some of these glyphs, by their places; strokes are not written again."""
        part = Block(self._renderer, self.indices[places])
        if self._strokes is not None:
            part._strokes = Strokes(self._strokes.segments[places], self._strokes.width_px[places])
        return part

    @cached_property
    def _pixel_major(self) -> list[PixelMajor]:
        """The nominal pictures as shared operators want them."""
        return pixel_major(self.nominal)

    def render(self, cell: Cell) -> Rendered:
        """The glyphs as a cell has them.

        Returns
        -------
        Rendered
            At nominal the pictures are the source's own, byte for byte.
        """
        if isinstance(cell, BlendCell):
            return render_blend(self, cell)
        effects = self._renderer.effects(cell)
        lost = np.zeros(len(self.indices))
        if not effects:
            return Rendered(self.nominal, lost)
        images, lost, rest = self._lay_down(effects)
        for effect in rest:
            if isinstance(effect, Spread):
                seen, kept = spread(images, effect)
                lost = 1.0 - (1.0 - lost) * (1.0 - _lost_share(images, kept.reshape(-1)))
                images = seen
            elif isinstance(effect, PictureChange):
                images = effect.apply(images, seed=self._seed, indices=self.indices)
            elif isinstance(effect, FileFault):
                images = effect.apply(images)
            else:  # a new kind of effect has to be taught to the renderer
                raise TypeError(f"the renderer can't carry out {type(effect).__name__}")
        return Rendered(images, lost)

    def _lay_down(self, effects: tuple[Effect, ...]) -> tuple[Pixels, Real, list[Effect]]:
        """The first two stations: pen and pose. What is left is for the picture."""
        inks = [effect for effect in effects if isinstance(effect, InkChange)]
        poses = [effect for effect in effects if isinstance(effect, PoseChange)]
        rest = [e for e in effects if not isinstance(e, InkChange | PoseChange)]
        if not inks and not poses:
            return self.nominal, np.zeros(len(self.indices)), rest
        if self._strokes is not None:
            images, lost = self._draw_laid(self._strokes, inks, poses)
        else:
            images, lost = self._move_laid(inks, poses)
        return images, lost, rest

    def _draw_laid(
        self, strokes: Strokes, inks: list[InkChange], poses: list[PoseChange]
    ) -> tuple[Pixels, Real]:
        for ink in inks:
            strokes = inked_strokes(strokes, ink, seed=self._seed, indices=self.indices)
        if poses:
            marks = Marks(np.empty((0, 2)), np.empty((0, 4)))
            if any(pose.needs_marks for pose in poses):
                # The pen is part of the mark: its box is that of the strokes as they now are.
                drawn = self.nominal if not inks else draw(strokes, self._frame)
                marks = stroke_marks(strokes, drawn)
            laid = lay(strokes, composed(poses, marks, self._frame))
        else:
            laid = Laid(strokes)
        return draw_counting(laid, self._frame)

    def _move_laid(self, inks: list[InkChange], poses: list[PoseChange]) -> tuple[Pixels, Real]:
        images = self.nominal
        for ink in inks:
            images = inked_pictures(images, ink, seed=self._seed, indices=self.indices)
        lost = np.zeros(len(images))
        if not poses:
            return images, lost
        marks = Marks(np.empty((0, 2)), np.empty((0, 4)))
        if any(pose.needs_marks for pose in poses):
            marks = picture_marks(images)
        forward = composed(poses, marks, self._frame)
        if forward.ndim == 2:
            shared = self._renderer.shared_map(forward)
            sources = self._pixel_major if images is self.nominal else pixel_major(images)
            moved = [glyph_major(shared.apply(source), self._frame) for source in sources]
            return joined(moved), joined([shared.lost(source) for source in sources])
        kept = affine.inside_share(forward, self._frame)
        return apply_each(forward, images), _lost_share(images, kept)


def _lost_share(images: Pixels, kept: Real) -> Real:
    """The share of each glyph's ink that left, when `kept` of each pixel's ink stays.

    Parameters
    ----------
    images
        ndarray of shape (n, H, W), uint8.
    kept
        ndarray of shape (H*W,) or (n, H*W), between 0 and 1.
    """
    flat = images.reshape(len(images), -1)
    # Most pixels keep everything: only the others are looked at.
    leaks = np.flatnonzero((kept < 1.0).any(axis=0) if kept.ndim > 1 else kept < 1.0)
    # In whole steps, so that nothing is lost where rounding alone says so.
    leaked = np.rint((1.0 - kept[..., leaks]) * 65536) / 65536
    lost = (flat[:, leaks] * leaked).sum(axis=1)
    leaking = np.flatnonzero(lost)
    lost[leaking] /= flat[leaking].sum(axis=1, dtype=np.int64)
    return np.asarray(lost)
