"""A file that isn't there: what to try instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from gen.glyphs.whereabouts import whereabouts


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "drawn tags").mkdir()
    (tmp_path / "drawn tags" / "tags.npz").touch()
    (tmp_path / "empty").mkdir()
    (tmp_path / "leads nowhere").symlink_to("gone")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("drawn tags/tag.npz", '"drawn tags/tags.npz"'),
        ("drawn_tags/tags.npz", '"drawn tags/tags.npz"'),
        ("drawn_tags/other.csv", 'is the path right? there is "drawn tags"'),
        (
            "photos/glyphs.npz",
            "is the path right? gen collect PHOTO... --into photos writes such a file",
        ),
        ("photos/belt/glyphs.npz", "is the path right? there is no folder photos either"),
        ("photos/belt.npz", "is the path right? there is no folder photos either"),
        ("empty/glyphs.npz", "is the path right?"),
        ("leads nowhere", "is the path right?"),
        ("empty/pears.npz", "is the path right?"),
        ("drawn tags/tags.npz/0.png", "is the path right?"),
    ],
)
def test_the_nearest_name_or_what_makes_such_a_file_is_told(asked: str, said: str) -> None:
    assert whereabouts(Path(asked)) == said
