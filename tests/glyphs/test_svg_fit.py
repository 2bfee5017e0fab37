"""From pen files to frames: rules of place, fewer points, and the way through the renderer."""

from __future__ import annotations

import math
import pickle
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import PenGlyphs, read_pens
from gen.glyphs.pens.drawing import Drawing, Line
from gen.glyphs.pens.fit import PenFit, fitted
from gen.glyphs.pens.simplify import MOST_PIECES, WITHIN_PX, simplified
from gen.render.coverage import draw

PLACES = {"rtol": 0, "atol": 1e-9}
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" fill="none" stroke="black">'


def drawing(*lines: tuple[list[tuple[float, float]], float | None]) -> Drawing:
    return Drawing("tag", tuple(Line(np.array(points, float), pen) for points, pen in lines))


def ink_box(points: list[np.ndarray], pens: list[float]) -> tuple[np.ndarray, np.ndarray]:
    low = np.min([p.min(axis=0) - w / 2 for p, w in zip(points, pens, strict=True)], axis=0)
    high = np.max([p.max(axis=0) + w / 2 for p, w in zip(points, pens, strict=True)], axis=0)
    return low, high


CORNER = [(0.0, 0.0), (50.0, 0.0), (50.0, 20.0)]


@pytest.mark.parametrize("pen_px", [None, 0.5, 5.0])
@pytest.mark.parametrize(
    "marks",
    [
        [(CORNER, 3.0)],
        [(CORNER, None)],
        [(CORNER, 8.0), ([(60.0, -9.0)], None)],
        [(CORNER, None), ([(60.0, -9.0), (61.0, 70.0)], 1.0)],
        [([(4.0, 4.0)], 2.0)],
    ],
)
def test_the_box_of_the_ink_is_as_long_as_asked_and_centred(
    marks: list[tuple[list[tuple[float, float]], float | None]], pen_px: float | None
) -> None:
    put = fitted(drawing(*marks), PenFit.of(frame=(28, 40), side_px=18.0, pen_px=pen_px))
    low, high = ink_box(put.lines, put.width_px)
    np.testing.assert_allclose((low + high) / 2, [13.5, 19.5], **PLACES)
    is_dot = len(marks) == 1 and len(marks[0][0]) == 1
    longer = pen_px if is_dot and pen_px is not None else 18.0
    assert float((high - low).max()) == pytest.approx(longer, abs=1e-9)


def test_a_dot_of_no_stated_pen_is_a_dot_of_the_pen_supposed() -> None:
    put = fitted(drawing(([(4.0, 4.0)], None)), PenFit.of())
    assert put.width_px == [2.0]
    assert put.lines[0].tolist() == [[13.5, 13.5]]


def test_the_centre_of_the_ink_is_at_the_centre_and_the_size_stays() -> None:
    mark = drawing(([(0.0, 0.0), (0.0, 30.0)], 2.0), ([(10.0, 0.0), (20.0, 0.0)], 2.0))
    put = fitted(mark, PenFit.of(rule="centre of mass", frame=(56, 56)))
    boxed = fitted(mark, PenFit.of(rule="box centred", frame=(56, 56)))
    assert put.scale == boxed.scale
    # Two capsules: each has its centre in its middle and an area of 2 r a + pi r^2.
    areas = [pen * np.ptp(p, axis=0).sum() + math.pi * pen**2 / 4
             for p, pen in zip(put.lines, put.width_px, strict=True)]  # fmt: skip
    middles = [p.mean(axis=0) for p in put.lines]
    centre = sum(a * m for a, m in zip(areas, middles, strict=True)) / sum(areas)
    np.testing.assert_allclose(centre, [27.5, 27.5], **PLACES)
    image = draw(_strokes(put.lines, put.width_px), (56, 56))[0] / 255.0
    for places in np.indices(image.shape):
        # A stroke of 2.5 px has its ink to 0.2 % as drawn, and they are 20 px apart.
        assert (image * places).sum() / image.sum() == pytest.approx(27.5, abs=0.01)


def _strokes(lines: list[np.ndarray], pens: list[float]):  # type: ignore[no-untyped-def]
    from gen.glyphs.base import Strokes
    from gen.glyphs.pens.glyphs import as_pieces

    segments, width_px = as_pieces(lines, pens)
    return Strokes(segments[None], width_px[None])


