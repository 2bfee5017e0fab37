"""What is said where no remedy explains all, or nothing can be told."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from gen.diagnose.answer import answer, symptoms
from gen.diagnose.diagnose import diagnose
from gen.diagnose.fits import Fit
from gen.diagnose.judge import Ranked
from gen.diagnose.operations import Operation
from gen.diagnose.results import Remedy, RemedyStep
from gen.diagnose.set_finding import SetFinding
from gen.evaluate.intervals import proportions
from gen.evaluate.results import Proportion
from tests.diagnose.planted import clean

NAMES = tuple("abcd")
LABELS = np.arange(40) % 4


def share(correct: int, n: int = 100) -> Proportion:
    return proportions(correct, n)[0]


def remedy(correct: int) -> Remedy:
    step = RemedyStep("translation", -3.0, "px", (("along", "x"),))
    return Remedy((step,), share(correct), 0.1, 0.001, "Wrong.", "Change.", "the drawings")


def found(kind: str, says: str, *, there: bool = True) -> SetFinding:
    return SetFinding(kind, says, {}, there)


@pytest.mark.parametrize(("others", "said"), [(2, True), (3, False)])
def test_a_model_that_says_the_same_to_nearly_all_is_told_of(others: int, said: bool) -> None:
    answered = np.full(40, 2)
    answered[:others] = 1
    told = symptoms(answered, LABELS, NAMES, ())
    assert any(f'answers "c" to {40 - others} of 40' in one for one in told) == said


def test_two_classes_that_are_taken_for_one_are_named_with_how_often() -> None:
    answered = np.where(LABELS == 1, 3, LABELS)
    answered[0] = 2
    (told,) = symptoms(answered, LABELS, NAMES, ())
    assert 'is "b" as "d": 10 of the 11 glyphs that are misread, where there are 10 of' in told


def test_errors_that_are_spread_over_classes_name_no_two() -> None:
    answered = (LABELS + np.arange(40) // 4 % 4) % 4
    assert symptoms(answered, LABELS, NAMES, ()) == ()
    few = LABELS.copy()
    few[[1, 5, 9, 13]] = 0
    assert symptoms(few, LABELS, NAMES, ()) == (), "four of one kind may be chance"
    few[17] = 0
    assert len(symptoms(few, LABELS, NAMES, ())) == 1


def test_what_a_model_can_not_answer_is_no_class() -> None:
    answered = np.where(np.arange(40) < 39, LABELS, -1)
    assert symptoms(answered, LABELS, NAMES, ()) == ()


def test_what_the_glyphs_show_is_told_where_it_may_be_the_cause() -> None:
    checks = (
        found("pixel packing", "rows are padded"),
        found("placement", "marks sit aside"),
        found("background, shadow", "paper is bare", there=False),
        found("class counts", "no glyph of d"),
        found("scale and box", "too many to tell"),
    )
    answered = (LABELS + np.arange(40) // 4 % 4) % 4
    told = symptoms(answered, LABELS, NAMES, checks)
    assert told == (
        "The glyphs themselves show this: rows are padded.",
        "The glyphs themselves show this: no glyph of d.",
    )


@pytest.mark.parametrize(("right", "told"), [(20, 1), (21, 0)])
def test_labels_are_not_doubted_of_glyphs_that_a_model_reads(right: int, told: int) -> None:
    """Twice as many as the commonest class has, and more, are read rightly."""
    answered = (LABELS + 1 + np.arange(40) // 4 % 3) % 4
    answered[:right] = LABELS[:right]
    checks = (found("labels out of step", "labels were shuffled"),)
    assert len([one for one in symptoms(answered, LABELS, NAMES, checks) if "shuff" in one]) == told


def test_near_the_floor_chance_is_named_and_far_from_it_is_not() -> None:
    near, far = (answer((), share(n), 0.9, seen=("Seen.",)) for n in (85, 70))
    assert any("85 of 100 are read rightly, and chance alone" in said for said in near)
    assert not any("chance alone" in said for said in far)
    assert "Seen." in near
    assert "Seen." in far


def test_what_comes_nearest_is_told_as_what_chance_may_do() -> None:
    right = np.arange(100) < 88
    step = (Operation("stroke-width", 2.0, "px"),)
    near = Fit((), step, step, step, right, right.astype(float))
    told = answer((), share(80), 0.9, near=near)
    assert "chance may do as much: these strokes are about 2 px thinner" in told[1]
    assert "88 of 100 are read rightly; more glyphs would tell" in told[1]
    assert not any("nearest" in said for said in answer((), share(80), 0.9))


def ranked(perhaps: Fit | None = None) -> Ranked:
    nothing: Any = np.zeros(100, np.bool_)
    step = (Operation("stroke-width", -2.0, "px"),) if perhaps else ()
    return Ranked(Fit((), (), (), (), nothing, nothing), 0.01, (), perhaps, step)


def test_what_a_remedy_leaves_misread_is_said_with_what_the_glyphs_show() -> None:
    whole, part = (answer((remedy(n),), share(30), 0.9, seen=("Seen.",)) for n in (92, 70))
    assert "Seen." not in whole
    assert part[-2:] == ("What is still misread has another cause that no remedy shows.", "Seen.")


def test_a_further_step_that_may_help_is_told_as_unsure() -> None:
    right = np.arange(100) < 94
    more = Fit((), (), (), (), right, right.astype(float))
    told = answer((remedy(70),), share(30), 0.9, lead=ranked(more), seen=("Seen.",))
    (perhaps,) = (one for one in told if one.startswith("Perhaps also, though it isn't sure"))
    assert "these strokes are about 2 px thicker" in perhaps
    assert "94 of 100 are read rightly" in perhaps
    assert not any("another cause" in one for one in told)


def test_glyphs_of_one_class_are_no_ground_for_a_remedy() -> None:
    """Turned round, every picture is answered with the one class that there is."""
    some = clean().take(np.flatnonzero(clean().labels == 3)[:40])

    def bright(pictures: Any) -> Any:
        return np.where(pictures.mean(axis=(1, 2)) > 0.5, 3, 8)

    told = diagnose(bright, some)
    assert (told.verdict, told.remedies) == ("too few glyphs", ())
    assert 'All 40 glyphs are of class "3"' in told.says[0]
