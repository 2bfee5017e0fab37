"""A browser for all tests of this folder, and the pages that they look at."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver

from tests.browser.opened import Opened, found, started
from tests.browser.pages import Written, write_all


@pytest.fixture(scope="session")
def chrome() -> Iterator[webdriver.Chrome]:
    where = found()
    if where is None:
        pytest.skip("no Chromium with its driver: apt-get install chromium chromium-driver")
    driver = started(*where)
    yield driver
    driver.quit()


@pytest.fixture
def opened(chrome: webdriver.Chrome) -> Opened:
    return Opened(chrome)


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Each page that the project writes, made once, with the document beside it."""
    return write_all(tmp_path_factory.mktemp("pages"))


@pytest.fixture
def page_of(tmp_path: Path) -> object:
    """Makes a page of a body, for checks that have to catch something."""

    def made(body: str, head: str = "<title>Broken on purpose</title>") -> Path:
        path = tmp_path / "broken.html"
        path.write_text(
            f'<!doctype html><html lang="en"><head><meta charset="utf-8">{head}</head>'
            f"<body>{body}</body></html>",
            encoding="utf-8",
        )
        return path

    return made
