"""Whatever a document tells its reader to do works as it stands."""

from __future__ import annotations

from pathlib import Path

import cv2
import pytest

from gen.glyphs.paper.layout import Plan
from tests.docs.blocks import fenced_blocks
from tests.docs.runner import DocumentError, run_document
from tests.glyphs.paper.camera import Camera, filled

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "recipes/README.md")
LEFT_OUT_AT_MOST = 4
"""Blocks of one document that may be marked as not run; the rest must be able to fail."""


def take_photos(folder: Path) -> None:
    """What no document can bring along: two pages of its sheet, written on and photographed."""
    plan = Plan(tuple("0123456789"), 10)
    for number in (1, 2):
        camera = Camera(width=1500, height=2000, tilt_deg=12, turn_deg=90 * number, seed=number)
        photo = camera.shoot(filled(plan, seed=number).page, plan.size_mm)
        assert cv2.imwrite(str(folder / f"page-{number}.jpg"), photo)


@pytest.mark.slow
@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_block_of_a_document_runs_or_says_why_not(name: str, tmp_path: Path) -> None:
    take_photos(tmp_path)
    run = run_document(ROOT / name, tmp_path)
    marked = {
        line: why
        for line, why in run.left_out.items()
        if why != "made on a clean machine by .ci/run"
    }
    assert len(marked) <= LEFT_OUT_AT_MOST, marked
    assert len(run.done) + len(run.left_out) == len(fenced_blocks((ROOT / name).read_text("utf-8")))


def test_readme_sets_up_in_two_commands_of_one_line() -> None:
    blocks = fenced_blocks((ROOT / "README.md").read_text("utf-8"))
    set_up = [block.text for block in blocks if block.language == "sh" and block.is_set_up]
    assert len(set_up) == 2
    assert all(len(text.splitlines()) == 1 for text in set_up)


def written(folder: Path, text: str) -> Path:
    path = folder / "page.md"
    path.write_text(text, encoding="utf-8")
    return path


# Documents with one fault each, and what must be said of it.
FAULTS = {
    "a command that fails": ("```sh\nfalse\n```\n", "page.md:2: exit code 1"),
    "a command before the last that fails": ("```sh\nfalse\ntrue\n```\n", "exit code 1"),
    "a refusal that isn't one": ("<!-- exits 2 -->\n```sh\ntrue\n```\n", "0 in place of 2"),
    "code that raises": ("```python\n1 / 0\n```\n", "ZeroDivisionError"),
    "a session that answers otherwise": ("```python\n>>> 1 + 1\n3\n```\n", "Got:"),
    "a recipe that can't be read": ('```toml\ntitel = "x"\n```\n', "unknown key"),
    "a file that can't be compiled": ("<!-- file: a.py -->\n```python\n(\n```\n", "SyntaxError"),
    "output that wasn't printed": (
        "```sh\necho ripe\n```\n<!-- output -->\n```text\nrotten\n```\n",
        "not printed by the command above",
    ),
    "json that isn't": ("```json\n{\n```\n", "JSONDecodeError"),
    "an unknown language": ("```\nls\n```\n", "can't be run"),
    "a reason left out": ("<!-- not run: -->\n```sh\ntrue\n```\n", "can't be understood"),
}


@pytest.mark.parametrize(("text", "says"), FAULTS.values(), ids=FAULTS)
def test_a_document_with_a_fault_is_caught(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(DocumentError) as caught:
        run_document(written(tmp_path, text), tmp_path)
    assert says in str(caught.value)


def test_blocks_share_a_folder_and_a_namespace(tmp_path: Path) -> None:
    text = (
        "<!-- file: shed.py -->\n```python\nROWS = 4\n```\n"
        "```sh\npython -c 'import shed; print(shed.ROWS)' > rows.txt\n```\n"
        "```python\nfrom pathlib import Path\nrows = Path('rows.txt').read_text()\n```\n"
        "```python\n>>> int(rows)\n4\n```\n"
        "<!-- not run: needs an orchard -->\n```sh\nfalse\n```\n"
    )
    run = run_document(written(tmp_path, text), tmp_path)
    assert len(run.done) == 4
    assert list(run.left_out.values()) == ["needs an orchard"]


@pytest.mark.parametrize("text", ["```sh\ntrue\n", "```sh {x}\ntrue\n```\n"])
def test_a_fence_that_is_not_understood_is_an_error(text: str) -> None:
    with pytest.raises(ValueError, match=r"line 1: a fence that is(n't understood| never closed)"):
        fenced_blocks(text)
