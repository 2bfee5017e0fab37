"""The demo's readers are trained in whole numbers, so that they are the same everywhere."""

from __future__ import annotations

import ast
import io
import tokenize
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest
from threadpoolctl import threadpool_limits

from gen.demo import reader as reading
from gen.demo.crate_tags import CLASSES, decode, made_tags
from gen.demo.reader import Reader, train

LINES_AT_MOST = 120
EXACT = 2**53
"""float64 holds every whole number up to here."""


@pytest.fixture(scope="module")
def tags() -> tuple[np.ndarray, np.ndarray]:
    training, _ = made_tags()
    return decode(training.images), training.answers


def code_lines(source: str) -> int:
    """Lines that hold code: no blanks, comments or docstrings."""
    told = {
        line
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and ast.get_docstring(node) is not None
        for line in range(node.body[0].lineno, (node.body[0].end_lineno or 0) + 1)
    }
    blank = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT}
    coded = {
        line
        for token in tokenize.generate_tokens(io.StringIO(source).readline)
        if token.type not in blank and token.type != tokenize.ENDMARKER
        for line in range(token.start[0], token.end[0] + 1)
    }
    return len(coded - told)


def test_lines_of_code_are_counted_without_comments_and_docstrings() -> None:
    assert code_lines('"""Told."""\n\n# why\nx = (\n    1\n)\ndef f():\n    """So."""\n') == 4


def test_the_training_code_is_short_enough_to_read() -> None:
    assert code_lines(Path(reading.__file__).read_text("utf-8")) < LINES_AT_MOST


def test_the_weights_are_the_same_with_one_thread_and_with_two(
    tags: tuple[np.ndarray, np.ndarray],
) -> None:
    pictures, answers = tags[0][:960], tags[1][:960]
    readers = []
    for threads in (1, 2):
        with threadpool_limits(threads, user_api="blas"):
            readers.append(train(pictures, answers, len(CLASSES)))
    for layer in ("first", "second"):
        assert getattr(readers[0], layer).tobytes() == getattr(readers[1], layer).tobytes()


def rounded(value: np.ndarray, bits: int) -> np.ndarray:
    """Whole numbers divided by 2**bits and rounded, halves to the even one."""
    half, low = 1 << (bits - 1), value & ((1 << bits) - 1)
    whole = value >> bits
    up = (low > half) | ((low == half) & (whole & 1 == 1))
    return np.asarray(whole + up)


def trained_in_integers(
    pictures: np.ndarray, labels: np.ndarray, classes: int, epochs: int
) -> tuple[np.ndarray, np.ndarray]:
    """The training of `gen.demo.reader` told again in int64: no fraction anywhere.

    A name ends in the number of binary places that its whole numbers stand for.
    """
    x8 = np.concatenate(
        [pictures.reshape(len(pictures), -1).astype(np.int64), np.full((len(pictures), 1), 256)], 1
    )
    wanted = np.where(labels[:, None] == np.arange(classes), 1, -1)
    start = [
        reading._start(x8.shape[1], reading.HIDDEN, "demo first layer", 1 / 16),
        reading._start(reading.HIDDEN + 1, classes, "demo second layer", 1 / 8),
    ]
    first20, second20 = ((layer * 2**20).astype(np.int64) for layer in start)
    push1, push2 = np.zeros_like(first20), np.zeros_like(second20)
    for epoch in range(epochs):
        order = reading._shuffled(len(x8), epoch)
        rate_bits = 11 if epoch < epochs - 3 else 13
        for begin in range(0, len(order) - reading.BATCH + 1, reading.BATCH):
            some = order[begin : begin + reading.BATCH]
            hidden10 = rounded(np.maximum(x8[some] @ first20, 0), 18)
            with_one = np.concatenate([hidden10, np.full((len(some), 1), 1 << 10)], 1)
            scores30 = with_one @ second20
            short30 = np.maximum(0, (1 << 30) - wanted[some] * scores30)
            slope12 = rounded(-wanted[some] * short30, 18)
            reached32 = slope12 @ second20[:-1].T
            back12 = rounded(np.where(hidden10 > 0, reached32, 0), 20)
            # 7/8 of what has 20 places has 23; a step at this rate has 22 or 20 more.
            grown = {22: with_one.T @ slope12, 20: x8[some].T @ back12}
            steps = [
                rounded(7 * (push << (rate_bits + bits - 23)) - grown[bits], rate_bits + bits - 20)
                for push, bits in ((push2, 22), (push1, 20))
            ]
            push2, push1 = steps
            second20, first20 = second20 + push2, first20 + push1
    return rounded(first20, 8), rounded(second20, 8)


