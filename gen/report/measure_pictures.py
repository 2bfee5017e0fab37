"""Pictures of a set: its mean and spread, and the mean of each class beside its name."""

from __future__ import annotations

import numpy as np

from gen.glyphs.base import Pixels, Real
from gen.report.markup import esc
from gen.report.measure_set import Drawings, MeasuredSet
from gen.report.pictures import data_uri

_SIDE = 118
_GAP = 14
_TOP = 24
_LEFT = 92


def mean_and_spread(drawings: Drawings) -> str:
    """One picture: mean and deviation of each set, side by side, a row a set.

    All four share one scale of grey, so that a darker one holds more ink, or varies more.
    """
    sets = [each for each in (drawings.here, drawings.against) if each is not None]
    shown = [(each.pictures.mean, each.pictures.deviation) for each in sets]
    most = max(float(np.max(picture)) for pair in shown for picture in pair)
    high = _TOP + len(sets) * (_SIDE + _GAP)
    wide = _LEFT + 2 * (_SIDE + _GAP)
    parts = [
        f'<text x="{_LEFT + place * (_SIDE + _GAP) + _SIDE / 2:g}" y="14" text-anchor="middle" '
        f'class="tick">{word}</text>'
        for place, word in enumerate(("mean", "spread"))
    ]
    for row, pair in enumerate(shown):
        y = _TOP + row * (_SIDE + _GAP)
        name = ("these drawings", "the other set")[row]
        first, second = name.split(" ", 1)
        parts.append(
            f'<text x="0" y="{y + _SIDE / 2 - 8:g}" class="tick">{first}</text>'
            f'<text x="0" y="{y + _SIDE / 2 + 10:g}" class="tick">{second}</text>'
        )
        for place, picture in enumerate(pair):
            x = _LEFT + place * (_SIDE + _GAP)
            parts.append(
                f'<image href="{data_uri(scaled(picture, most))}" x="{x}" y="{y}" '
                f'width="{_SIDE}" height="{_SIDE}"/>'
                f'<rect class="edge" x="{x}" y="{y}" width="{_SIDE}" height="{_SIDE}"/>'
            )
    told = "; ".join(
        f"{name}: {_said(each)}"
        for name, each in zip(("these drawings", "the other set"), sets, strict=False)
    )
    return (
        f'<svg class="chart means" role="img" aria-label="Mean and spread of {esc(told)}" '
        f'viewBox="0 0 {wide} {high}" width="{wide}" height="{high}">{"".join(parts)}</svg>'
    )


def _said(each: MeasuredSet) -> str:
    dx, dy = (each.measures.quantiles(f"centroid_d{axis}_px", (50,))[0] for axis in "xy")
    return f"centre of ink {dx:+.1f} px along x and {dy:+.1f} px along y of the frame's"


def class_means(drawings: Drawings) -> str:
    """The mean picture of each class with its name and count; under it the other set's."""
    other = drawings.against
    places = {} if other is None else {name: i for i, name in enumerate(other.classes)}
    items = []
    for place, name in enumerate(drawings.here.classes):
        count = int(drawings.here.pictures.counts[place])
        shown = _mean(drawings.here, place, f"Mean of class {name}")
        if other is not None:
            at = places.get(name)
            shown += (
                _mean(other, at, f"Mean of class {name} in the other set")
                if at is not None
                else '<p class="none">not there</p>'
            )
        items.append(f"<li>{shown}<b>{esc(name)}</b> {count:,}</li>")
    return f'<ul class="classes">{"".join(items)}</ul>'


def _mean(each: MeasuredSet, place: int, alt: str) -> str:
    picture = each.pictures.class_means[place]
    if not np.isfinite(picture).all():
        return '<p class="none">no glyphs</p>'
    return f'<img alt="{esc(alt)}" src="{data_uri(scaled(picture, float(picture.max())))}">'


def scaled(picture: Real, most: float) -> Pixels:
    """Grey levels with `most` as full ink."""
    return np.asarray(np.rint(picture * (255 / max(most, 1.0))).clip(0, 255), dtype=np.uint8)
