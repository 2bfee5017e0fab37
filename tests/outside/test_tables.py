"""Tables that others have written: a published one as it is, and MNIST by other programs.

Small digits: E. Alpaydin, C. Kaynak, "Optical recognition of handwritten digits", UCI
Machine Learning Repository (1998), as scikit-learn ships them: a gzipped table, 64 counts
of 0 to 16 and the digit in each row.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sklearn.datasets

from gen.glyphs.load import load_glyphs

mnist = pytest.mark.open_data


def test_a_published_table_is_read_as_its_own_library_reads_it() -> None:
    path = Path(sklearn.datasets.__file__).parent / "data" / "digits.csv.gz"
    if not path.is_file():
        pytest.skip("this release of scikit-learn keeps its digits elsewhere")
    glyphs = load_glyphs(path)
    expected = sklearn.datasets.load_digits()
    np.testing.assert_array_equal(glyphs.labels, expected.target)
    np.testing.assert_array_equal(glyphs.images, np.rint(expected.images * 255 / 16))
    # Class counts of the part that is shipped, as scikit-learn's description has 1797 in all.
    assert glyphs.counts.tolist() == [178, 182, 177, 183, 181, 182, 181, 179, 174, 180]
    assert "no header, label last" in glyphs.provenance.notes[0]
    assert glyphs.provenance.values == "0..16"


@mnist
@pytest.mark.parametrize("place", ["first", "last"])
@pytest.mark.parametrize("how", ["csv, header", "csv, tabs", "savetxt", "savetxt, fractions"])
def test_digits_written_as_a_table_by_another_program_are_the_same_glyphs(
    open_digits: Any, tmp_path: Path, place: str, how: str
) -> None:
    digits = open_digits.test.take(np.arange(600))
    flat = digits.images.reshape(600, -1)
    whole = [digits.labels[:, None], flat][:: 1 if place == "first" else -1]
    path = tmp_path / "digits.csv"
    if how.startswith("savetxt"):
        share = 255 if how.endswith("fractions") else 1
        whole = [part / (share if part is flat else 1) for part in whole]
        np.savetxt(path, np.hstack(whole), delimiter=",", fmt="%.7g")
    else:
        header = [f"p{n}" for n in range(784)]
        header.insert(0 if place == "first" else 784, "label")
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, delimiter="\t" if how.endswith("tabs") else ",")
            if how.endswith("header"):
                writer.writerow(header)
            writer.writerows(np.hstack(whole).tolist())
    glyphs = load_glyphs(path)
    np.testing.assert_array_equal(glyphs.images, digits.images)
    np.testing.assert_array_equal(glyphs.labels, digits.labels)
    assert f"label {place}" in glyphs.provenance.notes[0]
