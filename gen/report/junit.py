"""Requirements as JUnit XML, which build servers show beside their own tests.

The format has no standard; what is written is the part that all of them read:
a testsuite with its counts, a testcase a requirement, a failure in those missed.

References
----------
Characters that XML may hold: Extensible Markup Language (XML) 1.0, fifth edition,
section 2.2.
"""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree as ET

from gen.core.errors import OutputError
from gen.core.files import whole_file
from gen.evaluate.results import Evaluation
from gen.report.kept_or_missed import evidence, name_of

_HEAD = 4096
_NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def as_junit(evaluation: Evaluation) -> str:
    """The requirements of a scored model as JUnit XML.

    Parameters
    ----------
    evaluation
        With requirements, each a testcase: its class is the recipe's title, its name the
        requirement in words, and its failure, where it is missed, the evidence.
    """
    suite_name = _text(evaluation.recipe)
    parts = evaluation.requirements
    counts = {"tests": len(parts), "failures": sum(not part.kept for part in parts)}
    counts |= {"errors": 0, "skipped": 0}
    told = {key: str(value) for key, value in counts.items()}
    seconds = sum(spent for _, spent in evaluation.seconds)
    root = ET.Element("testsuites")
    suite = ET.SubElement(root, "testsuite", {"name": suite_name, **told, "time": f"{seconds:.3f}"})
    used: dict[str, int] = {}
    for part in parts:
        name = _text(name_of(part))
        used[name] = used.get(name, 0) + 1
        # Two of one name would be taken for one test that ran twice.
        name += f" ({used[name]})" if used[name] > 1 else ""
        case = ET.SubElement(suite, "testcase", {"classname": suite_name, "name": name})
        said = _text(evidence(part, evaluation))
        if part.kept:
            ET.SubElement(case, "system-out").text = said
            continue
        failure = ET.SubElement(case, "failure", {"message": said, "type": "requirement missed"})
        failure.text = _text(
            f"{name}\n{said}\nmodel   {evaluation.model}\nglyphs  {evaluation.glyphs}"
        )
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, "unicode") + "\n"


def write_junit(path: Path, evaluation: Evaluation) -> None:
    """Write `as_junit` to a file, whole or not at all.

    Raises
    ------
    OutputError
        If it can't be written.
    """
    with whole_file(path) as scratch:
        scratch.write_text(as_junit(evaluation), encoding="utf-8", newline="\n")


def make_room(path: Path) -> None:
    """Take away what an earlier run wrote, and refuse to take away anything else.

    A run that ends early leaves no older file behind that a build server would show as its
    outcome; and a slip on the command line costs nobody a recipe.

    Raises
    ------
    OutputError
        If something else is there, or it can't be taken away.
    """
    if path.is_symlink() or (path.exists() and not path.is_file()):
        # A device or a pipe is no file that could be replaced, nor is a link to one.
        raise OutputError(str(path), "this is no plain file", hint="another name for --junit")
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
        if head and b"<testsuite" not in head:
            raise OutputError(
                str(path),
                "this is there already and no JUnit XML; it would be lost",
                hint="another name for --junit",
            )
        path.unlink()
    except FileNotFoundError:
        return
    except OSError as error:
        raise OutputError(str(path), "can't be written", got=error.strerror) from error


def _text(text: str) -> str:
    """Text with escapes in place of what XML can't hold at all."""
    return _NO_XML.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
