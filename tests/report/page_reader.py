"""A page taken apart, for tests to look at."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from typing import Any

VOID = {"meta", "img", "link", "br", "hr", "input"}


class Page(HTMLParser):
    """A page taken apart: tags in order, text, tables by caption; complains about loose ends."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.tables: dict[str, list[list[str]]] = {}
        self.words: list[str] = []
        self._open: list[str] = []
        self._caption: str | None = None
        self._rows: list[list[str]] = []
        self.feed(text)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        assert len(dict(attrs)) == len(attrs), f"an attribute twice in {tag}"
        if tag not in VOID:
            self._open.append(tag)
        if tag == "table":
            self._caption, self._rows = "", []
        if tag == "tr":
            self._rows.append([])
        if tag in {"td", "th"}:
            self._rows[-1].append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag
        if tag == "table":
            assert self._caption is not None
            self.tables[self._caption] = self._rows

    def handle_data(self, data: str) -> None:
        inside = self._open[-1] if self._open else ""
        if inside == "caption":
            self._caption = f"{self._caption}{data}"
        if "td" in self._open or "th" in self._open:
            self._rows[-1][-1] += data
        if inside not in {"style", "script"}:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(self.words).replace("\u00a0", " ")


def assert_only_its_own_style(text: str, *, pictures: bool, script: bool = False) -> None:
    """The policy lets in the style sheet, pictures in the page and its script if any, no more."""
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert style is not None
    codes = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    assert len(codes) == (1 if script else 0)
    (policy,) = [
        str(a["content"])
        for t, a in Page(text).tags
        if t == "meta" and a.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy.split("; ") == [
        "default-src 'none'",
        f"style-src {digest(style[1])}",
        *(["img-src data:"] if pictures else []),
        *(f"script-src {digest(code)}" for code in codes),
        "base-uri 'none'",
        "form-action 'none'",
    ]
    assert "@import" not in style[1]
    assert "url(" not in style[1]


def digest(text: str) -> str:
    """As CSP level 3 names a text that may be in a page."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def page_data(text: str) -> Any:
    """What the script of a page reads."""
    (found,) = re.findall(
        r'<script type="application/json" id="page-data">(.*?)</script>', text, re.DOTALL
    )
    return json.loads(found)
