"""Whatever comes back from a model is read rightly or refused; nothing else happens."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from gen.core.errors import ModelError
from gen.evaluate.answers import read, settle
from gen.evaluate.arrays import to_array

N = 4
CLASSES = ("0", "1", "x")
scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 5),
    st.integers(-(2**80), 2**80),
    st.floats(),
    st.sampled_from(CLASSES),
    st.text(max_size=3),
    st.binary(max_size=3),
    st.complex_numbers(),
)
nested = st.recursive(scalars, lambda inner: st.lists(inner, max_size=5), max_leaves=20)
kinds = st.one_of(
    hnp.integer_dtypes(),
    hnp.unsigned_integer_dtypes(),
    hnp.floating_dtypes(sizes=(16, 32, 64)),
    hnp.boolean_dtypes(),
    hnp.byte_string_dtypes(max_len=3),
    hnp.unicode_string_dtypes(max_len=3),
    hnp.complex_number_dtypes(),
    hnp.datetime64_dtypes(),
)
shapes = st.sampled_from([(), (N,), (N, 1), (N, 3), (3, N), (N, 3, 1), (N, 2, 2), (0,), (N, 0)])
arrays = shapes.flatmap(lambda shape: hnp.arrays(kinds, shape))
own = st.one_of(st.none(), st.lists(st.sampled_from(["0", "1", "x", 0, 1, 2]), max_size=4))


@settings(deadline=None)
@given(st.one_of(nested, arrays, st.lists(arrays, max_size=5)), own)
def test_anything_at_all_is_answers_or_a_model_error(raw: Any, own: Any) -> None:
    try:
        array = to_array(raw, N)
        answers = read(array, settle(array, CLASSES, own))
    except ModelError as error:
        assert str(error)
        return
    assert answers.labels.shape == (N,)
    assert answers.labels.dtype == np.intp
    assert ((answers.labels >= 0) & (answers.labels < len(CLASSES))).all()
    if answers.confidence is not None:
        assert answers.probabilities is not None
        assert answers.probabilities.shape == (N, len(CLASSES))
        assert ((answers.confidence > 0) & (answers.confidence <= 1)).all()
