"""Reading the distribution of a blend's part, and the step that its levels are rounded to."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from gen.recipe.amounts import judge, limits_text, read_number
from gen.recipe.catalogue import Level, Unit
from gen.recipe.drawn import DISTRIBUTIONS, Discrete, Distribution, Normal, Triangular, Uniform
from gen.recipe.levels import LIMIT, TOTAL_LIMIT, read_level
from gen.recipe.lines import Path
from gen.recipe.problems import Problems
from gen.recipe.spacing import as_float
from gen.recipe.spelling import listed, nearest_hint, plain, quoted, shown

FIELDS: dict[str, tuple[str, ...]] = {
    "normal": ("mean", "sd"),
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "discrete": ("values", "weights"),
}
"""The keys of each distribution."""

LEAST_SPREAD, MOST_SPREAD = Decimal("0.000001"), Decimal(1_000_000)
PARTS_OF_SPREAD = 64
"""A default step is at most this part of the unit and of the spread."""
REACH_SD = Decimal("9.5")
"""Beyond so many standard deviations a normal distribution has less than 2**-64 of its levels."""


def read_distribution(
    kind: str, value: object, unit: Unit | None, path: Path, problems: Problems
) -> Distribution | None:
    """Judge one distribution; None when something is wrong with it.

    Parameters
    ----------
    kind
        One of `DISTRIBUTIONS`.
    value
        What the file says.
    unit
        What its levels are held to; None when the unit itself is in doubt.
    path
        Where it stands.
    problems
        Takes what is wrong.
    """
    fields = FIELDS[kind]
    form = "{" + ", ".join(fields) + "}"
    if not isinstance(value, dict):
        problems.add(path, f"{kind} must be a table", got=shown(value), allowed=form)
        return None
    before = len(problems)
    for key in value:
        if key not in fields:
            problems.add(
                path,
                f"unknown key {quoted(key)}",
                line_of=(*path, key),
                allowed=", ".join(fields),
                hint=nearest_hint(key, fields),
            )
    if unit is not None and unit.names and kind != "discrete":
        problems.add(
            path,
            "these levels are names, not amounts",
            got=kind,
            allowed=f"discrete, of {listed(unit.names)}",
        )
        return None
    if len(problems) > before:
        return None
    missing = [key for key in fields if key not in value and key != "weights"]
    for key in missing:
        problems.add(path, f"missing key {quoted(key)}", allowed=form)
    if missing:
        return None
    if kind == "discrete":
        return _discrete(value, unit, path, problems)
    return _continuous(kind, value, unit, path, problems)


def _continuous(
    kind: str, value: Mapping[str, object], unit: Unit | None, path: Path, problems: Problems
) -> Distribution | None:
    before = len(problems)
    read = {}
    for key in FIELDS[kind]:
        number = read_number(value[key])
        if key == "sd":
            if number is None or not LEAST_SPREAD <= number <= MOST_SPREAD:
                problems.add(
                    (*path, key),
                    "a standard deviation must be a number over 0",
                    got=shown(value[key]),
                    allowed=f"{plain(LEAST_SPREAD)} to {plain(MOST_SPREAD)}",
                )
        elif number is None:
            problems.add(
                (*path, key),
                f'"{key}" must be a finite number',
                got=shown(value[key]),
                allowed=limits_text(unit) if unit is not None else None,
            )
        elif key != "mean" or unit is None or not unit.whole:
            judge(number, unit, (*path, key), problems)
        else:  # the mean of whole numbers need not be one
            judge(number, Unit(unit.name, unit.nominal, unit.low, unit.high), path, problems)
        read[key] = number if number is not None else Decimal(0)
    if len(problems) > before:
        return None
    if kind != "normal":
        points = [read[key] for key in FIELDS[kind]]
        if points != sorted(points) or points[-1] - points[0] < LEAST_SPREAD:
            order = " to ".join(f"{key} = {plain(read[key])}" for key in FIELDS[kind])
            problems.add(
                path,
                f"{kind} must go upwards: " + ", ".join(FIELDS[kind]),
                got=order,
                allowed=f'"low" less than "high" by at least {plain(LEAST_SPREAD)}',
            )
            return None
    return DISTRIBUTIONS[kind](**{key: as_float(number) for key, number in read.items()})  # type: ignore[arg-type]


def _discrete(
    value: Mapping[str, object], unit: Unit | None, path: Path, problems: Problems
) -> Discrete | None:
    before = len(problems)
    items = value["values"]
    if not isinstance(items, list) or not 1 <= len(items) <= LIMIT:
        problems.add(
            (*path, "values"),
            "values must be a list of levels",
            got=shown(items),
            allowed=f"1 to {LIMIT}",
        )
        return None
    levels: list[Level] = []
    for number, item in enumerate(items):
        at = (*path, "values", number)
        level = read_level(item, unit, at, problems)
        if level is not None and level in levels:
            problems.add(at, "a level is there twice", got=shown(item), allowed="each level once")
        if level is not None:
            levels.append(level)
    weights = _weights(value.get("weights", [1] * len(items)), len(items), path, problems)
    return Discrete(tuple(levels), weights) if len(problems) == before else None


def _weights(value: object, count: int, path: Path, problems: Problems) -> tuple[float, ...]:
    at = (*path, "weights")
    if not isinstance(value, list) or len(value) != count:
        problems.add(at, "there must be one weight a value", got=shown(value), allowed=count)
        return ()
    weights = []
    for number, item in enumerate(value):
        weight = read_number(item)
        if weight is None or not LEAST_SPREAD <= weight <= MOST_SPREAD:
            problems.add(
                (*at, number),
                "a weight must be a number over 0",
                got=shown(item),
                allowed=f"{plain(LEAST_SPREAD)} to {plain(MOST_SPREAD)}",
            )
        else:
            weights.append(as_float(weight))
    return tuple(weights)


def read_step(
    value: object, drawn: Distribution, unit: Unit | None, path: Path, problems: Problems
) -> float:
    """The step that levels are rounded to, as written or the usual one.

    The usual one is 1 where only whole numbers make sense, and elsewhere the
    largest power of two that is at most 1/64 of the unit and 1/64 of the spread
    (the standard deviation, or from low to high).
    """
    at = (*path, "step")
    if isinstance(drawn, Discrete):
        if value is not None:
            problems.add(
                at, "single values are not rounded", got=shown(value), hint='leave out "step"'
            )
        return 0.0
    whole = unit is not None and unit.whole
    if value is None:
        step = Decimal(1) if whole else usual_step(drawn)
    else:
        number = read_number(value)
        if number is None or number <= 0 or (whole and number != number.to_integral_value()):
            problems.add(
                at,
                f"a step must be a {'whole' if whole else 'finite'} number",
                got=shown(value),
                allowed="greater than 0",
            )
            return 0.0
        step = number
    low, high = reach(drawn)
    if unit is not None and isinstance(drawn, Normal):
        low = low if unit.low is None else max(low, Decimal(repr(unit.low)))
        high = high if unit.high is None else min(high, Decimal(repr(unit.high)))
    count = (high - low) / step
    if count > TOTAL_LIMIT or step > MOST_SPREAD:
        problems.add(
            at if value is not None else path,
            "too many levels to draw from" if count > TOTAL_LIMIT else "the step is too large",
            got=f"{plain(low)} to {plain(high)} by {plain(step)}",
            allowed=f"at most {TOTAL_LIMIT}",
            hint="a larger step" if count > TOTAL_LIMIT else "a smaller step",
        )
    return as_float(step)


def usual_step(drawn: Normal | Uniform | Triangular) -> Decimal:
    """The largest power of two that is at most 1/64 of the unit and of the spread.

    Examples
    --------
    >>> usual_step(Normal(0.0, 2.0)), usual_step(Normal(1.0, 0.05))
    (Decimal('0.015625'), Decimal('0.00048828125'))
    """
    if isinstance(drawn, Normal):
        spread = Decimal(repr(drawn.sd))
    else:
        spread = Decimal(repr(drawn.high)) - Decimal(repr(drawn.low))
    step = Decimal(1) / PARTS_OF_SPREAD
    while step * PARTS_OF_SPREAD > spread:
        step /= 2
    return step


def reach(drawn: Normal | Uniform | Triangular) -> tuple[Decimal, Decimal]:
    """Least and greatest amount that is drawn, a normal distribution's to 9.5 deviations."""
    if isinstance(drawn, Normal):
        mean, sd = Decimal(repr(drawn.mean)), Decimal(repr(drawn.sd))
        return mean - REACH_SD * sd, mean + REACH_SD * sd
    return Decimal(repr(drawn.low)), Decimal(repr(drawn.high))
