"""A TOML file says once what a model is and what it expects; what it gets wrong is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gen.core.errors import CombinedError, InkdriftError, ModelError
from gen.evaluate.expect import Expectation
from gen.evaluate.model import load_model
from gen.evaluate.stated import beside, read_stated

NET = """
import numpy as np

seen = []

def net(x):
    seen.append(x)
    return np.zeros(len(x), int)
"""

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a model and a TOML file into a folder with a space in its name."""

    def make(toml: str, *, name: str = "reader.toml", source: str = NET) -> Path:
        folder = tmp_path / "my models"
        folder.mkdir(exist_ok=True)
        (folder / "reader.py").write_text(source, encoding="utf-8")
        (folder / name).write_text(toml, encoding="utf-8")
        return folder / name

    return make


def test_every_key_reaches_the_model(write: Write) -> None:
    path = write(
        'model = "reader.py:net"\n'
        'layout = "N1HW"\ndtype = "float64"\nmean = 0.1307\ndeviation = 0.3081\nink = "dark"\n'
        'axes = "columns"\nframe = [28, 20]\nclasses = ["b", "a"]\nanswers = "labels"\nbatch = 7\n'
    )
    assert load_model(str(path)).expects == Expectation(
        "N1HW",
        "float64",
        ink="dark",
        mean=0.1307,
        deviation=0.3081,
        axes="columns",
        frame=(28, 20),
        classes=("b", "a"),
        answers="labels",
        batch=7,
    )


def test_a_file_of_the_same_name_beside_the_model_is_found_and_said(write: Write) -> None:
    path = write('dtype = "uint8"\nink = "dark"\n')
    model = load_model(f"{path.with_name('reader.py')}:net")
    look = model.first_look(np.zeros((2, 4, 4), np.uint8), np.zeros(2, np.intp), ("a", "b"))
    assert (model.expects.dtype, model.expects.ink) == ("uint8", "dark")
    assert "(as reader.toml says" in look.lines[1]


