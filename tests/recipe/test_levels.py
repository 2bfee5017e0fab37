"""Levels: counted in decimal, exactly."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gen.recipe.levels import LIMIT, read_levels, read_number
from gen.recipe.model import Unit
from gen.recipe.origins import Source
from gen.recipe.problems import Problems
from gen.recipe.spacing import StepMissError, by_count, by_step

# A busy machine is no fault of the code.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

PX = Unit("px", 0.0)
hundredths = st.integers(-10_000, 10_000).map(lambda n: Decimal(n) / 100)
steps = st.integers(1, 500).map(lambda n: Decimal(n) / 1000)


def read(value: object, unit: Unit | None = PX) -> tuple[tuple[float | str, ...], int]:
    problems = Problems(Source("recipe"))
    return read_levels(value, unit, ("levels",), problems), len(problems)


def test_tenths_are_tenths() -> None:
    levels = by_step(Decimal("0"), Decimal("1"), Decimal("0.1"))
    assert levels == (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
    assert levels[3] != 0.1 * 3  # what binary steps would give


@unhurried
@given(first=hundredths, step=steps, count=st.integers(1, 200))
def test_a_step_gives_the_floats_that_its_decimals_read_as(
    first: Decimal, step: Decimal, count: int
) -> None:
    levels = by_step(first, first + step * count, step)
    # Whole thousandths, written out and read back: Python's own reading is the oracle.
    start, size = int(first * 1000), int(step * 1000)
    assert levels == tuple(float(f"{start + size * n}e-3") for n in range(count + 1))


@unhurried
@given(first=hundredths, width=st.integers(1, 10_000), count=st.integers(2, 300))
def test_a_count_gives_the_floats_nearest_to_the_true_fractions(
    first: Decimal, width: int, count: int
) -> None:
    levels = by_count(first, first + width, count)
    # Fractions are exact, and their conversion rounds once.
    whole = [Fraction(first) + Fraction(width * n, count - 1) for n in range(count)]
    assert levels == tuple(float(value) for value in whole)


@unhurried
@given(first=hundredths, step=steps, count=st.integers(1, 200), part=st.integers(1, 99))
def test_an_end_between_two_steps_is_refused_and_both_are_named(
    first: Decimal, step: Decimal, count: int, part: int
) -> None:
    last = first + step * count + step * part / 100
    with pytest.raises(StepMissError, match="or") as caught:
        by_step(first, last, step)
    assert caught.value.below < last < caught.value.above
    assert caught.value.above - caught.value.below == step
    assert by_step(first, caught.value.below, step)[-1] == float(caught.value.below)


def test_a_third_written_with_ten_digits_lands_and_with_six_does_not() -> None:
    assert by_step(Decimal(0), Decimal(1), Decimal("0.3333333333"))[-1] == 1.0
    with pytest.raises(StepMissError, match=r"0\.999999 or 1\.333332"):
        by_step(Decimal(0), Decimal(1), Decimal("0.333333"))


@unhurried
@given(st.lists(st.integers(-999, 999), min_size=1, unique=True))
def test_a_list_comes_out_sorted_whatever_its_order(values: list[int]) -> None:
    assert read(list(values)) == (tuple(float(value) for value in sorted(values)), 0)


def test_the_longest_range_is_taken_and_one_more_is_not() -> None:
    levels, problems = read({"from": 0, "to": LIMIT - 1, "step": 1})
    assert (len(levels), problems) == (LIMIT, 0)
    assert read({"from": 0, "to": LIMIT, "step": 1}) == ((), 1)
    assert read(list(range(LIMIT)))[1] == 0
    assert read(list(range(LIMIT + 1)))[1] == 1


def test_limits_are_met_as_they_are_written() -> None:
    # 0.1 as a float is a little more than 0.1 as a decimal: that must not shut 0.1 out.
    ratio = Unit("ratio", 1.0, 0.1, 0.3)
    assert read([Decimal("0.1"), Decimal("0.3")], ratio) == ((0.1, 0.3), 0)
    assert read({"from": Decimal("0.1"), "to": Decimal("0.3"), "step": Decimal("0.1")}, ratio) == (
        (0.1, 0.2, 0.3),
        0,
    )
    assert read([Decimal("0.0999999999999999999999"), Decimal("0.30000000000000000001")], ratio)[1]


def test_two_decimals_that_are_one_float_are_the_same_level() -> None:
    assert read([Decimal("0.1"), Decimal("0.10000000000000000000001")])[1] == 1


@pytest.mark.parametrize(
    "value", [True, "1", Decimal("nan"), Decimal("-inf"), Decimal("1e308"), 2**1024, None, [], {}]
)
def test_what_is_no_finite_number_is_not_read_as_one(value: object) -> None:
    assert read_number(value) is None


@pytest.mark.parametrize("value", [0, -5, 2**1000, Decimal("1e-999999"), Decimal("9e307")])
def test_what_is_a_finite_number_is_kept_exactly(value: int | Decimal) -> None:
    assert read_number(value) == value


def test_a_range_with_a_tiny_step_is_refused_without_being_made() -> None:
    assert read({"from": 0, "to": 1, "step": Decimal("1e-300000")}) == ((), 1)
