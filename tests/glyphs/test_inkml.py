"""InkML files as sets of glyphs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import GlyphError
from gen.glyphs.pens import PenGlyphs, looks_like_inkml, read_pens
from gen.glyphs.pens.inkml import inkml_pages
from gen.glyphs.pens.traces import Channel, Format, decode_trace

HEAD = '<ink xmlns="http://www.w3.org/2003/InkML">'
PLACES = {"rtol": 0, "atol": 1e-9}
XY = Format()


def ink(path: Path, body: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{HEAD}{body}</ink>", "utf-8")
    return path


def one(path: Path, body: str, **how: object) -> PenGlyphs:
    return read_pens(ink(path / "tag.inkml", body), label="7", **how)  # type: ignore[arg-type]


def group(label: str, *traces: str) -> str:
    inside = "".join(f"<trace>{trace}</trace>" for trace in traces)
    return f'<traceGroup><annotation type="truth">{label}</annotation>{inside}</traceGroup>'


def notes(glyphs: PenGlyphs) -> str:
    return "\n".join(glyphs.provenance.notes)


def pieces(glyphs: PenGlyphs, index: int = 0) -> np.ndarray:
    return glyphs.strokes(np.array([index])).segments[0]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("1 2, 3 4", [[1, 2], [3, 4]]),
        ("1 2,\n3 4,", [[1, 2], [3, 4]]),
        ("1-2,3-4", [[1, -2], [3, -4]]),
        ("1e1 2.5, .5 -3E-1", [[10, 2.5], [0.5, -0.3]]),
        ("#A -#fF", [[10, -255]]),
        ("1 2,'3'4,5 6", [[1, 2], [4, 6], [9, 12]]),
        ("1 2,'3'4,\"1\"1,0 0", [[1, 2], [4, 6], [8, 11], [12, 16]]),
        ("1 2,'3'4,!7 0", [[1, 2], [4, 6], [7, 6]]),
        ("1 2,* 3,* *", [[1, 2], [1, 3], [1, 3]]),
        ("1 2,'2'0,* *", [[1, 2], [3, 2], [5, 2]]),
        ("1 2,'2'0,\"1*,* *", [[1, 2], [3, 2], [6, 2], [10, 2]]),
        ("1 2,? 9,3 4", [[1, 2], [3, 4]]),
        ("", []),
    ],
)
def test_traces_are_read_by_their_prefixes(text: str, places: list[list[float]]) -> None:
    np.testing.assert_allclose(
        decode_trace("tag", text, XY), np.array(places).reshape(-1, 2), **PLACES
    )


@pytest.mark.parametrize(
    ("text", "fact"),
    [
        ("1 2,3", "point 2 has another count of values"),
        ("1 2 3,4", "point 1 has another count of values"),
        ("1 2,,3 4", "point 2 has another count of values"),
        ("1 2,3 4,5 6 7", "point 3 has another count of values"),
        ("'1 2", "point 1: a difference, and nothing before it"),
        ("* 2", "point 1: there is nothing before it to repeat"),
        ("1 T", "point 1: a truth value where a place is wanted"),
        ("1 nan", "not trace data"),
        ("1 inf", "not trace data"),
        ("1 2;3 4", "not trace data"),
        ("1 2'", "not trace data"),
        ("1 1e999", "out of range"),
        ("1 -2e9", "out of range"),
        ("1 #" + "F" * 70, "out of range"),
    ],
)
def test_what_is_no_trace_data_is_refused(text: str, fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        decode_trace("tag.inkml:3", text, XY)


def test_long_plain_traces_are_read_as_the_slow_way_reads_them() -> None:
    # Over a mebibyte, so that it is read in parts; a prefix that changes nothing takes
    # the slow way.
    rows = np.random.default_rng(1).integers(-999, 999, (120_000, 2))
    text = ",".join(f"{x}.5 {y}" for x, y in rows.tolist())
    assert len(text) > 1 << 20
    quick = decode_trace("tag", text, XY)
    assert np.array_equal(quick, decode_trace("tag", "!" + text, XY))
    assert np.array_equal(quick[:, 1], rows[:, 1])


def test_channels_come_in_any_order_and_others_are_passed_over() -> None:
    form = Format((Channel("F"), Channel("Y"), Channel("X")), (Channel("B"),))
    assert decode_trace("tag", "9 1 2,8 3 4 T", form).tolist() == [[2, 1], [4, 3]]


def test_a_format_without_places_is_refused(tmp_path: Path) -> None:
    body = '<traceFormat><channel name="X"/><channel name="F"/></traceFormat><trace>1 1</trace>'
    with pytest.raises(GlyphError, match=r"tag.inkml:1: the trace format has no X and Y"):
        one(tmp_path, body)


def test_labelled_groups_are_marks(tmp_path: Path) -> None:
    body = group("7", "0 0,9 0", "0 5,9 5") + "<trace>1 1</trace>" + group("1", "0 0,0 9")
    tags = read_pens(ink(tmp_path / "a.inkml", body))
    assert tags.classes == ("1", "7")
    assert tags.labels.tolist() == [1, 0]
    assert np.diff(tags.first).tolist() == [2, 1]
    assert "1 trace outside the innermost labelled groups" in notes(tags)
    assert tags.provenance.kind == "InkML"


def test_views_name_traces_that_stand_elsewhere(tmp_path: Path) -> None:
    # As published sets of formulae have it: traces first, then groups that name them.
    body = """
        <annotation type="truth">7 - 1</annotation>
        <trace id="0">0 0,9 0</trace><trace id="1">1 1,8 1</trace>
        <trace id="2">0 0,0 5,0 9,9 9</trace>
        <traceGroup><annotation type="truth">rows</annotation>
          <traceGroup><annotation type="truth">7</annotation>
            <traceView traceDataRef="0"/><traceView traceDataRef="#1"/></traceGroup>
          <traceGroup><annotation type="truth">1</annotation>
            <traceView traceDataRef="#2" from="2" to="3"/></traceGroup>
        </traceGroup>"""
    tags = read_pens(ink(tmp_path / "a.inkml", body), pen_px=2.0)
    assert [tags.classes[label] for label in tags.labels] == ["7", "1"]
    assert np.diff(tags.first).tolist() == [2, 1]
    assert "not read" not in notes(tags)
    np.testing.assert_allclose(pieces(tags, 1)[0], [[4.5, 13.5], [22.5, 13.5]], **PLACES)


@pytest.mark.parametrize(
    ("span", "lengths"),
    [
        ("from='1' to='1'", [8]),
        ("from='2'", [6, 4, 2]),
        ("to='2:1'", [8, 6]),
        ("from='1:3' to='2:1'", [6, 6]),
        ("from='2:1:2' to='3:2'", [5, 4, 1]),
        ("from='2:2' to='2:2:2'", [1]),
    ],
)
def test_views_of_a_part_count_on_within_it(
    tmp_path: Path, span: str, lengths: list[float]
) -> None:
    # Each place is counted from 1, and a colon leads into the part (section 3.4 of the
    # recommendation, from memory).
    body = f"""<definitions><traceGroup xml:id="all">
          <trace>0 0,1 0,2 0,8 0</trace>
          <traceGroup><trace>0 0,1 0,6 0</trace><trace>0 0,1 0,4 0</trace></traceGroup>
          <trace>0 0,1 0,2 0</trace>
        </traceGroup></definitions>
        <traceView traceDataRef="#all" {span}/>"""
    drawings = inkml_pages(ink(tmp_path / "a.inkml", body)).drawings
    seen = [float(line.points[-1, 1] - line.points[0, 1]) for line in drawings[0].lines]
    assert seen == lengths


def test_a_file_without_labelled_groups_is_one_mark(tmp_path: Path) -> None:
    body = '<annotation type="truth">7</annotation><trace>0 0,9 0</trace><trace>9 0,5 9</trace>'
    tags = read_pens(ink(tmp_path / "a.inkml", body))
    assert tags.classes == ("7",)
    assert np.diff(tags.first).tolist() == [2]


def test_loose_files_take_the_names_of_their_folders(tmp_path: Path) -> None:
    for name in ("pear", "plum"):
        ink(tmp_path / name / "a.inkml", "<trace>0 0,9 0</trace>")
    assert read_pens(tmp_path).classes == ("pear", "plum")


def test_labels_may_stand_in_annotations_of_another_type(tmp_path: Path) -> None:
    body = '<annotation type="meaning">7</annotation><trace>0 0,9 0</trace>'
    file = ink(tmp_path / "a.inkml", body)
    assert read_pens(file, truth="meaning").classes == ("7",)
    with pytest.raises(GlyphError, match=r"no label\n.*of type meaning, none of type truth"):
        read_pens(file)


def test_writers_are_taken_from_group_over_file(tmp_path: Path) -> None:
    wrote = '<annotation type="writer">{}</annotation>'
    body = (
        wrote.format("w2")
        + group("7", "0 0,9 0")
        + f"<traceGroup>{wrote.format('w10')}{group('7', '0 0,9 0')}</traceGroup>"
    )
    tags = read_pens(ink(tmp_path / "a.inkml", body))
    assert tags.writers is not None
    assert tags.writers.tolist() == [0, 1]
    assert "written by 2 people, as the source says" in notes(tags)


def test_writers_of_some_marks_only_are_not_used_and_that_is_said(tmp_path: Path) -> None:
    ink(tmp_path / "a.inkml", '<annotation type="writer">w</annotation>' + group("7", "0 0,9 0"))
    ink(tmp_path / "b.inkml", group("7", "0 0,9 0"))
    tags = read_pens(tmp_path)
    assert tags.writers is None
    assert "writers stated for 1 of 2 marks only" in notes(tags)


def test_units_and_directions_of_channels_count(tmp_path: Path) -> None:
    body = """<traceFormat><channel name="Y" units="cm" orientation="-ve"/>
        <channel name="X" units="mm"/></traceFormat><trace>0 0,1.8 0,1.8 9</trace>"""
    glyphs = one(tmp_path, body, pen_px=2.0)
    # 18 mm up, then 9 mm to the right: 18 px and 9 px.
    across = np.array([[22.5, 9.0], [4.5, 9.0], [4.5, 18.0]])
    np.testing.assert_allclose(pieces(glyphs).reshape(-1, 2)[[0, 1, 3]], across, **PLACES)


def test_units_that_cannot_be_compared_are_refused(tmp_path: Path) -> None:
    body = """<traceFormat><channel name="X" units="mm"/><channel name="Y" units="dev"/>
        </traceFormat><trace>0 0,1 1</trace>"""
    with pytest.raises(GlyphError, match=r"units that can't be compared\n.*mm, dev"):
        one(tmp_path, body)


@pytest.mark.parametrize(
    "body",
    [
        # A brush named by the trace, by its group, by a context, and one that simply holds.
        '<definitions>{b}</definitions><trace brushRef="#b">{t}</trace>',
        '<definitions>{b}</definitions><traceGroup brushRef="#b"><trace>{t}</trace></traceGroup>',
        '<definitions>{b}<context xml:id="c" brushRef="#b"/></definitions>'
        '<trace contextRef="#c">{t}</trace>',
        '<definitions>{b}<context xml:id="c" brushRef="#b"/><context xml:id="d" contextRef="#c"/>'
        '</definitions><context contextRef="#d"/><trace>{t}</trace>',
        "<context>{b}</context><trace>{t}</trace>",
        '{b}<brush xml:id="z"><brushProperty name="width" value="9"/></brush>'
        '<trace brushRef="#b">{t}</trace>',
    ],
)
def test_the_brush_says_how_wide_the_pen_is(tmp_path: Path, body: str) -> None:
    brush = '<brush xml:id="b"><brushProperty name="width" value="1"/></brush>'
    glyphs = one(tmp_path, body.format(b=brush, t="0 0,0 9"))
    np.testing.assert_allclose(glyphs.strokes(np.array([0])).width_px, [[2.0]], **PLACES)
    assert "state no width" not in notes(glyphs)


def test_a_width_in_units_of_length_is_that_of_the_drawing(tmp_path: Path) -> None:
    body = """<traceFormat><channel name="X" units="mm"/><channel name="Y" units="mm"/>
        </traceFormat><brush><brushProperty name="width" value=".1" units="cm"/></brush>
        <trace>0 0,0 9</trace>"""
    width = one(tmp_path, body).strokes(np.array([0])).width_px
    np.testing.assert_allclose(width, [[2.0]], **PLACES)


def test_a_pen_of_no_stated_width_is_a_tenth_of_the_box_and_that_is_said(tmp_path: Path) -> None:
    glyphs = one(tmp_path, "<trace>0 0,0 9</trace>")
    np.testing.assert_allclose(glyphs.strokes(np.array([0])).width_px, [[2.0]], **PLACES)
    np.testing.assert_allclose(pieces(glyphs)[0], [[4.5, 13.5], [22.5, 13.5]], **PLACES)
    assert "1 of 1 marks state no width of pen for some stroke: 2 px taken" in notes(glyphs)


def test_a_context_holds_from_where_it_stands(tmp_path: Path) -> None:
    swapped = '<traceFormat><channel name="Y"/><channel name="X"/></traceFormat>'
    body = f"<trace>0 0,0 9</trace><context>{swapped}</context><trace>9 9,9 0</trace>"
    glyphs = one(tmp_path, body, pen_px=2.0)
    steps = np.diff(pieces(glyphs), axis=1)[:, 0]
    np.testing.assert_allclose(steps, [[18, 0], [0, -18]], **PLACES)


def test_a_lifted_pen_draws_nothing_and_is_counted(tmp_path: Path) -> None:
    glyphs = one(tmp_path, '<trace>0 0,9 0</trace><trace type="penUp">9 0,9 9</trace>')
    assert len(pieces(glyphs)) == 1
    assert "1 trace of a lifted pen" in notes(glyphs)


def test_a_trace_that_is_continued_is_one_stroke(tmp_path: Path) -> None:
    body = """<trace xml:id="a" continuation="begin">0 0,9 0</trace>
        <trace xml:id="b" continuation="middle" priorRef="#a">9 3,9 6</trace>
        <trace continuation="end" priorRef="#b">0 6</trace>"""
    drawn = pieces(one(tmp_path, body))
    assert len(drawn) == 3
    assert np.array_equal(drawn[1:, 0], drawn[:-1, 1])


@pytest.mark.parametrize(
    ("body", "fact"),
    [
        ("<trace contextRef='#x'>1 1</trace>", "a context is named that isn't in the file"),
        ("<trace brushRef='#x'>1 1</trace>", "a brush is named that isn't in the file"),
        (
            "<definitions><context xml:id='a' contextRef='#b'/><context xml:id='b' "
            "contextRef='#a'/></definitions><trace contextRef='#a'>1 1</trace>",
            "contexts go on from one another in a ring",
        ),
        (
            "<definitions><brush xml:id='a' brushRef='#a'/></definitions>"
            "<trace brushRef='#a'>1 1</trace>",
            "brushes go on from one another in a ring",
        ),
        (
            "<traceGroup xml:id='a'><annotation type='truth'>1</annotation>"
            "<traceView traceDataRef='#a'/></traceGroup>",
            "views name one another in a ring",
        ),
        (
            "<traceGroup><annotation type='truth'>1</annotation>"
            "<traceView traceDataRef='#a'/></traceGroup>",
            "a view names no trace of the file",
        ),
        ("<trace xml:id='a'>1 1</trace><traceView traceDataRef='#a' from='1:2'/>", "points only"),
        ("<trace xml:id='a'>1 1</trace><traceView traceDataRef='#a' to='0'/>", "not a place"),
        ("<trace xml:id='a'>1 1</trace><traceView traceDataRef='#a' to='1:'/>", "not a place"),
        (
            "<trace xml:id='a'>1 1</trace><traceView xml:id='b' traceDataRef='#a'/>"
            "<traceView traceDataRef='#b' from='1'/>",
            "a part of another view isn't read",
        ),
        ("<brush><brushProperty name='width' value='nan'/></brush>", "width of a brush"),
        ("<trace/>", r"no mark in it\n.*1 trace without a point"),
        ("<trace>1 1", "isn't well-formed XML"),
        ("<traceGroup>" * 300 + "</traceGroup>" * 300, "elements nest too deep"),
    ],
)
def test_what_leads_nowhere_is_refused_in_words(tmp_path: Path, body: str, fact: str) -> None:
    with pytest.raises(GlyphError, match=fact):
        one(tmp_path, body)


def test_views_of_views_cannot_grow_without_end(tmp_path: Path) -> None:
    # Thirty levels, each naming the next one twice: a billion traces.
    levels = "".join(
        f"<traceGroup xml:id='g{n}'><traceView traceDataRef='#g{n + 1}'/>"
        f"<traceView traceDataRef='#g{n + 1}'/></traceGroup>"
        for n in range(30)
    )
    last = "<traceGroup xml:id='g30'><trace>1 1,2 2</trace></traceGroup>"
    with pytest.raises(GlyphError, match="views name too much again"):
        one(tmp_path, levels + last)


def test_a_view_of_another_file_is_counted_and_never_opened(tmp_path: Path) -> None:
    ink(tmp_path / "other.inkml", "<trace xml:id='a'>0 0,0 9</trace>")
    body = "<trace>0 0,9 0</trace><traceView traceDataRef='other.inkml#a'/>"
    assert "1 view of another file" in notes(one(tmp_path, body))


def test_entities_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "a.inkml"
    file.write_text(
        f'<!DOCTYPE ink [<!ENTITY s SYSTEM "file:///etc/hostname">]>{HEAD}<trace>&s;</trace></ink>',
        "utf-8",
    )
    with pytest.raises(GlyphError, match=r"a.inkml:1: the file declares an entity"):
        read_pens(file, label="1")


def test_a_trace_of_a_million_points_is_a_few_pieces(tmp_path: Path) -> None:
    turn = np.linspace(0, np.pi, 1_000_000)
    rows = np.stack([-500 * np.cos(turn), -500 * np.sin(turn)], axis=1)
    text = ",".join(f"{x:.2f} {y:.2f}" for x, y in rows.tolist())
    assert len(pieces(one(tmp_path, f"<trace>{text}</trace>"))) < 100


@pytest.mark.parametrize(
    ("head", "is_inkml"),
    [
        (HEAD.encode(), True),
        (b"<ink>", True),
        (b'<i:ink xmlns:i="http://www.w3.org/2003/InkML">', True),
        (b'<ink xmlns="urn:other">', False),
        (b"<svg>", False),
        (b"ink", False),
    ],
)
def test_inkml_is_told_by_its_first_element(head: bytes, is_inkml: bool) -> None:
    assert looks_like_inkml(head) is is_inkml


@pytest.mark.parametrize(("kind", "told"), [("affine", True), ("lut", True), ("identity", False)])
def test_mappings_that_are_not_applied_are_counted(tmp_path: Path, kind: str, told: bool) -> None:
    body = f"""<traceFormat><channel name="X"><mapping type="{kind}"/></channel>
        <channel name="Y"/></traceFormat><trace>0 0, 9 9</trace>"""
    assert ("1 mapping of values, not applied" in notes(one(tmp_path, body))) is told


def test_two_labels_of_one_mark_are_refused_unless_they_agree(tmp_path: Path) -> None:
    truth = '<annotation type="truth">{}</annotation>'
    body = f"{truth.format('1')}{truth.format('7')}<trace>1 2, 3 4</trace>"
    with pytest.raises(GlyphError, match=r"two annotations of type truth.*\n.*'1' and '7'"):
        read_pens(ink(tmp_path / "tag.inkml", body))
    body = body.replace("7", "1")
    assert read_pens(ink(tmp_path / "tag.inkml", body)).classes == ("1",)


def test_a_file_without_a_mark_is_counted(tmp_path: Path) -> None:
    ink(tmp_path / "one.inkml", group("1", "1 2, 3 4"))
    ink(tmp_path / "two.inkml", "")
    assert "not read: 1 file without a mark" in notes(read_pens(tmp_path))
