"""Accuracy of each class through a sweep: small pictures of one scale, on demand."""

from __future__ import annotations

from gen.evaluate.results import Curve
from gen.report.charts import stops
from gen.report.markup import esc
from gen.report.typeset import typeset
from gen.report.words import amount, by_name, measured

MOST = 48
"""Of more classes than this only the ones that fall lowest are shown."""
HIGH = 40


def class_lines(curve: Curve, *, ident: str, floor: float) -> str:
    """A small picture of each class, with the floor; nothing where no class was scored.

    The script of the page makes each a button that lays the class over the chart.

    Parameters
    ----------
    curve
        The sweep.
    ident
        Start of the ids in it, of this page alone.
    floor
        Accuracy to mark.
    """
    names = [scored.name for scored in curve.points[0].per_class]
    if not names:
        return ""
    lines = {
        name: [point.per_class[k].accuracy.value for point in curve.points]
        for k, name in enumerate(names)
    }
    shown, hint = names, ""
    if len(names) > MOST:
        lowest = set(sorted(names, key=lambda name: min(lines[name]))[:MOST])
        shown = [name for name in names if name in lowest]
        hint = f'<p class="hint">The {MOST} of {len(names)} classes that fall lowest.</p>'
    xs = _across(curve)
    inner = "".join(_small(curve, name, lines[name], xs, floor) for name in shown)
    return (
        f'<details class="by-class"><summary>Class by class</summary>{hint}'
        f'<ul class="smalls" id="{ident}-classes">{inner}</ul></details>'
    )


def _across(curve: Curve) -> tuple[float, ...]:
    """Where levels stand: as in the chart, or evenly where they are names."""
    if not by_name(curve):
        return stops(curve)
    last = max(1, len(curve.points) - 1)
    return tuple(5 + 90 * i / last for i in range(len(curve.points)))


def _small(
    curve: Curve, name: str, shares: list[float], xs: tuple[float, ...], floor: float
) -> str:
    least = min(range(len(shares)), key=lambda i: shares[i])
    says = f"lowest {measured(shares[least])}, {amount(curve, curve.points[least].level)}"
    values = " ".join(f"{100 * share:.1f}" for share in shares)
    y = HIGH * (1 - floor)
    if by_name(curve):
        drawn = "".join(
            f'<circle class="dot" cx="{x:g}%" cy="{HIGH * (1 - share):.1f}" r="2.5"/>'
            for x, share in zip(xs, shares, strict=True)
        )
    else:
        spots = " ".join(
            f"{x:g},{100 - 100 * share:.1f}" for x, share in zip(xs, shares, strict=True)
        )
        drawn = (
            f'<svg width="100%" height="{HIGH}" viewBox="0 0 100 100" '
            f'preserveAspectRatio="none"><polyline class="curve" points="{spots}"/></svg>'
        )
    return (
        f'<li data-class="{esc(name)}" data-values="{values}">'
        f'<svg class="chart small" width="100%" height="{HIGH}" aria-hidden="true">'
        f'<line class="grid" x1="0%" x2="100%" y1="{HIGH}" y2="{HIGH}"/>'
        f'<line class="floor" x1="0%" x2="100%" y1="{y:.1f}" y2="{y:.1f}"/>{drawn}</svg>'
        f"<b>{esc(name)}</b> <small>{esc(typeset(says))}</small></li>"
    )
