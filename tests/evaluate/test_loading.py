"""Finding a model by name, and saying what is wrong when it can't be found."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.model import load_model, wrap_model

Write = Callable[..., Path]
DOTS = np.full((4, 2, 2), 255, np.uint8)
LABELS = np.zeros(4, np.intp)


def test_a_function_in_a_file_is_loaded_through_a_path_with_spaces(model_file: Write) -> None:
    path = model_file("def net(x):\n    return [0] * len(x)\n")
    model = load_model(f"{path}:net")
    assert model.first_look(DOTS, LABELS, ("a", "b")).correct == 4


def test_the_last_colon_parts_path_and_name(tmp_path: Path) -> None:
    path = tmp_path / "c:odd.py"
    path.write_text("def net(x):\n    return [0] * len(x)\n", encoding="utf-8")
    assert load_model(f"{path}:net").name == f"{path}:net"


@pytest.mark.skipif(sys.platform in {"win32", "darwin"}, reason="names are text there")
def test_a_folder_whose_name_is_no_text_holds_a_model_all_the_same(tmp_path: Path) -> None:
    folder = tmp_path / "crates-\udcff"
    folder.mkdir()
    (folder / "reader.py").write_text("def net(x):\n    return [0] * len(x)\n", encoding="utf-8")
    model = load_model(f"{folder}/reader.py:net")
    assert model.first_look(DOTS, LABELS, ("a", "b")).correct == 4


def test_a_name_inside_an_object_is_followed(model_file: Write) -> None:
    path = model_file("class Box:\n    net = staticmethod(lambda x: [0] * len(x))\nbox = Box()\n")
    assert load_model(f"{path}:box.net").first_look(DOTS, LABELS, ("a",)).correct == 4


def test_a_file_imports_its_neighbours_even_late(model_file: Write) -> None:
    model_file("ANSWER = 1\n", "neighbour_of_a_reader.py")
    path = model_file(
        "def net(x):\n    import neighbour_of_a_reader as n\n    return [n.ANSWER] * len(x)\n"
    )
    before = list(sys.path)
    look = load_model(f"{path}:net").first_look(DOTS, LABELS, ("a", "b"))
    assert look.correct == 0
    assert sys.path == before


def test_an_importable_module_is_loaded(model_file: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    path = model_file("def net(x):\n    return [0] * len(x)\n", "a_reader_module.py")
    monkeypatch.chdir(path.parent)
    assert load_model("a_reader_module:net").first_look(DOTS, LABELS, ("a",)).correct == 4


def test_what_the_model_prints_stays_off_standard_output(
    model_file: Write, capsys: pytest.CaptureFixture[str]
) -> None:
    path = model_file(
        "print('at import')\ndef net(x):\n    print('asked')\n    return [0]*len(x)\n"
    )
    load_model(f"{path}:net").first_look(DOTS, LABELS, ("a",))
    out, err = capsys.readouterr()
    assert out == ""
    assert "at import" in err
    assert "asked" in err


@pytest.mark.parametrize(
    ("source", "name", "words"),
    [
        (
            "x = 1 / 0\n",
            "net",
            r"fails when it is imported\n.*ZeroDivisionError: .*\(reader.py:1\)",
        ),
        ("\ndef f(:\n", "net", r"fails when it is imported\n.*SyntaxError: .*\(reader.py:2\)"),
        ("import sys\nsys.exit(3)\n", "net", r"ends the program[\s\S]*SystemExit: 3 \(reader.py:2"),
        ("import no_such_thing_here\n", "net", r"try       install the .* \"no_such_thing_here\""),
        (
            "def reader(x): ...\n",
            "raeder",
            r'no "raeder" there[\s\S]*allowed   reader[\s\S]*"reader"',
        ),
        ("x = 3\n", "net", r'no "net" there[\s\S]*nothing there could be a model'),
        ("x = 3\n", "x", r"this is not a model\n  got       int"),
        ("import os\n", "os", r"this is a module, not a model"),
        ("class Reader: ...\n", "Reader", r"a class, not a model[\s\S]*reader = Reader\("),
        ("def net(x): ...\nEXPECTS = 3\n", "net", r"expects can't be read\n  got       int"),
        ("def net(x): ...\nEXPECTS = {'low': 'x'}\n", "net", r"EXPECTS: low can't be this"),
    ],
)
def test_what_is_wrong_with_a_file_is_said_with_its_place(
    model_file: Write, source: str, name: str, words: str
) -> None:
    with pytest.raises(ModelError, match=words):
        load_model(f"{model_file(source)}:{name}")


def test_a_file_that_is_not_there_is_named_with_its_nearest_neighbour(model_file: Write) -> None:
    path = model_file("")
    with pytest.raises(ModelError, match=r"there is no such file[\s\S]*reader\.py"):
        load_model(f"{path.with_name('raeder.py')}:net")


def test_a_module_that_is_not_there_is_named() -> None:
    with pytest.raises(ModelError, match=r"no such module\n  got       no_such_package"):
        load_model("no_such_package.readers:net")


@pytest.mark.parametrize("colon", ["", ":"])
def test_a_spec_without_a_name_is_answered_with_the_names_there(
    model_file: Write, colon: str
) -> None:
    path = model_file("def net(x): ...\n")
    with pytest.raises(ModelError, match=r"which name in the file[\s\S]*reader.py:net"):
        load_model(f"{path}{colon}")


def test_a_windows_path_without_a_name_is_not_parted_at_its_drive() -> None:
    with pytest.raises(ModelError, match="doesn't say which name"):
        load_model("C:\\models\\reader.py")


def test_expectations_come_from_the_caller_then_the_object_then_the_file(model_file: Write) -> None:
    path = model_file(
        "EXPECTS = {'dtype': 'uint8'}\n"
        "def plain(x): ...\n"
        "def own(x): ...\n"
        "own.expects = {'dtype': 'float64'}\n"
    )
    assert load_model(f"{path}:plain").expects.dtype == "uint8"
    assert load_model(f"{path}:own").expects.dtype == "float64"
    given = Expectation(layout="flat")
    assert load_model(f"{path}:own", expects=given).expects == given


def test_a_mapping_replaces_only_what_it_names(model_file: Write) -> None:
    path = model_file(
        "EXPECTS = {'dtype': 'float64', 'high': 16, 'ink': 'dark'}\ndef net(x): ...\n"
    )
    assert load_model(f"{path}:net", expects={"layout": "flat"}).expects == Expectation(
        "flat", "float64", 0.0, 16, "dark"
    )
    other = load_model(f"{path}:net", expects={"dtype": "uint8"}).expects
    assert (other.top, other.ink) == (255.0, "dark")
    with pytest.raises(ModelError, match='unknown key "lauyout"'):
        load_model(f"{path}:net", expects={"lauyout": "flat"})


def test_a_file_knows_where_it_lies(model_file: Write) -> None:
    model_file("7", "weight.txt")
    path = model_file(
        "from pathlib import Path\n"
        "weight = int((Path(__file__).parent / 'weight.txt').read_text())\n"
        "def net(x):\n    return [weight] * len(x)\n"
    )
    look = load_model(f"{path}:net").first_look(DOTS, LABELS + 7, tuple("abcdefgh"))
    assert look.correct == 4


def test_wrapping_a_wrapped_model_gives_it_back() -> None:
    model = wrap_model(lambda x: [0] * len(x), name="zero")
    assert wrap_model(model) is model


@pytest.mark.parametrize("spec", ["mlp.pkl", "models/mlp.joblib:model", "net.pth"])
def test_a_saved_object_is_refused_with_the_lines_that_open_it(spec: str) -> None:
    words = r"(?s)holds a saved object.*allowed .*file\.py:name.*try .*my_model\.py:model"
    with pytest.raises(ModelError, match=words):
        load_model(spec)
