"""SVG files as sets of glyphs."""

from __future__ import annotations

import gzip
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import PenGlyphs, holds_pens, looks_like_svg, pen_kind, read_pens

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" fill="none" stroke="black">'
PLACES = {"rtol": 0, "atol": 1e-9}


def svg(path: Path, body: str, head: str = HEAD) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{head}{body}</svg>", "utf-8")
    return path


def one(path: Path, body: str, **how: object) -> PenGlyphs:
    return read_pens(svg(path / "tag.svg", body), label="7", **how)  # type: ignore[arg-type]


def pieces(glyphs: PenGlyphs, index: int = 0) -> np.ndarray:
    return glyphs.strokes(np.array([index])).segments[0]


def notes(glyphs: PenGlyphs) -> str:
    return "\n".join(glyphs.provenance.notes)


def test_groups_with_a_label_are_marks_and_say_who_wrote(tmp_path: Path) -> None:
    body = """
        <g data-writer="ada"><g data-label="7"><path d="M0 0h9"/></g>
        <g><title> 1 </title><path d="M0 0v9"/></g></g>
        <g data-label="7" data-writer="bo"><path d="M0 0v9"/></g>"""
    tags = read_pens(svg(tmp_path / "tags.svg", body))
    assert tags.classes == ("1", "7")
    assert tags.labels.tolist() == [1, 0, 1]
    assert tags.writers is not None
    assert tags.writers.tolist() == [0, 0, 1]
    assert tags.provenance.kind == "SVG"


def test_a_title_of_the_whole_drawing_is_no_label(tmp_path: Path) -> None:
    file = svg(tmp_path / "a.svg", "<title>untitled</title><path d='M0 0h9'/>")
    with pytest.raises(GlyphError, match="the drawing has no label"):
        read_pens(file)


def test_only_innermost_labelled_groups_are_marks(tmp_path: Path) -> None:
    body = """<path d="M0 0h1"/><g data-label="row"><path d="M0 0h2"/>
        <g data-label="7"><path d="M0 0v9"/></g></g>"""
    tags = read_pens(svg(tmp_path / "a.svg", body))
    assert tags.classes == ("7",)
    assert "1 stroke outside the labelled groups" in notes(tags)
    assert "1 stroke outside the innermost labelled groups" in notes(tags)


def test_a_file_without_labels_is_one_mark_of_its_folder(tmp_path: Path) -> None:
    for name, count in (("pear", 2), ("plum", 1)):
        for number in range(count):
            svg(tmp_path / name / f"{number}.svg", "<path d='M0 0h9'/>")
    (tmp_path / "pear" / "thumbs.db").write_bytes(b"junk")
    (tmp_path / "plum" / "note.txt").write_text("dry by noon", "utf-8")
    tags = read_pens(tmp_path)
    assert tags.classes == ("pear", "plum")
    assert tags.counts.tolist() == [2, 1]
    assert "1 of 4 files left out, neither InkML nor SVG: plum/note.txt" in notes(tags)
    assert holds_pens(tmp_path)


def test_labels_inside_a_file_count_over_the_folder_and_that_is_said(tmp_path: Path) -> None:
    svg(tmp_path / "ada" / "a.svg", "<g data-label='7'><path d='M0 0h9'/></g>")
    tags = read_pens(tmp_path)
    assert tags.classes == ("7",)
    assert "1 of 1 marks have labels of their own" in notes(tags)


def test_labels_can_be_given_by_the_names_of_files(tmp_path: Path) -> None:
    svg(tmp_path / "a.svg", "<path d='M0 0h9'/>")
    svg(tmp_path / "b.svg", "<path d='M0 0h9'/>")
    tags = read_pens(tmp_path, labels={"a.svg": "7", "b.svg": "1"})
    assert [tags.classes[label] for label in tags.labels] == ["7", "1"]


def test_classes_are_taken_in_the_order_given_and_others_counted(tmp_path: Path) -> None:
    body = "".join(f"<g data-label='{name}'><path d='M0 0h9'/></g>" for name in "127A")
    tags = read_pens(svg(tmp_path / "a.svg", body), classes="721")
    assert tags.classes == ("7", "2", "1")
    assert tags.labels.tolist() == [2, 1, 0]
    assert "1 of 4 marks of other classes left out: A" in notes(tags)


