"""What `use` names in an SVG file, and pages within the page."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import PenGlyphs, read_pens

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'viewBox="0 0 100 100" fill="none" stroke="black">'
)


def one(path: Path, body: str) -> PenGlyphs:
    (path / "tag.svg").write_text(f"{HEAD}{body}</svg>", "utf-8")
    return read_pens(path / "tag.svg", label="7", fit="as drawn", frame=(100, 100))


def lines(glyphs: PenGlyphs) -> list[list[list[float]]]:
    """Ends of all pieces, (x, y) in units of the page."""
    ends: list[list[list[float]]] = np.round(glyphs.segments[:, :, ::-1] + 0.5, 9).tolist()
    return ends


def notes(glyphs: PenGlyphs) -> str:
    return "\n".join(glyphs.provenance.notes)


@pytest.mark.parametrize("key", ["href", "xlink:href"])
def test_what_use_names_is_drawn_where_it_says(tmp_path: Path, key: str) -> None:
    body = f"""<use {key}="#hook" x="10" y="20"/>
        <use {key}="#hook" transform="scale(2)" x="10" y="20"/>
        <defs><path id="hook" d="M0 0h5" transform="translate(1)"/></defs>"""
    assert lines(one(tmp_path, body)) == [[[11, 20], [16, 20]], [[22, 40], [32, 40]]]


def test_the_style_is_that_of_use_and_not_of_where_the_shape_stands(tmp_path: Path) -> None:
    body = """<g stroke="none" stroke-width="9"><path id="hook" d="M10 10h5"/></g>
        <use href="#hook" stroke-width="3" y="5"/>"""
    glyphs = one(tmp_path, body)
    assert lines(glyphs) == [[[10, 15], [15, 15]]]
    assert glyphs.width_px.tolist() == [3.0]


def test_a_symbol_is_drawn_by_use_alone_and_as_large_as_that_says(tmp_path: Path) -> None:
    body = """<symbol id="s" viewBox="0 0 10 20"><path d="M0 0h10"/></symbol>
        <use href="#s" x="10" y="20" width="30" height="20"/>
        <use href="#s" y="50" width="50%" height="50%"/>"""
    assert lines(one(tmp_path, body)) == [[[20, 20], [30, 20]], [[12.5, 50], [37.5, 50]]]


def test_a_page_within_the_page_lies_as_its_viewbox_says(tmp_path: Path) -> None:
    body = """<svg x="10" y="20" width="40" height="40" viewBox="5 5 2 2"><path d="M5 5h2"/></svg>
        <svg y="50"><path d="M5 5h2"/></svg>
        <svg width="40" height="20" viewBox="0 0 1 1" preserveAspectRatio="xMaxYMin">
        <path d="M0 .5h1"/></svg>"""
    assert lines(one(tmp_path, body)) == [
        [[10, 20], [50, 20]],
        [[5, 55], [7, 55]],
        [[20, 10], [40, 10]],
    ]


def test_each_use_of_a_labelled_group_is_a_mark_and_so_is_a_use_with_a_label(
    tmp_path: Path,
) -> None:
    body = """<defs><g id="a" data-label="7"><path d="M0 9h9"/></g><path id="p" d="M0 9h9"/></defs>
        <use href="#a"/><g data-writer="bo"><use href="#a" y="9"/></g>
        <use href="#p" data-label="1"/><use href="#p"><title>1</title></use>"""
    tags = one(tmp_path, body)
    assert [tags.classes[label] for label in tags.labels] == ["7", "7", "1", "1"]


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('<use href="other.svg#p"/>', "1 use of another file, not followed"),
        ('<use xlink:href="file:///etc/hostname#p"/>', "1 use of another file, not followed"),
        ('<use href="#q"/>', "1 use of what isn't in the file"),
        ("<use/>", "1 use of nothing"),
        ('<use href="#p" display="none"/>', "1 hidden element"),
    ],
)
def test_what_use_cannot_name_is_counted(tmp_path: Path, body: str, said: str) -> None:
    glyphs = one(tmp_path, f'<path id="p" d="M0 9h9"/>{body}')
    assert len(lines(glyphs)) == 1
    assert said in notes(glyphs)


@pytest.mark.parametrize(
    "ring",
    [
        '<use id="a" href="#a"/>',
        '<g id="a"><use href="#a"/></g>',
        '<defs><g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></defs><use href="#b"/>',
        '<use href="#root"/>',
    ],
)
def test_a_use_that_leads_to_itself_is_refused(tmp_path: Path, ring: str) -> None:
    with pytest.raises(GlyphError, match=r"tag\.svg:1: a use leads to itself"):
        one(tmp_path, f'<g id="root">{ring}<path d="M0 9h9"/></g>')


def test_uses_of_uses_do_not_grow_without_end(tmp_path: Path) -> None:
    grow = "".join(f'<g id="l{n}">{f"""<use href="#l{n - 1}"/>""" * 10}</g>' for n in range(1, 12))
    with pytest.raises(GlyphError, match="what use names again comes to more than drawings have"):
        one(tmp_path, f'<defs><g id="l0"/>{grow}</defs><use href="#l11"/>')
    with pytest.raises(GlyphError, match="more strokes than any mark has"):
        one(tmp_path, f'<defs><path id="l0" d="M0 9h9"/>{grow}</defs><use href="#l11"/>')


def test_a_long_path_named_again_and_again_is_refused(tmp_path: Path) -> None:
    path = f'<path id="p" d="M0 9{"h1h-1" * 100_000}"/>'
    with pytest.raises(GlyphError, match="bytes of attributes"):
        one(tmp_path, f'<defs>{path}</defs>{"""<use href="#p"/>""" * 100}')


def test_uses_within_uses_go_only_so_deep(tmp_path: Path) -> None:
    deep = "".join(f'<g id="l{n}"><use href="#l{n - 1}"/></g>' for n in range(1, 200))
    with pytest.raises(GlyphError, match="256 within one another"):
        one(tmp_path, f'<defs><path id="l0" d="M0 9h9"/>{deep}</defs><use href="#l199"/>')
