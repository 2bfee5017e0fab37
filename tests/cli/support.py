"""What the tests of the command line stand on: a folder, models, and how a command ended."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

REPOSITORY = Path(__file__).resolve().parents[2]

SMALL = """title = "Small"
seed = 0
[[sweep]]
perturbation = "translation"
along = "x"
unit = "px"
levels = [-1, 0, 1]
"""

MODELS = '''
import os
import numpy as np

print("printed at import")
os.write(1, b"written at import\\n")
seen = []
calls = 0


def centre(pictures):
    """Probabilities that say 3 to everything."""
    print("printed while answering")
    os.write(1, b"written while answering\\n")
    shares = np.ones((len(pictures), 10))
    shares[:, 3] += 1
    return shares / shares.sum(axis=1, keepdims=True)


def keeper(pictures):
    np.save(f"seen-{len(seen):03d}.npy", pictures)
    seen.append(len(pictures))
    return np.arange(len(pictures)) % 10


def right(pictures):
    return np.arange(len(pictures)) % 10


def few(pictures):
    return np.zeros(len(pictures) - 1, int)


def nan(pictures):
    return np.full((len(pictures), 10), np.nan)


def stranger(pictures):
    return np.full(len(pictures), "Q")


def boom(pictures):
    raise RuntimeError("the weights are missing")


def late(pictures):
    global calls
    calls += 1
    if calls > 2:
        raise RuntimeError("the lamp went out")
    return np.zeros(len(pictures), int)


middle = None


def edgy(pictures):
    global middle
    here = (pictures.sum(axis=(0, 1)) * np.arange(28)).sum() / pictures.sum()
    middle = middle or here
    if len(pictures) == 20 and here < middle - 0.9:
        raise RuntimeError("ink at the left edge")
    return np.zeros(len(pictures), int)


def leaves(pictures):
    raise SystemExit(0)


number = 3
'''


def idx(array: NDArray[np.uint8]) -> bytes:
    """An array as an IDX file has it."""
    sizes = np.array(array.shape, dtype=">u4").tobytes()
    return bytes([0, 0, 8, array.ndim]) + sizes + array.tobytes()


def bars(count: int = 30, height: int = 28, width: int = 28) -> NDArray[np.uint8]:
    """Pictures of a bar, bright on dark."""
    images = np.zeros((count, height, width), np.uint8)
    images[:, 4 : height - 4, width // 2 : width // 2 + 3] = 255
    return images


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str


@dataclass(frozen=True)
class Shed:
    """A folder with a small recipe and a file of models, and the command run in it."""

    folder: Path

    def gen(
        self, *arguments: str | bytes, largest_file: int | None = None, **settings: str
    ) -> Ended:
        """Run a command to its end, in a process of its own.

        Where no file may grow beyond `largest_file` bytes, writing fails as on a full disk.
        """

        def limit() -> None:
            import resource

            assert largest_file is not None
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))

        done = subprocess.run(
            [sys.executable, "-m", "gen", *arguments],
            cwd=self.folder,
            env=environment(**settings),
            capture_output=True,
            check=False,
            preexec_fn=None if largest_file is None else limit,
        )
        return Ended(
            done.returncode,
            done.stdout.decode("utf-8", "surrogateescape"),
            done.stderr.decode("utf-8", "surrogateescape"),
        )

    def images(self, name: str, images: bytes, labels: NDArray[np.uint8] | None) -> str:
        """Write an IDX file, with its labels beside it, and give its name."""
        (self.folder / f"{name}-images-idx3-ubyte").write_bytes(images)
        if labels is not None:
            (self.folder / f"{name}-labels-idx1-ubyte").write_bytes(idx(labels))
        return f"{name}-images-idx3-ubyte"

    def names(self) -> set[str]:
        """Everything that is in the folder."""
        return {path.relative_to(self.folder).as_posix() for path in self.folder.rglob("*")}


def environment(**settings: str) -> dict[str, str]:
    """An environment in which the package is found from any folder."""
    plain = {
        name: value for name, value in os.environ.items() if name not in ("COLUMNS", "NO_COLOR")
    }
    path = os.pathsep.join([str(REPOSITORY), os.environ.get("PYTHONPATH", "")]).strip(os.pathsep)
    # Nothing may be written beside the models: the tests compare what is in the folder.
    fixed = {"PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1"}
    return {**plain, **fixed, **settings}
