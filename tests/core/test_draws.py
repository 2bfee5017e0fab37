"""Draws against the published answers of Philox and against numpy's own generator."""

from __future__ import annotations

import hashlib

import numpy as np
import pytest

from gen.core import draws

# Three known answers of philox4x64 with 10 rounds: file kat_vectors of Random123
# (J. K. Salmon et al., SC'11): counter, key, result.
KNOWN_ANSWERS = [
    (
        (0, 0, 0, 0),
        (0, 0),
        "16554d9eca36314c db20fe9d672d0fdc d7e772cee186176b 7e68b68aec7ba23b",
    ),
    (
        (2**64 - 1,) * 4,
        (2**64 - 1,) * 2,
        "87b092c3013fe90b 438c3c67be8d0224 9cc7d7c69cd777b6 a09caebf594f0ba0",
    ),
    (
        (0x243F6A8885A308D3, 0x13198A2E03707344, 0xA4093822299F31D0, 0x082EFA98EC4E6C89),
        (0x452821E638D01377, 0xBE5466CF34E90C6C),
        "a528f45403e61d95 38c72dbd566e9788 a5a1610e72fd18b5 57bd43b5e52b7fe6",
    ),
]

# Standard error of the mean of 40,000 deviates of variance 1 is 0.005; five of them.
MEAN_OF_NORMALS = 0.025
# The variance of a square of an Irwin-Hall deviate is 1.7, so its mean is known to 0.0065.
VARIANCE_OF_NORMALS = 0.033
# Kurtosis -0.3 of a sum of four uniforms, by theory -1.2 / 4; its sampling error is about 0.02.
KURTOSIS_OF_NORMALS = 0.1


@pytest.mark.parametrize(("counter", "key", "answer"), KNOWN_ANSWERS)
def test_philox_gives_the_published_answers(
    counter: tuple[int, ...], key: tuple[int, int], answer: str
) -> None:
    got = draws.philox(counter, key)  # type: ignore[arg-type]
    assert " ".join(f"{int(word[0]):016x}" for word in got) == answer


@pytest.mark.parametrize("key", [(1, 2), (1234, 0), (2**64 - 1, 2**63)])
@pytest.mark.parametrize("counter", [(4, 4, 5, 6), (1, 0, 0, 0), (2**64 - 1, 7, 0, 2**64 - 1)])
def test_philox_agrees_with_numpy_one_counter_on(
    counter: tuple[int, int, int, int], key: tuple[int, int]
) -> None:
    """numpy adds one to the counter before it draws."""
    before = np.array([counter[0] - 1, *counter[1:]], dtype=np.uint64)
    theirs = np.random.Philox(key=np.array(key, np.uint64), counter=before).random_raw(4)
    ours = [int(word[0]) for word in draws.philox(counter, key)]
    assert ours == theirs.tolist()


def test_words_are_philox_at_index_stream_and_block() -> None:
    purpose = int.from_bytes(hashlib.sha256(b"where the mark lies").digest()[:8], "big")
    got = draws.words(9, "where the mark lies", np.array([5, 70000]), stream=3, count=6)
    for row, index in enumerate((5, 70000)):
        blocks = [draws.philox((index, 3, block, 0), (9, purpose)) for block in (0, 1)]
        whole = [int(word[0]) for block in blocks for word in block]
        assert got[row].tolist() == whole[:6]


def test_uniforms_are_those_of_numpy() -> None:
    """Generator.random makes doubles from raw words in the same way."""
    key = np.array([7, draws.purpose_word("size")], dtype=np.uint64)
    theirs = np.random.Generator(np.random.Philox(key=key, counter=[10, 0, 0, 0])).random(4)
    ours = draws.uniforms(7, "size", np.array([11]), count=4)[0]
    assert ours.tolist() == theirs.tolist()


def test_more_words_never_change_the_first_ones() -> None:
    few = draws.words(1, "x", np.arange(9), count=3)
    many = draws.words(1, "x", np.arange(9), count=70)
    assert few.tobytes() == np.ascontiguousarray(many[:, :3]).tobytes()


def test_an_index_gives_the_same_words_alone_and_in_a_long_row() -> None:
    row = draws.words(1, "x", np.arange(9000), count=5)
    alone = draws.words(1, "x", np.array([8191]), count=5)
    assert alone.tobytes() == row[8191:8192].tobytes()


@pytest.mark.parametrize(
    "other",
    [
        draws.words(2, "x", np.arange(50)),
        draws.words(1, "y", np.arange(50)),
        draws.words(1, "x", np.arange(50), stream=1),
        draws.words(1, "x", np.arange(50) + 50),
    ],
    ids=["seed", "purpose", "stream", "index"],
)
def test_each_part_of_the_address_matters(other: np.ndarray) -> None:
    assert not np.intersect1d(draws.words(1, "x", np.arange(50)), other).size


def test_normals_have_mean_0_variance_1_and_the_kurtosis_of_four_uniforms() -> None:
    z = draws.normals(3, "tremor", np.arange(10000), count=4).ravel()
    assert abs(z.mean()) < MEAN_OF_NORMALS
    assert abs((z * z).mean() - 1) < VARIANCE_OF_NORMALS
    assert abs((z**4).mean() - 3 + 0.3) < KURTOSIS_OF_NORMALS


def test_normals_of_the_least_and_greatest_word_are_the_stated_bounds() -> None:
    low, high = draws.to_normal(np.array([0, 2**64 - 1], dtype=np.uint64))
    assert low == -high
    # Four times the half range of a uniform, over its deviation times two: 2 * sqrt(3).
    assert high == pytest.approx(2 * 3**0.5, abs=1e-4)


def test_uniforms_stay_below_one() -> None:
    low, high = draws.to_uniform(np.array([0, 2**64 - 1], dtype=np.uint64))
    assert (low, high) == (0.0, 1 - 2.0**-53)
