"""What every page has round its contents: one file, one style sheet, nothing fetched."""

from __future__ import annotations

import base64
import hashlib
import html
from functools import cache
from importlib import resources

from gen.report.markup import esc


def whole_page(
    body: str,
    *,
    title: str,
    under: str,
    skip: str,
    sheets: tuple[str, ...],
    pictures: bool = True,
    scripts: tuple[str, ...] = (),
    data: str = "",
) -> str:
    """A page with the policy that lets nothing in but its own style sheet, script and pictures.

    Parameters
    ----------
    body
        Markup of what stands in it.
    title, under
        Its title, and what stands beside the name at its top; not yet escaped.
    skip
        Words of the link past the top, to what has the id "findings".
    sheets
        Style sheets beside this file, the common one in front.
    pictures
        Whether there may be pictures within the page.
    scripts, data
        Files beside this one that run as one script, and the markup of what it reads; or empty.
    """
    style = _text(sheets)
    code = _text(scripts)
    allowed = "img-src data:; " if pictures else ""
    allowed += f"script-src {_digest(code)}; " if code else ""
    policy = (
        f"default-src 'none'; style-src {_digest(style)}; {allowed}"
        "base-uri 'none'; form-action 'none'"
    )
    runs = f"{data}\n<script>{code}</script>\n" if code else ""
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>{esc(title)}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#findings">{esc(skip)}</a>
<header class="masthead"><p><b>Inkdrift</b> &#8195;{esc(under)}</p></header>
<main>
{body}
</main>
{runs}</body>
</html>
"""


def in_a_frame(page: str, *, title: str) -> str:
    """A page in a frame of its own, for a notebook, so that neither style reaches the other."""
    inner = html.escape(page, quote=True)
    return (
        f'<iframe title="{esc(title)}" sandbox="" srcdoc="{inner}" '
        'width="100%" height="900" style="border:0"></iframe>'
    )


def _digest(text: str) -> str:
    """What a policy calls a text that it lets in (CSP level 3)."""
    digest = base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{digest}'"


@cache
def _text(names: tuple[str, ...]) -> str:
    folder = resources.files("gen.report")
    return "".join(folder.joinpath(name).read_text("utf-8") for name in names)
