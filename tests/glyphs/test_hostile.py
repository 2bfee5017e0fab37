"""Files that mean harm: a clear error or a counted skip, in memory that is stated."""

from __future__ import annotations

import gzip
import io
import os
import resource
import struct
import subprocess
import sys
import zipfile
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from gen.core.errors import GlyphError
from gen.glyphs.load import load_glyphs

ROOM = 3 << 30  # address space of each try: importing numpy and Pillow takes half of it
REFUSED_MIB = 48  # over the imports, for what is refused by its header
UNPACKED_MIB = 96  # for an archive of 614 MB, left on disk; seen 36, and no more for twice as much
LARGEST_MIB = 320  # for a picture of 60 million grey pixels, fitted; seen 193


def tried(source: Path, **told: object) -> tuple[str, int]:
    """What loading says in a process of its own with little room, and the MiB it took."""
    said = ", ".join(f"{name}={value!r}" for name, value in told.items())
    script = f"""
import resource, sys
import numpy, PIL.Image
PIL.Image.init()
import gen.glyphs.load, gen.glyphs.folder, gen.glyphs.pens, gen.glyphs.fonts
from gen.core.errors import GlyphError
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    glyphs = gen.glyphs.load.load_glyphs(sys.argv[1], {said})
    print(len(glyphs), "glyphs")
except GlyphError as error:
    print(str(error).encode("ascii", "backslashreplace").decode())
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script, os.fsencode(source)],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).resolve().parents[2],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (ROOM, ROOM)),
    )
    assert done.returncode == 0, done.stderr
    *lines, mib = done.stdout.splitlines()
    return "\n".join(lines), int(mib)


def png_header(width: int, height: int) -> bytes:
    """A PNG that states a size and has a few bytes to show for it."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    return (
        b"\x89PNG\r\n\x1a\n"
        + head
        + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )


def npz_bomb(path: Path, count: int) -> Path:
    """Pictures of 64 x 64 px without anything on them: a thousandth of their size on disk."""
    header, labels = io.BytesIO(), io.BytesIO()
    told = {"descr": "|u1", "fortran_order": False, "shape": (count, 64, 64)}
    np.lib.format.write_array_header_1_0(header, told)
    np.save(labels, np.zeros(count, np.uint8))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        with archive.open("images.npy", "w") as member:
            member.write(header.getvalue())
            for _ in range(64 * 64):
                member.write(bytes(count))
        archive.writestr("labels.npy", labels.getvalue())
    return path


def test_a_picture_that_states_forty_thousand_pixels_a_side_is_not_decoded(tmp_path: Path) -> None:
    (tmp_path / "pear").mkdir()
    (tmp_path / "pear" / "0.png").write_bytes(png_header(40_000, 40_000))
    said, mib = tried(tmp_path, fit="box centred")
    assert "far larger than a glyph can be" in said
    assert mib < REFUSED_MIB


def test_a_picture_of_forty_thousand_pixels_a_row_is_fitted_in_the_stated_memory(
    tmp_path: Path,
) -> None:
    (tmp_path / "pear").mkdir()
    page = Image.new("L", (40_000, 1_500), 255)
    page.paste(0, (500, 500, 900, 1_200))
    page.save(tmp_path / "pear" / "0.png", compress_level=1)
    said, mib = tried(tmp_path, fit="centre of mass")
    assert said == "1 glyphs"
    assert mib < LARGEST_MIB


def test_a_zip_bomb_that_is_a_set_is_read_in_the_stated_memory(tmp_path: Path) -> None:
    path = npz_bomb(tmp_path / "bomb.npz", 150_000)  # 614 MB
    assert path.stat().st_size < 4_000_000
    said, mib = tried(path)
    assert said == "150000 glyphs"
    assert mib < UNPACKED_MIB


def test_a_picture_bomb_in_every_wrapping_is_refused_in_little_memory(tmp_path: Path) -> None:
    for name in ("a.png", "a.csv", "a.npz", "a.svg", "a.ttf", "a-idx3-ubyte"):
        (tmp_path / name).write_bytes(png_header(60_000, 60_000))
        said, mib = tried(tmp_path / name, labels=[0], grid="10x10")
        assert "far larger than a glyph can be" in said, name
        assert mib < REFUSED_MIB


NAMES = ("../images.npy", "/images.npy", "..\\images.npy", "images/../../images.npy")


