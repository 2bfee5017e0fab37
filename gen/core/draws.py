"""Random numbers that have an address instead of a history.

Every draw is a pure function of (seed, purpose, index, stream, place), so any
glyph of any cell can be made alone, in any order and on any machine. The words
come from Philox4x64-10, written here in whole-number numpy so that no library
stream can change under a stored result.

References
----------
J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers: as
easy as 1, 2, 3", SC'11 (2011). Known answers: file kat_vectors of Random123.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Words = NDArray[np.uint64]
Real = NDArray[np.float64]

ROUNDS = 10
# Multipliers and Weyl increments of Philox4x64 (Salmon et al., table 2 and section 3.3).
_MULTIPLIERS = (0xD2E7470EE14C6C93, 0xCA5A826395121157)
_WEYL = (0x9E3779B97F4A7C15, 0xBB67AE8584CAA73B)
_MASK64 = (1 << 64) - 1
_LOW = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)
# Blocks worked on at once: the dozen scratch arrays of a round then stay in cache.
_BLOCKS_AT_ONCE = 4096


def _product(x: Words, multiplier: int) -> tuple[Words, Words]:
    """High and low words of the 128-bit product, from 32-bit halves."""
    m_low, m_high = np.uint64(multiplier & 0xFFFFFFFF), np.uint64(multiplier >> 32)
    x_low, x_high = x & _LOW, x >> _HALF
    middle = x_high * m_low
    middle += (x_low * m_low) >> _HALF
    x_low *= m_high
    x_low += middle & _LOW
    x_high *= m_high
    x_high += middle >> _HALF
    x_high += x_low >> _HALF
    return x_high, x * np.uint64(multiplier)


def philox(counter: tuple[Any, Any, Any, Any], key: tuple[int, int]) -> tuple[Words, ...]:
    """Four random words for each counter: the bare bijection, Philox4x64-10.

    Parameters
    ----------
    counter
        Four words, each an ndarray of uint64 or a whole number; they broadcast.
    key
        Two words, as whole numbers from 0 to 2**64 - 1.

    Returns
    -------
    tuple of four ndarray, uint64.

    Examples
    --------
    >>> [f"{int(word[0]):016x}" for word in philox((0, 0, 0, 0), (0, 0))]
    ['16554d9eca36314c', 'db20fe9d672d0fdc', 'd7e772cee186176b', '7e68b68aec7ba23b']
    """
    a, b, c, d = np.broadcast_arrays(*(np.asarray(word, dtype=np.uint64) for word in counter))
    # Whole-number arithmetic on arrays wraps silently; on scalars it warns.
    a, b, c, d = (np.atleast_1d(word) for word in (a, b, c, d))
    first, second = key
    for _ in range(ROUNDS):
        high_a, low_a = _product(a, _MULTIPLIERS[0])
        high_c, low_c = _product(c, _MULTIPLIERS[1])
        high_c ^= b
        high_c ^= np.uint64(first)
        high_a ^= d
        high_a ^= np.uint64(second)
        a, b, c, d = high_c, low_c, high_a, low_a
        first, second = (first + _WEYL[0]) & _MASK64, (second + _WEYL[1]) & _MASK64
    return a, b, c, d


@lru_cache(maxsize=1024)
def purpose_word(purpose: str) -> int:
    """The key word of a purpose: the first 8 bytes of its SHA-256, big end first."""
    return int.from_bytes(hashlib.sha256(purpose.encode("utf-8")).digest()[:8], "big")


def words(
    seed: int, purpose: str, index: NDArray[Any], *, stream: int = 0, count: int = 1
) -> Words:
    """Random words for each index.

    Parameters
    ----------
    seed
        Any whole number; its low 64 bits count.
    purpose
        What the draws are for; other purposes give unrelated words.
    index
        ndarray of shape (n,), whole numbers: which glyph, writer, image.
    stream
        A second address, for instance which condition.
    count
        Words for each index. Asking for more never changes the first ones.

    Returns
    -------
    ndarray of shape (n, count), uint64.

    Examples
    --------
    >>> some = words(7, "tremor", np.arange(5), count=3)
    >>> bool((some[2:3] == words(7, "tremor", np.array([2]), count=3)).all())
    True
    """
    who = np.asarray(index).astype(np.uint64).reshape(-1)
    blocks = -(-count // 4)
    key = (seed & _MASK64, purpose_word(purpose))
    out = np.empty((len(who), blocks, 4), dtype=np.uint64)
    block = np.arange(blocks, dtype=np.uint64)[None, :]
    step = max(1, _BLOCKS_AT_ONCE // max(1, blocks))
    for start in range(0, len(who), step):
        part = slice(start, start + step)
        counter = (who[part, None], np.uint64(stream & _MASK64), block, np.uint64(0))
        for place, word in enumerate(philox(counter, key)):
            out[part, :, place] = word
    return out.reshape(len(who), blocks * 4)[:, :count]


def uniforms(
    seed: int, purpose: str, index: NDArray[Any], *, stream: int = 0, count: int = 1
) -> Real:
    """Uniform deviates in [0, 1), multiples of 2**-53, one a word.

    Parameters are those of `words`.

    Returns
    -------
    ndarray of shape (n, count), float64.

    Examples
    --------
    >>> float(uniforms(0, "size", np.array([4]))[0, 0]) < 1.0
    True
    """
    return to_uniform(words(seed, purpose, index, stream=stream, count=count))


def normals(
    seed: int, purpose: str, index: NDArray[Any], *, stream: int = 0, count: int = 1
) -> Real:
    """Deviates with mean 0 and variance 1, nearly normal and bounded, one a word.

    Each is the sum of the four 16-bit quarters of a word (four uniforms: an
    Irwin-Hall sum), centred and scaled. The sum is of whole numbers, so it is
    exact in any order; the result never leaves -3.4642 to 3.4642 and its excess
    kurtosis is -0.3. Parameters are those of `words`.

    Returns
    -------
    ndarray of shape (n, count), float64.

    Examples
    --------
    >>> bool((abs(normals(0, "size", np.arange(100))) < 3.4642).all())
    True
    """
    return to_normal(words(seed, purpose, index, stream=stream, count=count))


def to_uniform(some: Words) -> Real:
    """Uniform deviates in [0, 1) from words: the upper 53 bits times 2**-53."""
    return (some >> np.uint64(11)).astype(np.float64) * 2.0**-53


# Four quarters, each uniform on 0..65535: variance (65536**2 - 1) / 12 apiece.
_QUARTER_SUM_MEAN = 4 * 65535 / 2
_QUARTER_SUM_DEVIATION = float(np.sqrt(4 * (65536**2 - 1) / 12))


def to_normal(some: Words) -> Real:
    """Bounded, nearly normal deviates from words; `normals` says how."""
    quarter = np.uint64(0xFFFF)
    total = some & quarter
    for shift in (16, 32, 48):
        total += (some >> np.uint64(shift)) & quarter
    return (total.astype(np.float64) - _QUARTER_SUM_MEAN) / _QUARTER_SUM_DEVIATION
