"""A staging folder: one place for one folder, one process at a time, kept only when asked."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from gen.core.errors import OutputError
from gen.core.files import INSIDE
from gen.core.staging import staging, staging_place


def test_it_lies_hidden_beside_the_folder(tmp_path: Path) -> None:
    assert staging_place(tmp_path / "set") == tmp_path / ".set.part"
    (tmp_path / "set").mkdir()
    assert staging_place(tmp_path / "set") == tmp_path / ".set.part"
    assert staging_place(tmp_path / "a" / ".." / "set") == tmp_path / ".set.part"


def test_a_link_is_staged_beside_what_it_leads_to(tmp_path: Path) -> None:
    (tmp_path / "disk").mkdir()
    (tmp_path / "set").symlink_to(tmp_path / "disk" / "crates", target_is_directory=True)
    assert staging_place(tmp_path / "set") == tmp_path / "disk" / ".crates.part"


@pytest.mark.skipif(not Path("/dev/shm").is_mount(), reason="needs a folder that is a mounted disk")
def test_a_mounted_disk_is_staged_inside() -> None:
    assert staging_place(Path("/dev/shm")) == Path("/dev/shm") / INSIDE


def test_it_goes_when_the_work_ends_and_so_do_parents_that_were_made(tmp_path: Path) -> None:
    with staging(tmp_path / "a" / "b" / "set") as stage:
        (stage.place / "note").write_text("12 crates")
        assert stage.place == tmp_path / "a" / "b" / ".set.part"
    assert list(tmp_path.iterdir()) == []


def test_kept_it_is_found_again(tmp_path: Path) -> None:
    with staging(tmp_path / "set") as stage:
        (stage.place / "note").write_text("12 crates")
        stage.keep = True
    with staging(tmp_path / "set") as again:
        assert (again.place / "note").read_text() == "12 crates"
    assert list(tmp_path.iterdir()) == []


def test_a_second_holder_is_refused_and_the_first_is_left_alone(tmp_path: Path) -> None:
    with staging(tmp_path / "set") as stage:
        with (
            pytest.raises(OutputError, match=r"set: another run is writing it\n +try +wait until"),
            staging(tmp_path / "set"),
        ):
            pass
        assert stage.place.is_dir()
    with staging(tmp_path / "set"):
        pass


def test_another_process_is_refused_too_and_free_once_it_is_killed(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom pathlib import Path\nfrom gen.core.staging import staging\n"
        "with staging(Path(sys.argv[1])):\n    print('held', flush=True)\n    sys.stdin.read()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path / "set")],
        cwd=Path(__file__).resolve().parents[2],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(OutputError, match="another run"), staging(tmp_path / "set"):
            pass
        other.kill()
        other.wait()
    with staging(tmp_path / "set"):
        pass


def test_what_the_system_refuses_names_the_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("12 crates")
    with (
        pytest.raises(OutputError, match="set: can't be written"),
        staging(tmp_path / "file" / "set"),
    ):
        pass


def test_a_fault_inside_takes_it_away(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError, match="no crates"), staging(tmp_path / "set"):
        raise ZeroDivisionError("no crates")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="a superuser may write anywhere")
def test_where_nothing_may_lie_beside_it_it_lies_inside(tmp_path: Path) -> None:
    (tmp_path / "set").mkdir()
    tmp_path.chmod(0o555)
    try:
        assert staging_place(tmp_path / "set") == tmp_path / "set" / INSIDE
    finally:
        tmp_path.chmod(0o755)