def test_a_file_beside_a_module_of_the_working_folder_is_found_too(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write('dtype = "uint8"\n', name="a_module_beside.toml")
    path.with_suffix(".py").write_text(NET, encoding="utf-8")
    monkeypatch.chdir(path.parent)
    assert load_model("a_module_beside:net").expects.dtype == "uint8"


def test_options_come_before_the_file_and_the_file_before_the_object(write: Write) -> None:
    source = NET + "\nEXPECTS = {'dtype': 'float64', 'high': 16, 'ink': 'dark', 'batch': 3}\n"
    path = write('ink = "bright"\nmean = 0.5\ndeviation = 0.5\n', source=source)
    spec = f"{path.with_name('reader.py')}:net"
    stated = load_model(spec).expects
    assert stated == Expectation(None, "float64", mean=0.5, deviation=0.5, batch=3)
    assert load_model(spec, expects={"high": 255, "batch": 1}).expects == Expectation(
        None, "float64", 0.0, 255, batch=1
    )
    assert load_model(spec, expects={"dtype": "uint8"}).expects == Expectation(
        None, "uint8", batch=3
    )


@pytest.mark.parametrize("part", ["sweep", "grid", "blend", "require"])
def test_a_recipe_beside_a_model_is_no_file_of_the_model(write: Write, part: str) -> None:
    path = write(f'title = "a recipe"\n[[{part}]]\nnote = "of a recipe"\n')
    assert load_model(f"{path.with_name('reader.py')}:net").expects == Expectation()


def test_a_file_beside_a_model_that_is_about_another_is_refused(write: Write) -> None:
    for said in ('model = "writer.py:net"', 'program = ["node", "reader.js"]'):
        path = write(said)
        with pytest.raises(ModelError, match=r"reader\.py and is about another model"):
            load_model(f"{path.with_name('reader.py')}:net")
    path = write('model = "reader.py:net"\ndtype = "uint8"')
    assert load_model(f"{path.with_name('reader.py')}:net").expects.dtype == "uint8"


def test_a_module_is_imported_from_the_folder_of_its_file(write: Write) -> None:
    path = write('model = "a_stated_reader:net"')
    path.with_name("a_stated_reader.py").write_text(NET, encoding="utf-8")
    assert load_model(str(path)).expects == Expectation()


def test_all_mistakes_of_a_file_are_told_at_once_with_their_lines(write: Write) -> None:
    path = write(
        'model = "reader.py:net"\n'
        'lauyout = "flat"\n'
        'dtype = "float16"\n'
        "batch = 0\n"
        "frame = [28]\n"
        'classes = ["a", "b", "a"]\n'
        "deviation = 0\n"
        'answers = "logit"\n'
    )
    with pytest.raises(CombinedError, match="unknown key") as caught:
        read_stated(path)
    told = str(caught.value)
    assert f'{path}:2: unknown key "lauyout"\n  allowed   model, program, ' in told
    assert '  try       "layout"' in told
    assert f'{path}:3: dtype can\'t be this\n  got       "float16"' in told
    assert f"{path}:4: batch can't be this\n  got       0" in told
    assert f"{path}:5: frame can't be this\n  got       [28]\n  allowed   [H, W]" in told
    assert f'{path}:6: classes can\'t be this\n  got       "a" 2 times' in told
    assert f"{path}:7: deviation can't be this\n  got       0" in told
    assert f'{path}:8: answers can\'t be this\n  got       "logit"' in told
    assert '  try       "logits"' in told
    assert len(caught.value.errors) == 7


@pytest.mark.parametrize(
    ("toml", "words"),
    [
        ("layout = flat\n", r"reader\.toml:1: this isn't TOML"),
        ("mean = 0.5\n", r"reader\.toml:1: mean can't be this\n  got       mean alone"),
        ("mean = 0.5\ndeviation = 1\nhigh = 3\n", "mean and deviation beside low or high"),
        ("low = 3\n", r"reader\.toml(:1)?: high can't be this\n  got       1\n"),
        ('values = "0..255"\n', r'key "values"\n[\s\S]*try       low = 0 and high = 255'),
        ("std = 0.3\n", r'key "std"\n[\s\S]*try       "deviation"'),
        ("low = inf\n", r"low can't be this\n  got       inf"),
        ("low = true\n", r"low can't be this\n  got       True"),
        ("batch = 2.5\n", r"batch can't be this\n  got       2\.5"),
        ('model = "a.onnx"\nprogram = ["b"]\n', r"reader\.toml:2: .* a model and a program"),
        ('model = "a.onnx"\nseconds = 3\n', r"reader\.toml:2: seconds is for programs"),
        ("program = []\n", "program can't be this"),
        ('program = ["b"]\nstays = 1\n', r"stays can't be this\n[\s\S]*true or false"),
        ('program = ["b"]\nseconds = 0\n', r"seconds can't be this\n[\s\S]*over 0"),
        ("model = 3\n", "model can't be this"),
    ],
)
def test_a_file_with_one_mistake_is_one_error(write: Write, toml: str, words: str) -> None:
    with pytest.raises(ModelError, match=words):
        read_stated(write(toml))


@pytest.mark.parametrize(
    ("toml", "words"),
    [
        ('layout = "flat"\n', "doesn't say which model it is about"),
        ('model = "other.toml"\n', r"model can't be this\n[\s\S]*reader\.onnx"),
        ('model = "program:node a.js"\n', r"model can't be this\n[\s\S]*program ="),
        ('model = "raeder.py:net"\n', r"no such file\n[\s\S]*my models/reader\.py"),
        ('model = "reader.py:nett"\n', r'no "nett" there\n[\s\S]*try       "net"'),
        ('model = "reader.py"\n', r"which name in the file is[\s\S]*try       reader\.py:net"),
        ('model = "reader.onnx"\n', r"no such file"),
    ],
)
def test_a_file_that_leads_to_no_model_is_one_error(write: Write, toml: str, words: str) -> None:
    with pytest.raises(ModelError, match=words):
        load_model(str(write(toml)))


def test_a_file_that_is_not_there_is_one_error(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match=r"reader\.toml: there is no such file") as caught:
        load_model(str(tmp_path / "reader.toml"))
    assert "recipe" not in str(caught.value)
    with pytest.raises(InkdriftError, match="this is a folder"):
        (tmp_path / "folder.toml").mkdir()
        read_stated(tmp_path / "folder.toml")


def test_a_model_without_a_file_beside_it_states_nothing(tmp_path: Path) -> None:
    assert beside(tmp_path / "reader.py") is None


def test_pictures_of_another_size_than_is_stated_are_refused(write: Write) -> None:
    model = load_model(str(write('model = "reader.py:net"\nframe = [28, 20]\n')))
    words = r"another size\n  got       20 x 28 px\n  allowed   28 x 20 px[\s\S]*--frame 28x20;"
    with pytest.raises(ModelError, match=words):
        model.first_look(np.zeros((2, 20, 28), np.uint8), np.zeros(2, np.intp), ("a",))


def test_columns_are_handed_over_transposed(write: Write) -> None:
    source = NET + "\ndef first(x):\n    return (x[:, 0, :].sum(axis=1) > 1).astype(int)\n"
    path = write('model = "reader.py:first"\naxes = "columns"\nlayout = "NHW"\n', source=source)
    images = np.zeros((2, 4, 6), np.uint8)
    images[1, :, 0] = 255
    model = load_model(str(path))
    look = model.first_look(images, np.array([0, 1]), ("a", "b"))
    assert look.correct == 2
    assert "(n, W, H), axes swapped" in look.lines[1]
    assert model.capture(images).shape == (2, 6, 4)


def test_a_batch_is_never_larger_than_is_stated(write: Write) -> None:
    path = write('model = "reader.py:net"\nbatch = 5\nlayout = "NHW"\n')
    source = "\ndef sizes():\n    return [len(x) for x in seen]\n"
    (path.with_name("reader.py")).write_text(NET + source, encoding="utf-8")
    model = load_model(str(path))
    model.first_look(np.zeros((12, 4, 4), np.uint8), np.zeros(12, np.intp), ("a",))
    assert len(model.answer(np.zeros((11, 4, 4), np.uint8)).labels) == 11
    import sys

    (module,) = [m for n, m in sys.modules.items() if getattr(m, "sizes", None) and "reader" in n]
    assert module.sizes() == [5, 5, 2, 5, 5, 1]