def test_no_mark_of_the_classes_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="no mark is of a class that was asked for"):
        one(tmp_path, "<path d='M0 0h9'/>", classes="0-3")


def test_the_pen_is_as_wide_as_stated_on_the_scale_of_the_drawing(tmp_path: Path) -> None:
    # A line of 90 and a pen of 10 make ink of 100, which becomes 20 px.
    glyphs = one(tmp_path, "<path d='M3 3v90' stroke-width='10'/>")
    strokes = glyphs.strokes(np.array([0]))
    np.testing.assert_allclose(strokes.width_px, [[2.0]], **PLACES)
    np.testing.assert_allclose(strokes.segments[0, 0], [[4.5, 13.5], [22.5, 13.5]], **PLACES)


def test_a_pen_chosen_afterwards_leaves_the_box_as_long(tmp_path: Path) -> None:
    glyphs = one(tmp_path, "<path d='M3 3v90' stroke-width='10'/>", pen_px=4.0)
    strokes = glyphs.strokes(np.array([0]))
    assert strokes.width_px.tolist() == [[4.0]]
    np.testing.assert_allclose(strokes.segments[0, 0], [[5.5, 13.5], [21.5, 13.5]], **PLACES)


def test_transforms_of_groups_move_lines_and_widen_pens(tmp_path: Path) -> None:
    body = "<g transform='rotate(90) scale(2)'><path d='M0 0h45' stroke-width='5'/></g>"
    strokes = one(tmp_path, body).strokes(np.array([0]))
    np.testing.assert_allclose(strokes.width_px, [[2.0]], **PLACES)
    np.testing.assert_allclose(strokes.segments[0, 0], [[4.5, 13.5], [22.5, 13.5]], **PLACES)


def test_as_drawn_keeps_size_and_place(tmp_path: Path) -> None:
    glyphs = one(tmp_path, "<path d='M0 50H100'/>", fit="as drawn", frame=(28, 56), pen_px=1.0)
    # The page of 100 x 100 fits 28 px and is centred along x.
    np.testing.assert_allclose(pieces(glyphs)[0], [[13.5, 13.5], [13.5, 41.5]], **PLACES)


def test_as_drawn_wants_a_page_and_says_so_in_the_word_it_was_asked_in(tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" stroke="black" width="100%">'
    file = svg(tmp_path / "a.svg", "<path d='M0 0h9'/>", head)
    with pytest.raises(
        GlyphError, match=r'states no page.*\n.*for "as drawn": an SVG.*\n.*"box centred"'
    ):
        read_pens(file, label="7", fit="as drawn")


def test_a_mark_outside_its_page_is_refused(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match="outside its page"):
        one(tmp_path, "<path d='M300 0h9'/>", fit="as drawn")


def test_what_is_only_filled_is_an_outline_and_not_drawn(tmp_path: Path) -> None:
    body = "<path d='M0 0h9'/><path stroke='none' fill='black' d='M0 0h99v99z'/>"
    glyphs = one(tmp_path, body)
    assert len(pieces(glyphs)) == 1
    assert "1 shape that is filled and not stroked" in notes(glyphs)


def test_a_drawing_of_outlines_alone_says_so(tmp_path: Path) -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg">'
    file = svg(tmp_path / "a.svg", "<path d='M0 0h9v9z'/>", head)
    with pytest.raises(
        GlyphError, match=r"no mark in it\n.*1 shape that is filled(.|\n)*try +outlines"
    ):
        read_pens(file, label="7")


def test_text_pictures_scripts_and_references_are_counted_and_not_followed(tmp_path: Path) -> None:
    body = """<path id="p" d="M0 0h9"/><text>7</text><image href="http://127.0.0.1:9/a.png"/>
        <script>alert(1)</script><use href="http://127.0.0.1:9/b.svg#p"/>
        <g display="none"><path d="M0 0h9"/></g>
        <xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="/etc/hostname"/>"""
    glyphs = one(tmp_path, body)
    assert len(pieces(glyphs)) == 1
    told = notes(glyphs)
    for count in ("1 text", "1 image", "1 script", "1 hidden", "1 include"):
        assert f"{count} element" in told
    assert "1 use of another file, not followed" in told


def test_style_sheets_say_what_is_stroked(tmp_path: Path) -> None:
    body = "<style>.k{stroke:none}</style><path class='k' d='M0 0h99'/><path d='M0 0h9'/>"
    assert len(pieces(one(tmp_path, body))) == 1


def test_packed_svg_is_read(tmp_path: Path) -> None:
    file = tmp_path / "a.svgz"
    file.write_bytes(gzip.compress(f"{HEAD}<path d='M0 0h9'/></svg>".encode()))
    assert len(read_pens(file, label="7")) == 1


def test_a_dot_is_drawn(tmp_path: Path) -> None:
    glyphs = one(tmp_path, "<path d='M5 5z'/>", pen_px=3.0)
    assert pieces(glyphs).tolist() == [[[13.5, 13.5], [13.5, 13.5]]]


def test_an_entity_is_refused_before_it_can_grow(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    grow = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 12))
    file.write_text(f'<!DOCTYPE svg [<!ENTITY l0 "ha">{grow}]>{HEAD}<g>&l11;</g></svg>', "utf-8")
    with pytest.raises(GlyphError, match=r"a.svg:1: the file declares an entity"):
        read_pens(file, label="7")


