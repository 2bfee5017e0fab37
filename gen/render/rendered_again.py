"""A sample of a stress set, rendered again from what its manifest says."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np

from gen.core.errors import GlyphError, InkdriftError
from gen.glyphs.base import Glyphs, Provenance, RasterGlyphs, pixels_digest
from gen.glyphs.mapped import taken
from gen.perturb.recipes import parse_recipe
from gen.render.engine import Renderer
from gen.render.manifest import NAME, said_steps, written_again
from gen.render.opened import StressSet
from gen.render.plan import Plan, make_plan
from gen.render.subset import chosen

_NAMED = 5
"""Glyphs that are named one by one before only their count is given."""


class RenderedAgain:
    """Pictures rendered again from what the manifest says."""

    def __init__(self, stress: StressSet, bad: set[str]) -> None:
        self._stress = stress
        self._bad = bad
        self.faults: list[str] = []
        self.notes: list[str] = []
        self.rendered = 0

    def render(self, sample: int, seed: int, told: Callable[[int], None]) -> None:
        """Render a sample and compare."""
        plan = self._plan()
        glyphs = self._glyphs() if plan is not None else None
        if plan is None or glyphs is None:
            return
        renderer = Renderer(plan, glyphs)
        cells = {cell.name: cell for cell in plan.cells}
        draw = random.Random(seed)
        each = min(len(glyphs), -(-sample // len(self._stress)))
        for done, (name, there) in enumerate(self._stress.items(), 1):
            indices = np.array(sorted(draw.sample(range(len(glyphs)), each)), dtype=np.intp)
            told(done)
            if name not in cells or name in self._bad:
                continue
            again = renderer.block(indices).render(cells[name]).images
            differ = (again != taken(there.images, indices)).any(axis=(1, 2))
            self.rendered += len(indices)
            if differ.any():
                self.faults.append(
                    f"{name}: {_named(indices[differ])} of {each:,} tried, not what the recipe "
                    "renders"
                )

    def _plan(self) -> Plan | None:
        """The plan of the recipe in the manifest, once it is the one that was carried out."""
        said = self._stress.manifest["recipe"]
        if not said["text"].strip():
            self.notes.append("the recipe was made without a text; only files were looked at")
            return None
        frame = self._stress.manifest["glyphs"]["frame"]
        try:
            recipe = parse_recipe(said["text"])
            plan = make_plan(recipe, (int(frame[0]), int(frame[1])))
            plan = chosen(plan, self._stress.manifest["only"])
        except InkdriftError as error:
            told = " ".join(str(error).split())
            self.faults.append(f"{NAME}: its recipe can't be carried out: {told}")
            return None
        if recipe.digest != said["digest"]:
            self.faults.append(f"{NAME}: its recipe isn't the one that its digest pins")
        asked = {cell.name: said_steps(cell) for cell in plan.cells}
        there = self._stress.manifest["cells"]
        names = {entry["name"] for entry in there}
        self.faults += [f"{n}: the recipe asks for it; not there" for n in asked if n not in names]
        for entry in there:
            steps = asked.get(entry["name"])
            if steps is None:
                self.faults.append(f"{entry['name']}: the recipe doesn't ask for it")
            elif any(_plain(entry.get(key)) != _plain(value) for key, value in steps.items()):
                self.faults.append(f"{entry['name']}: the recipe asks for other steps in it")
        return plan

    def _glyphs(self) -> Glyphs | None:
        """The glyphs that were rendered."""
        said = self._stress.manifest["glyphs"]
        if not said["drawn"]:
            return self._from_nominal(said)
        if "written" not in said:
            self.notes.append(
                "the glyphs are strokes that this program can't write again; only files were "
                "looked at"
            )
            return None
        try:
            glyphs = written_again(said)
        except GlyphError as error:
            self.faults.append(f"{NAME}: its strokes can't be written: {error.fact}")
            return None
        if glyphs.provenance.digest != said["digest"]:
            self.faults.append(
                f"{NAME}: its strokes, written again, have another digest: changed since, or made "
                f"by another version ({self._stress.manifest['made_by']})"
            )
        return glyphs

    def _from_nominal(self, said: dict[str, Any]) -> Glyphs | None:
        """Pictures as they came: the nominal cell is the source, byte for byte."""
        nominal = self._stress.get("nominal")
        if nominal is None or "nominal" in self._bad:
            self.notes.append("without a whole nominal cell nothing can be rendered again")
            return None
        glyphs = RasterGlyphs(
            frame=(int(said["frame"][0]), int(said["frame"][1])),
            labels=nominal.labels,
            classes=self._stress.classes,
            provenance=Provenance(said["kind"], said["name"], said["digest"], said["ink"]),
            writers=None,
            images=nominal.images,
        )
        if pixels_digest(glyphs.images, glyphs.labels, glyphs.classes) != said["digest"]:
            self.faults.append("nominal: its pictures aren't the glyphs that their digest pins")
        return glyphs


def _plain(value: object) -> object:
    """A value as JSON gives it back: tuples are lists there."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value


def _named(places: np.ndarray[Any, Any]) -> str:
    few = ", ".join(str(place) for place in places[:_NAMED])
    more = f" and {len(places) - _NAMED:,} more" if len(places) > _NAMED else ""
    return f"{'glyph' if len(places) == 1 else 'glyphs'} {few}{more}"
