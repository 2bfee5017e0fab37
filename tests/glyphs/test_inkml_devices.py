"""What InkML says of the device that ink came from, and of the canvas that it lies on."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gen.glyphs.pens import PenGlyphs, read_pens

PLACES = {"rtol": 0, "atol": 1e-9}


def one(path: Path, body: str) -> PenGlyphs:
    text = f'<i:ink xmlns:i="http://www.w3.org/2003/InkML">{body}</i:ink>'
    (path / "tag.inkml").write_text(text, "utf-8")
    return read_pens(path / "tag.inkml", label="7")


def notes(glyphs: PenGlyphs) -> str:
    return "\n".join(glyphs.provenance.notes)


def extent(glyphs: PenGlyphs) -> list[float]:
    """How tall and wide the line is that the pen went along, px."""
    size: list[float] = np.ptp(glyphs.segments.reshape(-1, 2), axis=0).tolist()
    return size


def device(x: str, y: str, per: tuple[str, str], name: str = "s") -> str:
    return f"""<i:inkSource xml:id="{name}"><i:traceFormat xml:id="f{name}">
        <i:channel name="X" {x}/><i:channel name="Y" {y}/><i:channel name="F" type="integer"/>
        </i:traceFormat><i:channelProperties>
        <i:channelProperty channel="X" name="resolution" value="{per[0]}" units="1/cm"/>
        <i:channelProperty channel="Y" name="resolution" value="{per[1]}" units="1/cm"/>
        <i:channelProperty channel="F" name="resolution" value="1" units="1/dev"/>
        </i:channelProperties></i:inkSource>"""


BRUSH = """<i:brush xml:id="b"><i:brushProperty name="width" value="0.1" units="cm"/></i:brush>"""


@pytest.mark.parametrize("said", ['type="integer" units="cm"', 'type="integer" units="dev"', ""])
def test_steps_of_a_device_are_lengths_by_its_resolution(tmp_path: Path, said: str) -> None:
    # 900 steps of a thousandth of a cm and a brush of a mm make ink of 10 mm: 20 px.
    body = f"""<i:definitions><i:context xml:id="c">{device(said, said, ("1000", "500"))}
        </i:context>{BRUSH}</i:definitions>
        <i:trace contextRef="#c" brushRef="#b">0 0 9, 900 0 9, 900 225 9</i:trace>"""
    glyphs = one(tmp_path, body)
    assert "state no width of pen" not in notes(glyphs)
    np.testing.assert_allclose(glyphs.width_px, 2.0, **PLACES)
    np.testing.assert_allclose(extent(glyphs), [9.0, 18.0], **PLACES)


def test_fractions_in_a_unit_of_length_are_lengths_whatever_the_resolution(tmp_path: Path) -> None:
    said = 'units="cm"'
    body = f"""<i:definitions><i:context xml:id="c">{device(said, said, ("1000", "1000"))}
        </i:context>{BRUSH}</i:definitions>
        <i:trace contextRef="#c" brushRef="#b">0 0 9, 0.9 0 9</i:trace>"""
    glyphs = one(tmp_path, body)
    np.testing.assert_allclose(glyphs.width_px, 2.0, **PLACES)


@pytest.mark.parametrize("how", ['inkSourceRef="#two"', 'traceFormatRef="#ftwo"'])
def test_each_device_has_a_resolution_of_its_own(tmp_path: Path, how: str) -> None:
    steps = 'type="integer"'
    one_of, two = (
        device(steps, steps, ("9", "9"), "one"),
        device(steps, steps, ("100", "200"), "two"),
    )
    body = f"""<i:definitions>{one_of}{two}
        <i:context xml:id="c" {how}/></i:definitions>
        <i:trace contextRef="#c">0 0 9, 100 200 9</i:trace>"""
    tall, wide = extent(one(tmp_path, body))
    assert tall == pytest.approx(wide)


def test_channels_in_another_order_are_told_apart_by_name(tmp_path: Path) -> None:
    body = """<i:traceFormat><i:channel name="T"/><i:channel name="Y" orientation="-ve"/>
        <i:channel name="X"/></i:traceFormat><i:trace>5 0 0, 6 9 3, 7 '1 '0</i:trace>"""
    glyphs = one(tmp_path, body)
    tall, wide = extent(glyphs)
    assert wide / tall == pytest.approx(3 / 10)
    start, end = glyphs.segments[0, 0], glyphs.segments[-1, 1]
    assert start[0] > end[0]  # Y grows upwards


CANVAS = '<i:canvasTransform xml:id="t"><i:mapping type="affine">{}</i:mapping></i:canvasTransform>'
TRACE = "<i:trace>0 0, 0 10, 5 10</i:trace>"


@pytest.mark.parametrize(
    "stated",
    [
        "<i:context>{}</i:context>",
        "<i:definitions><i:context>{}</i:context></i:definitions>"
        '<i:context canvasTransformRef="#t"/>',
    ],
)
def test_an_affine_canvas_transform_lays_traces_on_the_canvas(tmp_path: Path, stated: str) -> None:
    # X and Y change places, and the new X runs the other way.
    canvas = CANVAS.format("<i:affine>0 -2 50, 2 0 3</i:affine>")
    glyphs = one(tmp_path, stated.format(canvas) + TRACE)
    tall, wide = extent(glyphs)
    assert tall / wide == pytest.approx(0.5)
    assert glyphs.segments[0, 0, 1] > glyphs.segments[0, 1, 1]
    assert "not read" not in notes(glyphs)


def test_a_brush_grows_with_the_canvas(tmp_path: Path) -> None:
    brush = """<i:brush><i:brushProperty name="width" value="1"/></i:brush>"""
    canvas = f"<i:context>{CANVAS.format('<i:affine>3 0 0, 0 3 0</i:affine>')}</i:context>"
    trace = "<i:trace>0 0, 9 0</i:trace>"
    plain, grown = one(tmp_path, brush + trace), one(tmp_path, canvas + brush + trace)
    np.testing.assert_allclose(grown.width_px, plain.width_px, **PLACES)
    np.testing.assert_allclose(plain.width_px, 2.0, **PLACES)


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ("<i:affine>1 0 0</i:affine>", "1 canvas transform that isn't known, not applied"),
        ("<i:affine>1 0 0, 0 0 0</i:affine>", "1 canvas transform that isn't known"),
        ("<i:affine>1 0 0, 0 nan 0</i:affine>", "1 canvas transform that isn't known"),
        (
            '<i:bind source="Y"/><i:bind source="X"/><i:affine>1 0 0, 0 1 0</i:affine>',
            "1 canvas transform that isn't known",
        ),
        ("<i:affine>3 0 0, 0 1 0</i:affine>", "1 pen made oval by a canvas transform"),
    ],
)
def test_a_canvas_transform_that_is_not_followed_is_counted(
    tmp_path: Path, inside: str, said: str
) -> None:
    assert said in notes(one(tmp_path, f"<i:context>{CANVAS.format(inside)}</i:context>{TRACE}"))


@pytest.mark.parametrize(("kind", "told"), [("lookup", True), ("unknown", False)])
def test_other_mappings_of_a_canvas_are_counted(tmp_path: Path, kind: str, told: bool) -> None:
    canvas = f'<i:canvasTransform><i:mapping type="{kind}"/></i:canvasTransform>'
    glyphs = one(tmp_path, f"<i:context>{canvas}</i:context>{TRACE}")
    assert ("1 mapping of values, not applied" in notes(glyphs)) is told