def test_an_external_entity_is_never_opened(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("M0 0h9", "utf-8")
    file = tmp_path / "a.svg"
    file.write_text(
        f'<!DOCTYPE svg [<!ENTITY s SYSTEM "{secret.as_uri()}">]>{HEAD}<g>&s;</g></svg>', "utf-8"
    )
    with pytest.raises(GlyphError, match="declares an entity"):
        read_pens(file, label="7")


@pytest.mark.parametrize("where", ["<g>&x;</g>", "<path d='M0 0 &x; h9'/>"])
def test_a_doctype_is_passed_over_and_entities_of_it_are_not(tmp_path: Path, where: str) -> None:
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://127.0.0.1:9/svg11.dtd">'
    file = tmp_path / "a.svg"
    file.write_text(f"{doctype}{HEAD}<!-- R&D; --><path d='M0 0h9'/></svg>", "utf-8")
    assert "DOCTYPE not followed" in notes(read_pens(file, label="7"))
    file.write_text(f"{doctype}{HEAD}{where}</svg>", "utf-8")
    with pytest.raises(GlyphError, match="an entity that nothing declares"):
        read_pens(file, label="7")


@pytest.mark.parametrize(
    ("content", "fact"),
    [
        (b"", "not a pen file\n.*an empty file"),
        (b"\x89PNG\r\n", "not a pen file\n.*begins 89 50 4e 47"),
        (f"{HEAD}<path d='M0 0".encode(), "a.svg:1: the file isn't well-formed XML"),
        (f"{HEAD}<g>\n".encode(), r"a.svg:2: the file isn't well-formed XML\n.*\n.*cut short"),
        (f"{HEAD}<g>\xff".encode("latin-1"), "isn't well-formed XML"),
        (f"{HEAD}{'<g>' * 100_000}".encode(), "elements nest too deep"),
        (f"{HEAD}<path d='M0 0L1e999 1'/></svg>".encode(), "a number is out of range"),
        (f"{HEAD}<path d='M0 0Lnan 1'/></svg>".encode(), "wrong count of numbers"),
        (f"{HEAD}<path d='M0 0Linf 1'/></svg>".encode(), "not a number of path data"),
        (f"{HEAD}</svg>".encode(), "there is no mark in it"),
    ],
)
def test_hostile_files_are_refused_in_words(tmp_path: Path, content: bytes, fact: str) -> None:
    file = tmp_path / "a.svg"
    file.write_bytes(content)
    with pytest.raises(GlyphError, match=fact):
        read_pens(file, label="7")


def test_an_encoding_other_than_utf_8_is_read_as_the_file_states(tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    text = f"<?xml version='1.0' encoding='utf-16'?>{HEAD}<g data-label='é'><path d='M0 0h9'/></g>"
    file.write_bytes(f"{text}</svg>".encode("utf-16"))
    assert read_pens(file).classes == ("é",)
    assert pen_kind(file) == "SVG"


@pytest.mark.slow
def test_a_stroke_of_a_million_points_is_a_few_pieces_in_stated_memory(tmp_path: Path) -> None:
    turn = np.linspace(0, 2 * np.pi, 1_000_000)
    ring = np.stack([50 + 40 * np.cos(turn), 50 + 40 * np.sin(turn)], axis=1)
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in ring.tolist())
    file = svg(tmp_path / "a.svg", f"<polyline points='{points}'/>")
    del points
    tracemalloc.start()
    glyphs = read_pens(file, label="0", pen_px=2.0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 40 * file.stat().st_size
    drawn = pieces(glyphs)
    assert len(drawn) < 200
    off = np.hypot(*(drawn.reshape(-1, 2) - 13.5).T) - 9.0
    assert np.abs(off).max() < 0.02


@pytest.mark.slow
def test_a_scribble_of_a_million_points_is_refused(tmp_path: Path) -> None:
    places = np.random.default_rng(3).integers(0, 1000, (1_000_000, 2))
    points = " ".join(f"{x},{y}" for x, y in places.tolist())
    with pytest.raises(GlyphError, match="to and fro far more than in any mark"):
        one(tmp_path, f"<polyline points='{points}'/>")


def test_many_strokes_in_one_mark_are_refused(tmp_path: Path) -> None:
    with pytest.raises(GlyphError, match=r"far more than in any mark|more strokes than any"):
        one(tmp_path, "<path d='M0 0h1m0 1h-1'/>" * 700)


def test_strokes_without_end_are_refused_before_all_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gen.glyphs.pens.svg.MOST_WAITING", 50)
    with pytest.raises(GlyphError, match="more strokes than any mark has before a group"):
        one(tmp_path, "<path d='M0 0h1'/>" * 51)
    marks = "<g data-label='7'><path d='M0 0h1'/></g>" * 51
    assert len(read_pens(svg(tmp_path / "tags.svg", marks))) == 51


@pytest.mark.parametrize(
    ("head", "is_svg"),
    [
        (b"<svg", False),
        (b"<svg>", True),
        (b"\xef\xbb\xbf \n<?xml version='1.0'?>\n<!-- a --><svg a='1'>", False),
        (b"\xef\xbb\xbf<?xml version='1.0'?>\n<!-- a --><svg a='1'>", True),
        (b'<x:svg xmlns:x="http://www.w3.org/2000/svg">', True),
        (b'<svg xmlns="urn:other">', False),
        (b"<html><svg>", False),
        (b"", False),
    ],
)
def test_svg_is_told_by_its_first_element(head: bytes, is_svg: bool) -> None:
    assert looks_like_svg(head) is is_svg


@pytest.mark.parametrize(
    ("held", "got"), [(b"\x89PNG\r\n", "begins 89 50 4e 47"), (b"", "empty file")]
)
def test_a_file_of_another_kind_is_refused_by_how_it_begins(
    tmp_path: Path, held: bytes, got: str
) -> None:
    (tmp_path / "a.svg").write_bytes(held)
    with pytest.raises(GlyphError, match=rf"a\.svg: not a pen file\n.*{got}\n.*InkML or SVG"):
        read_pens(tmp_path / "a.svg")


@pytest.mark.parametrize(("size", "told"), [("200", True), ("100", False)])
def test_a_page_that_is_shown_stretched_is_told(tmp_path: Path, size: str, told: bool) -> None:
    page = f'viewBox="0 0 10 10" width="{size}" height="100" preserveAspectRatio="none"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {page} stroke="black">'
    tags = read_pens(svg(tmp_path / "a.svg", '<path d="M0 0h9"/>', head), label="7")
    assert ("page stretched to another aspect" in notes(tags)) is told
