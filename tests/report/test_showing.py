"""What a report shows: which glyphs are chosen, and that they look and read as they were scored."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from gen.evaluate.answers import Answers
from gen.evaluate.score import Scored, score
from gen.evaluate.sheet import Sheet
from gen.glyphs.base import Provenance, RasterGlyphs
from gen.perturb.recipes import parse_recipe
from gen.recipe.model import Recipe
from gen.render.engine import Renderer
from gen.render.plan import make_plan
from gen.report import chosen, showing
from gen.report.object import Report
from gen.report.showing import shown_of
from gen.report.shown import Picture, Shown

MOVES = """
title = "Mount drift"
[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = [-3, -2, -1, 0, 1, 2, 3]
"""
CROSSED = """
[[grid]]
down = {perturbation = "translation", along = "x", unit = "px", levels = [0, 2]}
across = {perturbation = "blur", unit = "px", levels = [0, 1]}
[[blend]]
title = "belt"
[[blend.part]]
perturbation = "translation"
along = "x"
unit = "px"
discrete = {values = [1, 3]}
"""


def bars(n: int = 60, side: int = 12) -> RasterGlyphs:
    """An upright bar in the left or the right half, each glyph with a grey of its own."""
    images = np.zeros((n, side, side), np.uint8)
    for i in range(n):
        images[i, 2:-2, (3 if i % 2 == 0 else side - 5)] = 100 + i
    return RasterGlyphs(
        frame=(side, side),
        labels=np.arange(n) % 2,
        classes=("row", "letter"),
        provenance=Provenance("array", "bars", ""),
        writers=None,
        images=images,
    )


def halves(images: NDArray[Any]) -> NDArray[np.float64]:
    """Confidence by how much of the ink is on either side; grey makes it a little less sure."""
    wide = images.shape[2] // 2
    left = images[:, :, :wide].sum(axis=(1, 2)) + 1e-3
    right = images[:, :, wide:].sum(axis=(1, 2)) + 1e-3
    sure = 0.6 + 0.35 * images.max(axis=(1, 2)) / max(1.0, float(images.max()))
    share = np.where(left > right, sure, 1 - sure)
    return np.stack([share, 1 - share], axis=1)


def told(text: str, glyphs: RasterGlyphs, model: Any = halves) -> tuple[Recipe, Scored, Shown]:
    recipe = parse_recipe(text)
    scored = score(model, recipe, glyphs)
    plan = make_plan(recipe, glyphs.frame)
    return recipe, scored, shown_of(plan, glyphs, scored.evaluation, scored.sheet)


def sheet_of(
    right: Callable[[int, int], bool], *, classes: int, n: int, cells: int
) -> tuple[Sheet, list[str]]:
    """A sheet in which glyph i is read rightly in cell c as told, else as the next class."""
    names = ["nominal", *(f"c{c}" for c in range(1, cells))]
    labels = np.arange(n) % classes
    sheet = Sheet(names, labels, writers=None, classes=[str(c) for c in range(classes)])
    for c, name in enumerate(names):
        said = np.array([labels[i] if right(i, c) else (labels[i] + 1) % classes for i in range(n)])
        sure = 0.5 + np.arange(n) / (2 * n)
        given = np.zeros((n, classes))
        given[np.arange(n), said] = sure
        sheet.fill(name, np.arange(n), Answers(said, sure, given), ink_lost=np.zeros(n))
    return sheet, names


# Which


def test_each_glyph_followed_is_of_another_class_and_read_rightly_at_nominal() -> None:
    sheet, names = sheet_of(
        lambda i, c: i >= 10 if c == 0 else i % 3 > 0, classes=10, n=80, cells=4
    )
    places = chosen.followed(sheet, names[0], names, 6)
    assert len(places) == 6
    assert len({int(sheet.labels[place]) for place in places}) == 6
    assert all(sheet.row("nominal").right[place] for place in places)


def test_of_a_class_the_glyph_that_fares_as_the_middle_one_is_followed() -> None:
    # Glyph i of the one class is lost in i of the cells.
    sheet, names = sheet_of(lambda i, c: i < 2 or c == 0 or c > i // 2, classes=2, n=18, cells=10)
    places = chosen.followed(sheet, names[0], names[1:], 1)
    lost = [sum(not sheet.row(name).right[place] for name in names[1:]) for place in range(18)]
    assert lost[places[0]] == np.median(lost)


def test_the_first_to_be_followed_fares_as_the_middle_one_of_all() -> None:
    # Glyphs of class 0 are lost in all nine cells off nominal, those of the others in four.
    sheet, names = sheet_of(lambda i, c: c == 0 or (i % 3 > 0 and c > 4), classes=3, n=30, cells=10)
    first, *others = chosen.followed(sheet, names[0], names[1:], 6)
    assert sheet.labels[first] == 1
    assert sorted(int(sheet.labels[place]) for place in others) == [0, 2]


def test_of_very_many_glyphs_those_to_follow_are_looked_for_all_over_the_set(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(chosen, "LOOKED_THROUGH", 10)
    sheet, names = sheet_of(lambda i, c: i >= 25, classes=2, n=50, cells=2)
    places = chosen.followed(sheet, names[0], names[1:], 6)
    assert sorted(int(sheet.labels[place]) for place in places) == [0, 1]
    assert all(place >= 25 and place % 5 == 0 for place in places)


def test_a_class_that_is_never_read_rightly_is_followed_too() -> None:
    sheet, names = sheet_of(lambda i, c: i % 2 == 0, classes=2, n=20, cells=2)
    places = chosen.followed(sheet, names[0], names, 6)
    assert sorted(int(sheet.labels[place]) for place in places) == [0, 1]
    assert sheet.labels[places[0]] == 0


def test_misread_glyphs_that_nominal_reads_rightly_come_first_and_the_surest_of_them() -> None:
    sheet, _ = sheet_of(lambda i, c: i >= 4 if c == 0 else i >= 12, classes=12, n=24, cells=2)
    places = chosen.misread(sheet, sheet.row("c1"), sheet.row("nominal"), 12)
    assert places == [11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0]


def test_a_third_glyph_of_a_pair_waits_until_the_others_had_their_turn() -> None:
    sheet, _ = sheet_of(lambda i, c: c == 0 or 1 < i < 18, classes=2, n=20, cells=2)
    assert chosen.misread(sheet, sheet.row("c1"), sheet.row("nominal"), 9) == [19, 18, 1, 0]
    sheet, _ = sheet_of(lambda i, c: c == 0 or (i % 2 == 1 and i < 19), classes=2, n=20, cells=2)
    assert chosen.misread(sheet, sheet.row("c1"), sheet.row("nominal"), 4) == [19, 18, 16, 14]


def test_no_glyph_is_shown_as_misread_where_all_are_read_rightly() -> None:
    sheet, _ = sheet_of(lambda i, c: True, classes=2, n=8, cells=2)
    assert chosen.misread(sheet, sheet.row("c1"), sheet.row("nominal"), 6) == []


# As they were scored


def every_picture(shown: Shown) -> list[Picture]:
    out = list(shown.at_nominal)
    for sweep in shown.sweeps:
        out += [picture for level in sweep.misread for picture in level]
        out += sweep.first_lost
    for grid in shown.grids:
        out += [picture for row in grid.cells for picture in row if picture is not None]
    return out + [picture for blend in shown.blends for picture in blend.drawn]


def test_asked_again_about_a_picture_that_is_shown_the_model_says_what_stands_beside_it() -> None:
    glyphs = bars()
    _, _, shown = told(MOVES + CROSSED, glyphs)
    pictures = every_picture(shown)
    assert len(pictures) > 30
    for picture in pictures:
        answer = halves(picture.image[None])[0].argmax()
        assert glyphs.classes[answer] == picture.said.answered
        assert glyphs.classes[glyphs.labels[picture.glyph]] == picture.true
        assert picture.said.right == (picture.said.answered == picture.true)


def test_a_glyph_that_is_followed_looks_as_the_renderer_has_it_and_reads_as_scored() -> None:
    glyphs = bars()
    recipe, scored, shown = told(MOVES, glyphs)
    plan = make_plan(recipe, glyphs.frame)
    assert len(shown.sweeps[0].followed) == 2
    for each in shown.sweeps[0].followed:
        block = Renderer(plan, glyphs).block(np.array([each.glyph]))
        for i, cell in enumerate(plan.sweeps[0].cells):
            np.testing.assert_array_equal(each.images[i], block.render(cell).images[0])
            row = scored.sheet.row(cell.name)
            assert each.said[i].answered == glyphs.classes[row.answered[each.glyph]]
            assert each.said[i].confidence == pytest.approx(row.confidence[each.glyph])


def test_the_first_lost_are_those_of_the_smallest_change_that_costs_any() -> None:
    glyphs = bars()
    _, scored, shown = told(MOVES, glyphs)
    points = scored.evaluation.curves[0].points
    sweep = shown.sweeps[0]
    assert sweep.first_lost_at is not None
    lost = points[sweep.first_lost_at].level
    nearer = [p for p in points if abs(float(p.level)) < abs(float(lost))]
    assert nearer and all(p.accuracy.value == 1 for p in nearer)
    assert sweep.first_lost == sweep.misread[sweep.first_lost_at]
    assert all(p.before is not None for p in sweep.first_lost)
    np.testing.assert_array_equal(
        sweep.first_lost[0].before, glyphs.images[sweep.first_lost[0].glyph]
    )


def test_where_a_peak_is_off_nominal_glyphs_are_shown_that_only_the_peak_reads() -> None:
    _, scored, shown = told(MOVES, bars(), lambda images: halves(np.roll(images, 3, axis=2)))
    (curve,), (sweep,) = scored.evaluation.curves, shown.sweeps
    assert curve.peak.level == -1  # there a bar of the left half is read within it
    assert len(sweep.gained) == 2
    for picture in sweep.gained:
        assert picture.said.right
        assert picture.before_said is not None
        assert not picture.before_said.right
    wrong = ~scored.sheet.row("nominal").right & scored.sheet.row(curve.points[2].cell).right
    surest = np.sort(scored.sheet.row("nominal").confidence[wrong])[::-1]
    assert curve.points[2].level == curve.peak.level
    said = [picture.before_said and picture.before_said.confidence for picture in sweep.gained]
    assert said == surest[:2].tolist()
    assert surest[0] > surest[-1]
    steady = told(MOVES, bars())[2].sweeps[0]
    assert steady.gained == ()


def test_rules_and_switches_have_no_smallest_change() -> None:
    text = """title = "rules"
    [[sweep]]
    perturbation = "placement"
    unit = "rule"
    levels = ["as drawn", "top left", "right"]
    [[sweep]]
    perturbation = "mirror"
    along = "x"
    unit = "times"
    levels = [0, 1]
    """
    _, scored, shown = told(text, bars())
    assert scored.evaluation.curves[1].points[1].accuracy.value < 1
    assert [sweep.first_lost_at for sweep in shown.sweeps] == [None, None]


def test_glyphs_that_were_left_out_do_not_shift_those_that_are_shown() -> None:
    glyphs = bars()
    glyphs.images[[0, 1, 5]] = 0
    _, _, shown = told(MOVES, glyphs)
    pictures = every_picture(shown)
    assert pictures and not {0, 1, 5} & {picture.glyph for picture in pictures}
    for picture in pictures:
        assert glyphs.classes[halves(picture.image[None])[0].argmax()] == picture.said.answered


def test_a_level_at_which_the_model_failed_is_in_no_strip() -> None:
    def fails(images: NDArray[Any]) -> NDArray[np.float64]:
        if (images[:, 2:-2, 6] > 0).any():  # a left bar moved by three
            raise ValueError("no")
        return halves(images)

    _, scored, shown = told(MOVES, bars(), fails)
    assert scored.evaluation.failed
    points = scored.evaluation.curves[0].points
    assert len(points) < 7
    assert all(len(each.images) == len(points) for each in shown.sweeps[0].followed)


def test_of_blends_those_that_were_scored_are_shown_in_the_order_of_their_forecasts() -> None:
    second = CROSSED[CROSSED.index("[[blend]]") :].replace("belt", "chute").replace("[1, 3]", "[2]")

    def fails(images: NDArray[Any]) -> NDArray[np.float64]:
        if (images[:, 2:-2, 4] > 0).any() and (images[:, 2:-2, 6] > 0).any():
            raise ValueError("no")  # left bars, of which some are moved by one and some by three
        return halves(images)

    _, scored, shown = told(MOVES + CROSSED + second, bars(), fails)
    assert [blend.title for blend in scored.evaluation.blends] == ["chute"]
    (blend,) = shown.blends
    for picture in blend.drawn:
        assert picture.before is not None
        np.testing.assert_array_equal(picture.image, np.roll(picture.before, 2, axis=1))


def test_a_blend_whose_later_draw_failed_is_shown_by_its_first() -> None:
    belt = CROSSED[CROSSED.index("[[blend]]") :]
    twice = belt.replace('title = "belt"', 'title = "belt"\ndraws = 2')
    second = belt.replace("belt", "chute").replace("[1, 3]", "[2]")
    first: list[NDArray[Any]] = []

    def fails(images: NDArray[Any]) -> NDArray[np.float64]:
        if (images[:, 2:-2, 4] > 0).any() and (images[:, 2:-2, 6] > 0).any():
            # Left bars, of which some are moved by one and some by three: a draw of the belt.
            if first and not np.array_equal(images, first[0]):
                raise ValueError("no")
            first.append(images.copy())
        return halves(images)

    _, scored, shown = told(MOVES + twice + second, bars(), fails)
    made = scored.evaluation
    assert [failed.cell for failed in made.failed] == ["blend-01-draw-2"]
    assert [(blend.title, blend.draws) for blend in made.blends] == [("belt", 1), ("chute", 1)]
    assert len(shown.blends) == 2
    assert "As they may come" in Report(made, shown).as_html()


def test_a_model_that_gives_labels_only_is_never_said_to_be_sure() -> None:
    _, _, shown = told(MOVES, bars(), lambda images: halves(images).argmax(axis=1))
    pictures = every_picture(shown)
    assert pictures and all(picture.said.confidence is None for picture in pictures)


def test_a_large_frame_is_shown_as_the_mean_of_whole_squares() -> None:
    rng = np.random.default_rng(2)
    images = rng.integers(0, 256, (3, 150, 90), dtype=np.uint8)
    small = showing._smaller(images)
    assert small.shape == (3, 50, 30)
    by_hand = images[1, 6:9, 3:6].astype(float).mean()
    assert abs(float(small[1, 2, 1]) - by_hand) <= 0.5
    np.testing.assert_array_equal(showing._smaller(images[:, :64, :64]), images[:, :64, :64])
    assert showing._smaller(images[:, :65, :20]).shape == (3, 33, 10)


def test_marks_of_no_class_are_shown_a_kind_each() -> None:
    _, scored, shown = told(MOVES, bars())
    assert [kind.kind for kind in shown.strangers] == [m.kind for m in scored.evaluation.foreign]
    assert all(kind.images.shape == (6, 12, 12) for kind in shown.strangers)