@pytest.mark.parametrize(
    ("how", "fact"),
    [
        ({"rule": "middle"}, r"unknown rule\n.*\n.*box centred, centre of mass, as drawn"),
        ({"frame": (7, 28)}, "height of the frame in px is out of range"),
        ({"frame": (28, 5000)}, "width of the frame in px is out of range"),
        ({"frame": (28, 28.0)}, "width of the frame in px is out of range"),
        ({"side_px": 0.0}, "the longer side in px is out of range"),
        ({"side_px": 29.0}, "the longer side in px is out of range"),
        ({"side_px": math.nan}, "the longer side in px is out of range"),
        ({"side_px": True}, "the longer side in px is out of range"),
        ({"side_px": 9.0, "margin_px": 2.0}, "a side and a margin both say"),
        ({"pen_px": 11.0}, r"width of the pen in px is out of range\n.*\n.*up to 10"),
        ({"pen_px": -1.0}, "width of the pen in px is out of range"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(how: dict[str, object], fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        PenFit.of(**how)  # type: ignore[arg-type]


def test_points_that_are_left_are_points_that_were_there() -> None:
    line = np.random.default_rng(2).normal(size=(300, 2)).cumsum(axis=0)
    few = simplified("tag", line)
    assert all((line == point).all(axis=1).any() for point in few)
    assert np.array_equal(few[[0, -1]], line[[0, -1]])


def test_a_closed_ring_stays_one_and_a_way_to_and_fro_keeps_its_end() -> None:
    turn = np.linspace(0, 2 * np.pi, 500)
    ring = np.stack([9 * np.sin(turn), 9 * np.cos(turn)], axis=1)
    ring[-1] = ring[0]
    assert 20 < len(simplified("tag", ring)) < 100
    fro = np.array([[0.0, 0.0], [0.0, 9.0], [0.0, 0.0]])
    assert np.array_equal(simplified("tag", fro), fro)


def test_a_pen_at_rest_is_one_point() -> None:
    rest = np.full((1000, 2), 3.0) + np.linspace(0, WITHIN_PX / 20, 1000)[:, None]
    assert len(simplified("tag", rest)) <= 2
    assert len(simplified("tag", np.full((1000, 2), 3.0))) == 1


def test_more_pieces_than_any_mark_has_are_refused() -> None:
    comb = np.stack(
        [np.arange(MOST_PIECES + 2) % 2 * 5.0, np.arange(MOST_PIECES + 2) * 1.0], axis=1
    )
    assert len(simplified("tag", comb[:-1])) == MOST_PIECES + 1
    with pytest.raises(GlyphError, match=r"tag.svg:3: the pen goes to and fro"):
        simplified("tag.svg:3", comb)


def marks(path: Path, *, pen_px: float | None = None) -> PenGlyphs:
    body = "".join(
        f'<g data-label="{name}"><path stroke-width="2" d="{data}"/></g>'
        for name, data in (
            ("0", "M10 0C16 0 16 30 10 30S4 0 10 0z"),
            ("1", "M3 5L9 0V30"),
            ("7", "M0 0H16Q8 14 6 30M3 14H14"),
            ("1", "M0 0V30"),
        )
    )
    file = path / "tags.svg"
    file.write_text(f"{HEAD}{body}</svg>", "utf-8")
    return read_pens(file, pen_px=pen_px)


def test_one_glyph_alone_has_the_pixels_that_it_has_among_others(tmp_path: Path) -> None:
    tags = marks(tmp_path)
    together = draw(tags.strokes(np.arange(4)), tags.frame)
    for place in range(4):
        assert np.array_equal(draw(tags.strokes(np.array([place])), tags.frame)[0], together[place])


def test_glyphs_that_are_taken_are_the_same_and_have_a_digest_of_their_own(tmp_path: Path) -> None:
    tags = marks(tmp_path)
    few = tags.take(np.array([3, 0]))
    assert few.labels.tolist() == [1, 0]
    assert few.provenance.digest != tags.provenance.digest
    for place, was in enumerate((3, 0)):
        ours, theirs = few.strokes(np.array([place])), tags.strokes(np.array([was]))
        assert np.array_equal(ours.segments, theirs.segments)
        assert np.array_equal(ours.width_px, theirs.width_px)
    everything = tags.take(np.arange(4))
    assert everything.provenance.digest == tags.provenance.digest


def test_glyphs_go_to_another_process_whole(tmp_path: Path) -> None:
    tags = marks(tmp_path)
    back = pickle.loads(pickle.dumps(tags))
    assert np.array_equal(back.strokes(np.arange(4)).segments, tags.strokes(np.arange(4)).segments)


def test_the_same_file_gives_the_same_digest_and_another_pen_another(tmp_path: Path) -> None:
    first = marks(tmp_path).provenance.digest
    assert marks(tmp_path).provenance.digest == first
    assert marks(tmp_path, pen_px=3.0).provenance.digest != first


@pytest.mark.parametrize("ratio", [0.5, 2.0])
def test_width_of_stroke_is_changed_on_the_strokes_and_exactly(
    tmp_path: Path, ratio: float
) -> None:
    from tests.render.support import images_of

    tags = marks(tmp_path, pen_px=2.0)
    changed = images_of(tags, "stroke-width", ratio, unit="ratio")
    strokes = tags.strokes(np.arange(4))
    from gen.glyphs.base import Strokes

    wanted = draw(Strokes(strokes.segments, strokes.width_px * ratio), tags.frame)
    assert np.array_equal(changed, wanted)


def test_a_stroke_runs_dry_for_the_share_of_its_length(tmp_path: Path) -> None:
    from gen.perturb.base import DryPen
    from gen.render.dry_strokes import dry_strokes

    tags = marks(tmp_path, pen_px=1.0).take(np.array([3]))
    before = tags.strokes(np.array([0]))
    dry = dry_strokes(before, DryPen(0.25, gap_px=3.0), seed=1, indices=np.array([0]))
    ink = np.abs(np.diff(dry.segments, axis=2)).sum(axis=(2, 3)) + dry.width_px
    # A line of 19 px; gaps are seen from edge to edge, and its round ends reach past it.
    kept = {
        tuple(piece.reshape(-1)): one for piece, one in zip(dry.segments[0], ink[0], strict=True)
    }
    assert sum(kept.values()) == pytest.approx(19 * 0.75 + 1.0, abs=1e-6)
