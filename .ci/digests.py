"""Print digests of what must come out the same whatever the libraries' versions.

python .ci/digests.py an-empty-folder
"""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import numpy as np

from gen import load_glyphs, read_recipe, write_strokes
from gen.demo.crate_tags import CLASSES, decode, made_tags
from gen.demo.reader import train
from gen.glyphs.base import RasterGlyphs
from gen.render.stress_set import write_stress_set

LIBRARIES = ("numpy", "scipy", "pillow", "opencv-python-headless", "click")
TAGS = 640


def main() -> None:
    """Render strokes by command and pictures from Python, and train a small reader."""
    into = Path(sys.argv[1])
    for name in LIBRARIES:
        print("with", name, version(name))
    gen = Path(sys.executable).with_name("gen")
    command = [gen, "render", "first-look", "--count", "30", "--into", into / "strokes"]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    manifest = json.loads((into / "strokes" / "manifest.json").read_text("utf-8"))
    print("digest of first-look on 30 strokes", manifest["digest"])
    glyphs = write_strokes(classes="0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", count=720, seed=3)
    strokes = glyphs.strokes(np.arange(len(glyphs)))
    told = hashlib.sha256(strokes.segments.astype("<f8").tobytes())
    told.update(strokes.width_px.astype("<f8").tobytes())
    print("digest of 720 strokes", told.hexdigest())
    training, _ = made_tags()
    tags = decode(training.images)[:TAGS]
    answers = training.answers[:TAGS]
    print("digest of", TAGS, "crate tags", hashlib.sha256(tags.tobytes()).hexdigest())
    few = load_glyphs(tags[:36], labels=answers[:36], classes=CLASSES)
    print("digest of first-look on 36 pictures", stress_digest(few, into / "pictures"))
    print("digest of every perturbation", perturbations_digest())
    reader = train(tags, answers, len(CLASSES))
    reader.save(into / "reader.npz")
    with np.load(into / "reader.npz") as kept:
        weights = kept["first"].tobytes() + kept["second"].tobytes()
    print("digest of a reader's weights", hashlib.sha256(weights).hexdigest())


def perturbations_digest() -> str:
    """The committed digest of every perturbation, made again; what differs is named."""
    # Behind the installed packages: only `tests` is taken from the tree.
    sys.path.append(str(Path(__file__).resolve().parents[1]))
    from tests.render import golden

    found = {golden.key(*case): golden.digest(*case) for case in golden.cases()}
    committed = json.loads(golden.FILE.read_text("utf-8"))
    for name in sorted(set(found) | set(committed)):
        if found.get(name) != committed.get(name):
            print("digest differs from golden.json:", name)
    return hashlib.sha256(json.dumps(found, sort_keys=True).encode("ascii")).hexdigest()


def stress_digest(glyphs: RasterGlyphs, folder: Path) -> str:
    """The digest of a stress set, written into a folder."""
    write_stress_set(read_recipe("first-look"), glyphs, folder)
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    digest: str = manifest["digest"]
    return digest


if __name__ == "__main__":
    main()
