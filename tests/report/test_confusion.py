"""What is read as what at one level: a matrix of few classes, the worst pairs of many."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import pytest

from gen.report.confusion import PAIRS, confusion


def test_a_matrix_holds_every_answer(planted: ModuleType) -> None:
    made = planted.healthy()
    point = made.curves[0].points[0]
    table = confusion(made.classes, point, "here")
    assert table.kind == "matrix"
    counts = [[int(text or 0) for text, _ in row[1:]] for row in table.rows]
    for i, (row, scored) in enumerate(zip(counts, point.per_class, strict=True)):
        assert sum(row) == scored.accuracy.n
        assert row[i] == scored.accuracy.correct
        assert row[(i + 1) % len(row)] == scored.accuracy.n - scored.accuracy.correct
    kinds = {kind for row in table.rows for text, kind in row[1:] if not text}
    assert kinds == {""}  # nobody's answer has no shade


def test_of_many_classes_the_pairs_that_matter_are_listed(planted: ModuleType) -> None:
    classes = tuple(f"c{k}" for k in range(30))
    made = planted.evaluation(planted.along_x(planted.bell(0, 5), classes=classes), classes=classes)
    pairs = tuple((k, (k + 1) % 30, 1 + k % 7) for k in range(30))
    point = replace(made.curves[0].points[0], misread=pairs)
    table = confusion(classes, point, "here")
    assert table.kind == "pairs"
    assert len(table.rows) == PAIRS
    counts = [int(row[2][0]) for row in table.rows]
    assert counts == sorted((n for _, _, n in pairs), reverse=True)[:PAIRS]
    left = sum(n for _, _, n in pairs) - sum(counts)
    assert table.rest == f"and {left} glyphs in {30 - PAIRS} other pairs"
    true, answered = table.rows[0][0][0], table.rows[0][1][0]
    assert int(answered[1:]) == int(true[1:]) + 1
    n = next(s.accuracy.n for s in point.per_class if s.name == true)
    assert table.rows[0][3][0] == f"{100 * counts[0] / n:.1f} %"


def test_where_nothing_is_misread_of_many_classes_there_is_no_table(planted: ModuleType) -> None:
    classes = tuple(f"c{k}" for k in range(30))
    perfect = planted.point(0.0, 1.0, classes=classes)
    assert confusion(classes, perfect, "here").markup() == ""


@pytest.mark.parametrize(
    ("times", "shade"), [(1, "shade-1"), (111, "shade-1"), (112, "shade-2"), (1000, "shade-9")]
)
def test_a_cell_is_the_darker_the_larger_its_share_of_the_class(
    planted: ModuleType, times: int, shade: str
) -> None:
    """Nine shades, a ninth of the class each; the style sheet has them."""
    first = planted.point(0.0, 0.0, n=2000, classes=("0", "1"))
    assert first.per_class[0].accuracy.n == 1000
    table = confusion(("0", "1"), replace(first, misread=((0, 1, times),)), "here")
    assert table.rows[0][2] == (f"{times:,}", shade)