def test_whole_number_arithmetic_trains_the_same_reader(
    tags: tuple[np.ndarray, np.ndarray], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "EPOCHS", 5)
    pictures, answers = tags[0][:256], tags[1][:256]
    reader = train(pictures, answers, len(CLASSES))
    first12, second12 = trained_in_integers(pictures, answers, len(CLASSES), 5)
    assert np.array_equal(reader.first * 2**12, first12)
    assert np.array_equal(reader.second * 2**12, second12)


@pytest.mark.slow
def test_no_sum_of_a_whole_training_outgrows_float64(
    tags: tuple[np.ndarray, np.ndarray], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bounds on partial sums, in whatever order a library adds: the sum of magnitudes.

    Everything is a whole multiple of a power of two; with `places` binary places a
    sum is exact as long as its magnitudes add up to less than 2**(53 - places).
    """
    largest: dict[str, float] = defaultdict(float)
    plain_forward, plain_grid = reading._forward, reading._grid

    def saw(name: str, *magnitudes: float) -> None:
        largest[name] = max(largest[name], *magnitudes)

    def forward(inputs, first, second):  # type: ignore[no-untyped-def]
        hidden, scores = plain_forward(inputs, first, second)
        saw("weights", np.abs(first).max(), np.abs(second).max())
        saw("hidden", hidden.max())
        # An input is at most 1, a hidden value is never negative.
        saw("inputs @ first, 28 places", np.abs(first).sum(axis=0).max())
        saw("hidden @ second, 30 places", (hidden.max(axis=0) @ np.abs(second)).max())
        return hidden, scores

    def grid(values, bits):  # type: ignore[no-untyped-def]
        result = plain_grid(values, bits)
        saw({10: "hidden", 12: "slope", 20: "push"}[bits], np.abs(result).max())
        return result

    monkeypatch.setattr(reading, "_forward", forward)
    monkeypatch.setattr(reading, "_grid", grid)
    train(*tags, len(CLASSES))
    slope, classes, batch = largest["slope"], len(CLASSES), reading.BATCH
    largest["1 - wanted * scores, 30 places"] = 1 + largest["hidden @ second, 30 places"]
    largest["slope @ second, 32 places"] = classes * slope * largest["weights"]
    # 35 and 33 places: the product, times a rate of 2**-13, with 7/8 of the last push.
    largest["push of the second, 35 places"] = batch * largest["hidden"] * slope + largest["push"]
    largest["push of the first, 33 places"] = batch * slope + largest["push"]
    sums = {name: size for name, size in largest.items() if name.endswith("places")}
    assert len(sums) == 6
    for name, size in sums.items():
        places = int(name.split()[-2])
        assert 0 < size * 2**places < EXACT, f"{name}: {size:g}"


def test_a_reader_comes_back_from_its_file_as_it_was(
    tags: tuple[np.ndarray, np.ndarray], tmp_path: Path
) -> None:
    reader = train(tags[0][:128], tags[1][:128], len(CLASSES))
    reader.save(tmp_path / "right.npz")
    again = Reader.load(tmp_path / "right.npz")
    assert np.array_equal(again.first, reader.first)
    assert np.array_equal(again.second, reader.second)
