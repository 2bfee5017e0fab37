"""What of the styles of SVG decides whether and how wide a line is drawn.

Attributes, `style` attributes, and style sheets with plain selectors: a tag, a class,
a tag with a class, an id, or all. Other rules are counted and not applied. What is marked
as important counts like the rest.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, field

KEYS = (
    *("stroke", "fill", "stroke-width", "display", "visibility", "opacity", "stroke-opacity"),
    *("transform", "transform-origin", "transform-box", "clip-path", "mask"),
)
NOT_APPLIED = {
    "stroke-dasharray": "dashes, drawn as a whole line",
    "vector-effect": "vector effect, not applied",
    "translate": "translate in a style, not applied",
    "rotate": "rotate in a style, not applied",
    "scale": "scale in a style, not applied",
}
"""What would change how a line looks, by the words that it is counted under."""
_ONLY_STYLE = ("transform", "translate", "rotate", "scale")
"""What attributes of the same name don't say, or say in another way."""
_PLAIN = re.compile(r"(?:\*|#[\w-]+|[A-Za-z]+(?:\.[\w-]+)?|\.[\w-]+)")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_AT_BLOCKS = ("@media", "@supports", "@layer", "@container", "@scope")

Rules = dict[str, str]


@dataclass
class Sheet:
    """What all style sheets of a file say for each selector, each with the number of its rule."""

    rules: dict[str, dict[str, tuple[int, str]]] = field(default_factory=dict)
    _count: int = 0

    def read(self, text: str, dropped: Counter[str]) -> None:
        """Take in a style sheet, counting what isn't applied.

        Examples
        --------
        >>> sheet, left = Sheet(), Counter()
        >>> sheet.read(".a, b > c { stroke: red; fill: none } /* by noon */", left)
        >>> sheet.of("path", {"class": "a"}), dict(left)
        ({'stroke': 'red', 'fill': 'none'}, {'style rule': 1})
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
            self._count += 1
            for head in heads.rpartition(";")[2].split(","):
                if _PLAIN.fullmatch(head.strip()):
                    numbered = {key: (self._count, value) for key, value in said.items()}
                    self.rules.setdefault(head.strip(), {}).update(numbered)
                else:
                    dropped["style rule"] += 1

    def of(self, tag: str, attributes: dict[str, str]) -> Rules:
        """What the sheets say of an element, the more special rule last, then the later."""
        if not self.rules:
            return {}
        names = attributes.get("class", "").split()
        tiers = [["*"], [tag], [f".{name}" for name in names], [f"{tag}.{name}" for name in names]]
        if "id" in attributes:
            tiers.append([f"#{attributes['id']}"])
        said: Rules = {}
        for keys in tiers:
            latest: dict[str, tuple[int, str]] = {}
            for key in keys:
                for what, numbered in self.rules.get(key, {}).items():
                    latest[what] = max(latest.get(what, numbered), numbered)
            said.update({what: value for what, (_, value) in latest.items()})
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
    named = [key for key in (*KEYS, *NOT_APPLIED) if key not in _ONLY_STYLE]
    said = {key: attributes[key].strip() for key in named if key in attributes}
    said.update(sheet.of(tag, attributes))
    said.update(declarations(attributes.get("style", "")))
    return {key: value for key, value in said.items() if value and value != "inherit"}


def not_applied(said: Rules) -> list[str]:
    """What of a style isn't followed and would show, in words to count it under.

    Examples
    --------
    >>> not_applied({"stroke-dasharray": "2 1", "opacity": "0.5", "scale": "none"})
    ['dashes, drawn as a whole line', 'see-through element, drawn in full ink']
    """
    found = [NOT_APPLIED[key] for key in NOT_APPLIED if said.get(key, "none") != "none"]
    if any(0 < opacity_of(said.get(key, "1")) < 1 for key in ("opacity", "stroke-opacity")):
        found.append("see-through element, drawn in full ink")
    return found


def opacity_of(text: str) -> float:
    """An opacity from 0 to 1; 1 for what is none.

    Examples
    --------
    >>> opacity_of("50%"), opacity_of("0"), opacity_of("unset")
    (0.5, 0.0, 1.0)
    """
    try:
        share = float(text.removesuffix("%")) * (0.01 if text.endswith("%") else 1.0)
    except ValueError:
        return 1.0
    return 1.0 if math.isnan(share) else min(max(share, 0.0), 1.0)
