"""What a good recipe is read as, and files that are no recipe at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from gen.core.errors import CombinedError, RecipeError
from gen.recipe.model import Catalogue, Recipe, Sweep
from gen.recipe.reader import LARGEST_SEED, parse_recipe, read_recipe
from gen.recipe.source import LARGEST_FILE

HEAD = 'title = "Mount drift"\n'
BLUR = '[[sweep]]\nperturbation = "blur"\nunit = "px"\nlevels = [0, 1]\n'


def test_a_recipe_is_read_whole(catalogue: Catalogue) -> None:
    text = (
        'title = " Mount drift "\nnote = "Over a shift."\nseed = 7\n\n'
        '[[sweep]]\nperturbation = "translation"\nunit = "px"\nalong = 45\n'
        'levels = [2, -1.5]\nnote = "sags"\n\n'
        '[[sweep]]\nperturbation = "placement"\nunit = "rule"\nlevels = ["top left", "as drawn"]\n'
    )
    assert parse_recipe(text, catalogue) == Recipe(
        title="Mount drift",
        note="Over a shift.",
        seed=7,
        sweeps=(
            Sweep("translation", "px", (-1.5, 2.0), (("along", 45.0),), "sags"),
            Sweep("placement", "rule", ("top left", "as drawn"), (("box_px", None),)),
        ),
    )
    assert parse_recipe(text, catalogue).text == text


def test_a_title_alone_is_a_recipe(catalogue: Catalogue) -> None:
    assert parse_recipe(HEAD, catalogue) == Recipe("Mount drift", "", 0, ())


def test_a_sweep_knows_its_line(catalogue: Catalogue) -> None:
    recipe = parse_recipe(f"{HEAD}\n{BLUR}\n# second\n{BLUR}", catalogue, file="drift.toml")
    assert [str(sweep.where) for sweep in recipe.sweeps] == [
        "drift.toml:3: sweep 1",
        "drift.toml:9: sweep 2",
    ]


def test_levels_are_floats_also_where_whole_numbers_are_written(catalogue: Catalogue) -> None:
    (sweep,) = parse_recipe(HEAD + BLUR, catalogue).sweeps
    assert [type(level) for level in sweep.levels] == [float, float]


def test_a_negative_zero_becomes_zero(catalogue: Catalogue) -> None:
    text = HEAD + BLUR.replace("blur", "translation").replace("[0, 1]", "[-0.0]") + "along = -0.0\n"
    (sweep,) = parse_recipe(text, catalogue).sweeps
    assert str(sweep.levels[0]) == "0.0"
    assert str(sweep.option("along")) == "0.0"


def test_the_largest_seed_is_taken(catalogue: Catalogue) -> None:
    assert parse_recipe(f"{HEAD}seed = {LARGEST_SEED}", catalogue).seed == 2**63 - 1


def test_a_list_and_a_range_of_the_same_levels_have_one_digest(catalogue: Catalogue) -> None:
    listed = parse_recipe(HEAD + BLUR.replace("[0, 1]", "[0.3, 0.1, 0.2]"), catalogue)
    ranged = HEAD + BLUR.replace("[0, 1]", "{from = 0.1, to = 0.3, step = 0.1}")
    assert parse_recipe(ranged, catalogue).digest == listed.digest
    other = parse_recipe(HEAD + BLUR.replace("[0, 1]", "[0.3, 0.1, 0.25]"), catalogue)
    assert other.digest != listed.digest


def test_a_default_written_out_has_the_digest_of_one_left_out(catalogue: Catalogue) -> None:
    text = HEAD + BLUR.replace("blur", "translation")
    said = parse_recipe(f'{text}along = "x"\n', catalogue)
    assert said.digest == parse_recipe(text, catalogue).digest
    other = parse_recipe(f'{text}along = "y"\n', catalogue)
    assert said.digest != other.digest


def test_words_and_comments_are_not_in_the_digest(catalogue: Catalogue) -> None:
    plain = parse_recipe(HEAD + BLUR, catalogue)
    wordy = parse_recipe(f'# why\ntitle = "Other"\n{BLUR}note = "n"\n', catalogue)
    assert plain.digest == wordy.digest


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_files_from_other_editors_are_the_same_recipe(
    tmp_path: Path, catalogue: Catalogue, line_end: str, mark: bytes
) -> None:
    text = f'{HEAD}note = """\nTwo\nlines"""\n{BLUR}'
    path = tmp_path / "drift.toml"
    path.write_bytes(mark + text.replace("\n", line_end).encode())
    read = read_recipe(path, catalogue)
    assert read == parse_recipe(text, catalogue)
    assert read.text == text
    assert read.sweeps[0].where.line == 5


def test_the_wrong_line_is_not_named_in_a_file_with_other_line_ends(
    tmp_path: Path, catalogue: Catalogue
) -> None:
    path = tmp_path / "drift.toml"
    path.write_bytes((HEAD + BLUR + "levles = 1\n").replace("\n", "\r\n").encode())
    with pytest.raises(RecipeError, match=r"drift\.toml:6: sweep 1: unknown key \"levles\""):
        read_recipe(path, catalogue)


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path, catalogue: Catalogue) -> None:
    with pytest.raises(RecipeError, match=r"none\.toml: there is no such file"):
        read_recipe(tmp_path / "none.toml", catalogue)


def test_a_folder_is_not_a_recipe(tmp_path: Path, catalogue: Catalogue) -> None:
    with pytest.raises(RecipeError, match="this is a folder, not a recipe"):
        read_recipe(tmp_path, catalogue)


def test_a_path_that_no_system_takes_is_refused(catalogue: Catalogue) -> None:
    with pytest.raises(RecipeError, match="the file can't be opened"):
        read_recipe("a\0b.toml", catalogue)


def test_a_file_in_another_encoding_is_refused_with_its_place(
    tmp_path: Path, catalogue: Catalogue
) -> None:
    path = tmp_path / "drift.toml"
    path.write_bytes(HEAD.encode() + "note = 'déjà'\n".encode("latin-1"))
    with pytest.raises(RecipeError, match=r"drift\.toml:2: the file isn't UTF-8(?s:.*)byte 0xe9"):
        read_recipe(path, catalogue)
    path.write_bytes(HEAD.encode("utf-16"))
    with pytest.raises(RecipeError, match=r"drift\.toml: the file isn't UTF-8(?s:.*)UTF-16"):
        read_recipe(path, catalogue)


def test_a_file_that_is_too_large_is_refused_and_one_just_inside_is_read(
    tmp_path: Path, catalogue: Catalogue
) -> None:
    path = tmp_path / "drift.toml"
    text = HEAD + "#" * (LARGEST_FILE - len(HEAD))
    path.write_text(text)
    assert read_recipe(path, catalogue).title == "Mount drift"
    path.write_text(f"{text}#")
    with pytest.raises(RecipeError, match="too large for a recipe"):
        read_recipe(path, catalogue)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a = " + "[" * 20_000 + "]" * 20_000, "nested too deeply"),
        ("a = " + "9" * 5_000, "a number or a date can't be read"),
        ("a = 2025-02-31", "can't be read|isn't TOML"),
    ],
)
def test_texts_that_the_parser_chokes_on_are_refused_in_words(
    text: str, message: str, catalogue: Catalogue
) -> None:
    with pytest.raises(RecipeError, match=message):
        parse_recipe(text, catalogue)


def test_an_exponent_of_twenty_digits_is_not_a_finite_number(catalogue: Catalogue) -> None:
    with pytest.raises(RecipeError, match=r"recipe:5: sweep 1, levels, item 1(?s:.*)got +inf"):
        parse_recipe(HEAD + BLUR.replace("[0, 1]", "[1e99999999999999999999]"), catalogue)


def test_a_whole_number_of_a_million_bits_is_refused_in_words(catalogue: Catalogue) -> None:
    text = f"{HEAD}seed = 0x{'f' * 250_000}\n" + BLUR.replace("[0, 1]", f"[0x{'f' * 250_000}]")
    with pytest.raises(CombinedError, match=r"(?s)(1000000 bits).*\1"):
        parse_recipe(text, catalogue)