@pytest.mark.parametrize("name", NAMES)
def test_a_member_whose_name_leads_out_of_the_archive_writes_nothing(
    tmp_path: Path, name: str
) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    array = io.BytesIO()
    np.save(array, np.zeros((1, 8, 8), np.uint8))
    with zipfile.ZipFile(inner / "slip.npz", "w") as archive:
        archive.writestr(name, array.getvalue())
    with pytest.raises(GlyphError, match="no pictures under a known name"):
        load_glyphs(inner / "slip.npz", labels=[0])
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["inner", "slip.npz"]


@pytest.mark.parametrize(
    "name", ["t.csv", "t.npz", "t.npy", "t.png", "t.svg", "t.ttf", "t-idx3-ubyte"]
)
def test_what_a_file_is_called_never_decides_what_is_done_with_it(
    tmp_path: Path, tags: np.ndarray, name: str
) -> None:
    path = tmp_path / name
    with path.open("wb") as file:
        np.savez(file, images=tags, labels=[3, 1, 4, 1, 5, 2])
    assert load_glyphs(path).labels.tolist() == [3, 1, 4, 1, 5, 2]
    path.write_bytes(b"")
    with pytest.raises(GlyphError, match=r"is empty|too short"):
        load_glyphs(path, labels=[0])
    path.write_bytes(gzip.compress(b""))
    with pytest.raises(GlyphError, match=r"is empty|too short"):
        load_glyphs(path, labels=[0])


@pytest.mark.parametrize("how", ["fifo", "loop", "socket", "dead link"])
def test_what_is_neither_file_nor_folder_is_refused_and_not_waited_for(
    tmp_path: Path, how: str
) -> None:
    path = tmp_path / "tags"
    if how == "fifo":
        os.mkfifo(path)
    elif how == "socket":
        import socket

        with socket.socket(socket.AF_UNIX) as bound:
            bound.bind(str(path))
    else:
        path.symlink_to(path if how == "loop" else tmp_path / "nowhere")
    said, _ = tried(path, labels=[0])
    assert "not a file" in said or "no such file" in said or "can't be read" in said
    said, _ = tried(tmp_path, fit="box centred")
    assert "no class folders" in said


def test_a_folder_with_pipes_and_loops_in_its_classes_names_the_first(tmp_path: Path) -> None:
    (tmp_path / "pear").mkdir()
    os.mkfifo(tmp_path / "pear" / "0.png")
    said, _ = tried(tmp_path, fit="box centred")
    assert "0.png: not a picture" in said
    (tmp_path / "pear" / "0.png").unlink()
    (tmp_path / "pear" / "again").symlink_to(tmp_path)
    said, _ = tried(tmp_path, fit="box centred", folders="class/writer")
    assert "a class folder holds another folder" in said


def test_names_that_are_no_text_are_read_and_shown_in_escapes(tmp_path: Path) -> None:
    source = tmp_path / os.fsdecode(b"tags \xff")
    pear = source / "pear"
    try:
        pear.mkdir(parents=True)
    except (OSError, UnicodeError):
        pytest.skip("this file system takes no such name")
    page = np.full((30, 20), 255, np.uint8)
    page[5:20, 8:11] = 0
    Image.fromarray(page).save(pear / os.fsdecode(b"\xfe.png"))
    assert tried(source, fit="box centred")[0] == "1 glyphs"
    bad = pear / os.fsdecode(b"\xfd.png")
    bad.write_bytes(b"no picture")
    assert tried(source, fit="box centred")[0] == "1 glyphs"
    (note,) = (n for n in load_glyphs(source, fit="as drawn").provenance.notes if "left out" in n)
    assert note == "1 of 2 pictures left out, not a picture: pear/\\udcfd.png"
    bad.unlink()
    pear.rename(source / os.fsdecode(b"\xf0"))
    assert "its bytes aren't UTF-8" in tried(source, fit="box centred")[0]


@pytest.mark.parametrize("kept", [0, 1, 30, 200, 400])
def test_a_picture_that_is_cut_off_is_named(tmp_path: Path, kept: int) -> None:
    (tmp_path / "pear").mkdir()
    noise = np.random.default_rng(1).integers(0, 256, (40, 40), dtype=np.uint8)
    whole = io.BytesIO()
    Image.fromarray(noise).save(whole, format="PNG")
    (tmp_path / "pear" / "0.png").write_bytes(whole.getvalue()[:kept])
    with pytest.raises(GlyphError, match=r"0\.png: (not a picture|the picture is broken)"):
        load_glyphs(tmp_path, fit="box centred")
