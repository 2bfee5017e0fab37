"""What of the styles of SVG decides whether and how wide a line is drawn.

Attributes, `style` attributes, and style sheets with plain selectors: a tag, a class,
a tag with a class, an id, or all. Other rules are counted and not applied.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

KEYS = ("stroke", "fill", "stroke-width", "display", "visibility")
NOT_APPLIED = {
    "transform": "transform in a style, not applied",
    "stroke-dasharray": "dashes, drawn as a whole line",
    "vector-effect": "vector effect, not applied",
    "opacity": "opacity of 0, drawn all the same",
    "stroke-opacity": "opacity of 0, drawn all the same",
}
"""What would change how a line looks, by the words that it is counted under."""
_PLAIN = re.compile(r"(?:\*|#[\w-]+|[A-Za-z]+(?:\.[\w-]+)?|\.[\w-]+)")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_AT_BLOCKS = ("@media", "@supports", "@layer", "@container", "@scope")

Rules = dict[str, str]


@dataclass
class Sheet:
    """Rules of all style sheets of a file, by selector."""

    rules: dict[str, Rules] = field(default_factory=dict)

    def read(self, text: str, dropped: Counter[str]) -> None:
        """Take in a style sheet, counting what isn't applied.

        Examples
        --------
        >>> sheet, left = Sheet(), Counter()
        >>> sheet.read(".a, b > c { stroke: red; fill: none } /* by noon */", left)
        >>> sheet.rules, dict(left)
        ({'.a': {'stroke': 'red', 'fill': 'none'}}, {'style rule': 1})
        """
        text = _COMMENT.sub(" ", text) if "*/" in text else text
        if any(word in text for word in _AT_BLOCKS):
            dropped["style sheet with rules for some cases only"] += 1
            return
        for block in text.split("}"):
            heads, brace, body = block.partition("{")
            said = declarations(body)
            if not brace or not said:
                continue
            for head in heads.rpartition(";")[2].split(","):
                if _PLAIN.fullmatch(head.strip()):
                    self.rules.setdefault(head.strip(), {}).update(said)
                else:
                    dropped["style rule"] += 1

    def of(self, tag: str, attributes: dict[str, str]) -> Rules:
        """What the sheets say of an element, the more special rule last."""
        if not self.rules:
            return {}
        names = attributes.get("class", "").split()
        keys = ["*", tag, *(f".{name}" for name in names), *(f"{tag}.{name}" for name in names)]
        if "id" in attributes:
            keys.append(f"#{attributes['id']}")
        said: Rules = {}
        for key in keys:
            said.update(self.rules.get(key, {}))
        return said


def declarations(text: str) -> Rules:
    """The declarations that matter here.

    Examples
    --------
    >>> declarations("stroke:#000 ; color:red; stroke-width: 2px !important")
    {'stroke': '#000', 'stroke-width': '2px'}
    """
    said: Rules = {}
    for one in text.split(";"):
        key, colon, value = one.partition(":")
        key = key.strip().lower()
        if colon and (key in KEYS or key in NOT_APPLIED):
            said[key] = value.partition("!")[0].strip()
    return said


def stated(tag: str, attributes: dict[str, str], sheet: Sheet) -> Rules:
    """All that is stated for an element itself, in the order of the cascade."""
    named = (*KEYS, *NOT_APPLIED)
    # The attribute of this name is applied, by whoever asks.
    said = {key: attributes[key].strip() for key in named if key in attributes}
    said.pop("transform", None)
    said.update(sheet.of(tag, attributes))
    said.update(declarations(attributes.get("style", "")))
    return {key: value for key, value in said.items() if value and value != "inherit"}


def not_applied(said: Rules) -> list[str]:
    """What of a style isn't followed and would show, in words to count it under.

    Examples
    --------
    >>> not_applied({"stroke-dasharray": "2 1", "opacity": "0.5", "transform": "none"})
    ['dashes, drawn as a whole line']
    """
    shows = {key: value for key, value in said.items() if key in NOT_APPLIED and value != "none"}
    return [
        NOT_APPLIED[key] for key, value in shows.items() if "opacity" not in key or _zero(value)
    ]


def _zero(value: str) -> bool:
    try:
        return float(value.removesuffix("%")) == 0
    except ValueError:
        return False
