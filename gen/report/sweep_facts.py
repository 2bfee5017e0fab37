"""What stands under the chart of a sweep: what it comes to, and where marks and classes break."""

from __future__ import annotations

from collections.abc import Iterator

from gen.evaluate.results import Breaking, Curve, Estimate
from gen.report.causes import is_switch
from gen.report.markup import esc
from gen.report.places import place
from gen.report.typeset import typeset
from gen.report.words import (
    amount,
    by_name,
    count,
    end_words,
    interval_words,
    listed,
    measured,
    quoted,
    rounded_amount,
)


def facts(curve: Curve) -> str:
    """A list of terms and what they come to; nothing without a summary."""
    told = list(_facts(curve))
    if not told:
        return ""
    inner = "".join(
        f"<div><dt>{esc(name)}</dt><dd>{esc(typeset(said))}</dd></div>" for name, said in told
    )
    return f'<dl class="under">{inner}</dl>'


def _facts(curve: Curve) -> Iterator[tuple[str, str]]:
    part = curve.summary
    if part is None:
        return
    if not by_name(curve):
        yield from _listed_ends(curve, "Ends of the range", part.tolerance_low, part.tolerance_high)
        yield from _listed_ends(
            curve, "Accuracy halfway from nominal to a guess", part.half_low, part.half_high
        )
    area = part.area
    if area.value is not None and not is_switch(curve):
        within = ""
        if area.low is not None and area.high is not None:
            within = f" ({100 * area.low:.1f} to {100 * area.high:.1f} %)"
        yield "Mean over all levels", f"{measured(area.value)}{within}"
    if curve.peak.levels:
        yield "The peak lies", peak_range(curve)
    for side in () if by_name(curve) else part.breaking:
        yield (
            f"Marks first misread {'above' if side.side == 'up' else 'below'} nominal",
            _breaking(curve, side),
        )
    first, pair = part.first_class, part.confused
    if first is not None:
        said = f"{quoted(first.name)} {place(curve, first.level)}: {interval_words(first.accuracy)}"
        yield "First class under the floor", said
    if pair is not None:
        from_there = f"from {amount(curve, pair.level)} on"
        if by_name(curve):
            from_there = place(curve, pair.level)
        yield (
            "Most confused",
            f"{quoted(pair.true)} as {quoted(pair.answered)}, {from_there}: "
            f"{measured(pair.share.value)} of {quoted(pair.true)}",
        )
    if part.hidden_blur:
        most = max(part.hidden_blur, key=lambda blur: blur.share)
        yield (
            "Blurred by resampling",
            f"{amount(curve, most.level)}: {most.sigma_px:.2g} px, which could explain "
            f"{measured(most.share)} of the drop",
        )


def _listed_ends(
    curve: Curve, name: str, low: Estimate | None, high: Estimate | None
) -> Iterator[tuple[str, str]]:
    told = [_estimate(curve, part) for part in (low, high) if part is not None]
    told = [words for words in told if words]
    if told:
        yield name, "; ".join(dict.fromkeys(told))


def _estimate(curve: Curve, part: Estimate) -> str:
    within = end_words(curve, part)
    if part.value is None:
        # It couldn't be told because it lies too far off, or because nominal is too low.
        if part.beyond <= part.undefined:
            return ""
        return (
            f"not within the levels tried ({within})" if within else "not within the levels tried"
        )
    said = rounded_amount(curve, part.value)
    # An interval as narrow as its figure says nothing more.
    return f"{said} ({within})" if " to " in within else said


def loosely_placed(curve: Curve) -> bool:
    """Whether chance alone could have put the peak at more amounts than one."""
    levels = curve.peak.levels
    amounts = not is_switch(curve) and not any(isinstance(level, str) for level in levels)
    return amounts and len(set(levels)) > 1


def peak_range(curve: Curve) -> str:
    """Where the peak lies, as 95 % of the draws have it: "at +4 px", "from +2 px to +3 px"."""
    levels = curve.peak.levels
    if any(isinstance(level, str) for level in levels):
        return f"with {listed([str(level) for level in levels])}"
    if is_switch(curve):
        return " or ".join(dict.fromkeys(amount(curve, level) for level in levels))
    low, high = levels[0], levels[-1]
    if low == high:
        return f"at {amount(curve, low)}"
    return f"from {amount(curve, low)} to {amount(curve, high)}"


def _breaking(curve: Curve, side: Breaking) -> str:
    names = ("a quarter", "half", "three quarters")
    parts = [
        f"{name} by {amount(curve, level)}"
        for name, level in zip(names, side.quartiles, strict=True)
        if level is not None
    ]
    never = f"{count(side.never)} never"
    return ", ".join([*parts, never])
