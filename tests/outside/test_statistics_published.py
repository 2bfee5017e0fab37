"""The statistics give the digits that papers and books printed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from gen.evaluate.answers import Answers
from gen.evaluate.bootstrap import Resampled
from gen.evaluate.confidence import calibration
from gen.evaluate.intervals import clopper_pearson, wilson_score
from gen.evaluate.multiple import holm
from gen.evaluate.paired import mcnemar_exact, newcombe_paired
from gen.evaluate.percentiles import percentile
from gen.evaluate.results import Calibration
from gen.evaluate.sheet import Record, Row
from gen.evaluate.summary import area, crossings

PRINTED = 5e-5 + 1e-9  # half of the fourth decimal, the last that the tables print
RECOMPUTED = 6e-11  # ten decimals were kept of the recomputed limits
SIX_DECIMALS = 6e-7  # six decimals were kept
SINGLE = 3e-7  # shares are held in single precision: 24 bits, errors of about 1e-7 a sum


# R. G. Newcombe, Statist. Med. 17 (1998) 857-872, Table I (p. 861), method 3; the digits after
# the fourth were recomputed with statsmodels 0.15 and scipy 1.17, which agree.
@pytest.mark.parametrize(
    ("correct", "n", "printed", "longer"),
    [
        (81, 263, (0.2553, 0.3662), (0.2552885199, 0.3662095770)),
        (15, 148, (0.0624, 0.1605), (0.0623863995, 0.1604872417)),
        (0, 20, (0.0000, 0.1611), (0.0, 0.1611251581)),
        (1, 29, (0.0061, 0.1718), (0.0061132143, 0.1717552188)),
    ],
)
def test_wilson_gives_the_limits_of_newcombes_table(
    correct: int, n: int, printed: tuple[float, float], longer: tuple[float, float]
) -> None:
    got = np.array(wilson_score(correct, n))
    np.testing.assert_allclose(got, printed, rtol=0, atol=PRINTED)
    np.testing.assert_allclose(got, longer, rtol=0, atol=RECOMPUTED)


# The same table, method 5; longer digits from statsmodels 0.15 and scipy 1.17, which agree.
@pytest.mark.parametrize(
    ("correct", "n", "printed", "longer"),
    [
        (81, 263, (0.2527, 0.3676), (0.2527367456, 0.3676219226)),
        (15, 148, (0.0578, 0.1617), (0.0578440101, 0.1616504903)),
        (0, 20, (0.0000, 0.1684), (0.0, 0.1684334710)),
        (1, 29, (0.0009, 0.1776), (0.0008726469, 0.1776442955)),
    ],
)
def test_clopper_pearson_gives_the_limits_of_newcombes_table(
    correct: int, n: int, printed: tuple[float, float], longer: tuple[float, float]
) -> None:
    got = np.array(clopper_pearson(correct, n))
    np.testing.assert_allclose(got, printed, rtol=0, atol=PRINTED)
    np.testing.assert_allclose(got, longer, rtol=0, atol=RECOMPUTED)


# R. G. Newcombe, Statist. Med. 17 (1998) 2635-2650, Table III, method 10; counts are right in
# both, in the first only, in the second only, in neither. The row 1,97,1,1 is left out: its
# printed lower limit (0.8736) is cut, not rounded (0.873672).
TABLE_III = [
    ((36, 12, 2, 0), (0.0569, 0.3404), (0.056930, 0.340428)),
    ((20, 12, 2, 16), (0.0562, 0.3292), (0.056156, 0.329207)),
    ((18, 12, 2, 18), (0.0562, 0.3290), (0.056172, 0.328976)),
    ((36, 14, 0, 0), (0.1528, 0.4167), (0.152840, 0.416651)),
    ((35, 14, 0, 1), (0.1461, 0.4175), (0.146074, 0.417462)),
    ((18, 14, 0, 18), (0.1441, 0.3963), (0.144083, 0.396325)),
    ((2, 97, 1, 0), (0.8721, 0.9854), (0.872116, 0.985366)),
    ((0, 29, 1, 0), (0.6666, 0.9882), (0.666592, 0.988183)),
    ((2, 98, 0, 0), (0.9178, 0.9945), (0.917793, 0.994498)),
    ((1, 98, 0, 1), (0.9171, 0.9916), (0.917087, 0.991643)),
    ((0, 30, 0, 0), (0.8395, 1.0000), (0.839468, 1.000000)),
    ((54, 0, 0, 0), (-0.0664, 0.0664), (-0.066414, 0.066414)),
    ((53, 0, 0, 1), (-0.0729, 0.0729), (-0.072938, 0.072938)),
    ((30, 0, 0, 24), (-0.0358, 0.0358), (-0.035838, 0.035838)),
    ((29, 0, 0, 25), (-0.0354, 0.0354), (-0.035413, 0.035413)),
    ((28, 0, 0, 26), (-0.0352, 0.0352), (-0.035156, 0.035156)),
    ((27, 0, 0, 27), (-0.0351, 0.0351), (-0.035070, 0.035070)),
]


@pytest.mark.parametrize(("counts", "printed", "longer"), TABLE_III)
def test_the_paired_interval_gives_the_limits_of_newcombes_table(
    counts: tuple[int, int, int, int], printed: tuple[float, float], longer: tuple[float, float]
) -> None:
    got = np.array(newcombe_paired(*counts))
    np.testing.assert_allclose(got, printed, rtol=0, atol=PRINTED)
    np.testing.assert_allclose(got, longer, rtol=0, atol=SIX_DECIMALS)


@pytest.mark.parametrize(
    ("counts", "limits"),
    [
        # Ratings of a prime minister, A. Agresti, Categorical Data Analysis (1990) p. 350.
        ((794, 150, 86, 570), (0.0212304240, 0.0587038729)),
        # D. G. Altman et al., Statistics with Confidence (2000), Table 6.2, p. 52.
        ((14, 5, 0, 22), (0.0114832414, 0.2264926844)),
        # Bentur (2009), in M. W. Fagerland et al., Statistical Analysis of Contingency Tables
        # (2017), ch. 8.
        ((1, 1, 7, 12), (-0.5069202267, -0.0255591242)),
    ],
)
def test_the_paired_interval_of_textbook_data_agrees_with_the_recomputed_limits(
    counts: tuple[int, int, int, int], limits: tuple[float, float]
) -> None:
    np.testing.assert_allclose(newcombe_paired(*counts), limits, rtol=0, atol=RECOMPUTED)


@pytest.mark.parametrize(
    ("only_first", "only_second", "p"),
    [
        (150, 86, 3.7159361395713866e-05),  # Agresti (1990) p. 350; exact p by scipy's binomtest
        (5, 0, 2 / 32),  # Altman et al. (2000) Table 6.2
        (1, 7, 9 / 128),  # Bentur (2009), in Fagerland et al. (2017)
        (1, 8, 20 / 512),  # by hand: 2 (1 + 9) / 2**9
        (10, 0, 2 / 1024),  # by hand
        (8, 2, 0.109375),  # by hand: 2 (1 + 10 + 45) / 2**10
        (0, 0, 1.0),  # nothing disagrees
    ],
)
def test_mcnemars_exact_p_is_that_of_the_books(only_first: int, only_second: int, p: float) -> None:
    assert float(mcnemar_exact(only_first, only_second)) == pytest.approx(p, rel=1e-10)


# Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289-300, section 4.
P_1995 = [
    [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459],
    [0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0],
]


@pytest.mark.parametrize(
    ("p_values", "adjusted"),
    [
        # S. Holm, Scand. J. Stat. 6 (1979) 65-70, the procedure; values by hand.
        ([0.01, 0.04, 0.03, 0.005], [0.03, 0.06, 0.06, 0.02]),
        # Recomputed with statsmodels 0.15 (multipletests, "holm").
        (
            P_1995[0] + P_1995[1],
            [0.0015, 0.0056, 0.0247, 0.114, 0.2211, 0.278, 0.278, 0.278, 0.3213] + [1.0] * 6,
        ),
        # The third alone would be 0.044, under the one before it.
        ([0.01, 0.02, 0.022, 0.09], [0.04, 0.06, 0.06, 0.09]),
        # The maximum runs over all before, not over the last one only.
        ([0.0108, 0.0007, 0.0136, 0.0003, 0.0203], [0.0324, 0.0028, 0.0324, 0.0015, 0.0324]),
    ],
)
def test_holms_adjusted_p_is_as_published(p_values: list[float], adjusted: list[float]) -> None:
    np.testing.assert_allclose(holm(p_values), adjusted, rtol=0, atol=1e-12)


def test_the_comparison_tells_wilson_from_clopper_and_pearson() -> None:
    assert abs(float(wilson_score(81, 263)[1]) - 0.3676) > PRINTED


def judged(shares: list[list[float]], true: list[int], *, bins: int = 15) -> Calibration:
    """What is said of probabilities (N, C) for classes (N,)."""
    given, labels = np.array(shares), np.array(true)
    said = given.argmax(axis=1)
    answers = Answers(said, given.max(axis=1), given)
    record = Record.of(answers, labels, np.zeros(len(labels)))
    assert record.shares is not None
    found = calibration(Row(record.answered, said == labels, *record.shares, 0.0), bins=bins)
    assert found is not None
    return found


def two_classes(hit: list[float]) -> list[list[float]]:
    """Probabilities of the second class, as those of both."""
    return [[1 - p, p] for p in hit]


# Brier's score over both classes is twice the one that counts the event alone.
@pytest.mark.parametrize(
    ("p", "y", "event_alone"),
    [
        # scikit-learn's documentation of brier_score_loss prints 0.037 (0.0375 by hand).
        ([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0], 0.0375),
        # Single forecasts as encyclopaedias have them: 0.7 and a hit 0.09, 0.3 and a hit 0.49.
        ([0.7], [1], 0.09),
        ([0.3], [1], 0.49),
        ([0.5], [1], 0.25),
        ([0.8], [1], 0.04),
        # Ten cases, recomputed with scikit-learn 1.9 and by hand.
        (
            [0.1, 0.2, 0.25, 0.3, 0.45, 0.55, 0.6, 0.75, 0.8, 0.95],
            [0, 0, 1, 0, 1, 1, 0, 1, 1, 1],
            0.16725,
        ),
        # A. H. Murphy, J. Appl. Meteorol. 12 (1973) 595-600: reliability - resolution +
        # uncertainty, 0 - 0.04 + 0.24 and 0.02 - 0.04 + 0.24.
        ([0.2] * 5 + [0.6] * 5, [1, 0, 0, 0, 0, 1, 1, 1, 0, 0], 0.20),
        ([0.2] * 5 + [0.8] * 5, [1, 0, 0, 0, 0, 1, 1, 1, 0, 0], 0.22),
    ],
)
def test_brier_scores_are_as_published(p: list[float], y: list[int], event_alone: float) -> None:
    assert judged(two_classes(p), y).brier == pytest.approx(2 * event_alone, abs=SINGLE)


def test_brier_score_and_log_loss_of_three_classes() -> None:
    # The form of G. W. Brier, Mon. Weather Rev. 78 (1950) 1-3, summed over classes; 0.43 by hand,
    # log loss recomputed with scikit-learn 1.9.
    given = [[0.7, 0.2, 0.1], [0.1, 0.8, 0.1], [0.3, 0.3, 0.4], [0.2, 0.5, 0.3]]
    found = judged(given, [0, 1, 1, 2])
    assert found.brier == pytest.approx(0.43, abs=SINGLE)
    assert found.log_loss == pytest.approx(0.7469410259762, abs=SINGLE)


@pytest.mark.parametrize(
    ("p", "y", "loss"),
    [
        # scikit-learn's documentation of log_loss prints 0.21616 (from memory); recomputed.
        ([0.9, 0.1, 0.2, 0.65], [1, 0, 0, 1], 0.21616187468057912),
        # The ten cases above.
        (
            [0.1, 0.2, 0.25, 0.3, 0.45, 0.55, 0.6, 0.75, 0.8, 0.95],
            [0, 0, 1, 0, 1, 1, 0, 1, 1, 1],
            0.49462277190317,
        ),
    ],
)
def test_log_losses_are_as_published(p: list[float], y: list[int], loss: float) -> None:
    assert judged(two_classes(p), y).log_loss == pytest.approx(loss, abs=SINGLE)


TEN_SURE = [0.95, 0.92, 0.85, 0.84, 0.75, 0.72, 0.65, 0.61, 0.55, 0.52]
NINE_SURE = [0.78, 0.64, 0.92, 0.58, 0.51, 0.85, 0.70, 0.63, 0.83]


# C. Guo, G. Pleiss, Y. Sun and K. Q. Weinberger, ICML (2017), equation 3, bins open below and
# closed above. Made-up answers; errors by hand with fractions.
@pytest.mark.parametrize(
    ("sure", "right", "bins", "error", "held"),
    [
        ([0.9] * 5 + [0.6] * 5, [1, 1, 1, 1, 0, 1, 1, 0, 0, 0], 10, 0.15, [5, 5]),
        (TEN_SURE, [1, 1, 1, 0, 1, 0, 1, 1, 0, 1], 5, 0.09, [2, 4, 4]),
        (TEN_SURE, [1, 1, 1, 0, 1, 0, 1, 1, 0, 1], 10, 0.21, [2, 2, 2, 2, 2]),
        # An example that many tutorials copy: 47 / 450.
        (NINE_SURE, [1, 1, 0, 1, 0, 1, 1, 0, 1], 5, 47 / 450, [2, 4, 3]),
    ],
)
def test_expected_calibration_errors_by_hand(
    sure: list[float], right: list[int], bins: int, error: float, held: list[int]
) -> None:
    # The first class is answered throughout, and true where that is right.
    found = judged([[p, 1 - p] for p in sure], [1 - one for one in right], bins=bins)
    assert [one.n for one in found.bins] == held
    assert found.ece == pytest.approx(error, abs=SINGLE)


# Trapezoid rule of four panels, textbook values.
@pytest.mark.parametrize(
    ("amounts", "values", "integral"),
    [
        (np.linspace(0, 1, 5), np.linspace(0, 1, 5) ** 2, 0.34375),
        (np.linspace(0, np.pi, 5), np.sin(np.linspace(0, np.pi, 5)), 1.8961188979370398),
        # An accuracy curve, by fractions.
        (np.arange(8.0), np.array([1, 0.95, 0.97, 0.8, 0.85, 0.6, 0.62, 0.3]), 5.44),
    ],
)
def test_areas_are_those_of_the_trapezoid_rule(
    amounts: np.ndarray, values: np.ndarray, integral: float
) -> None:
    spread = amounts[-1] - amounts[0]
    assert area(amounts, values[None])[0] * spread == pytest.approx(integral, abs=1e-12)


# Levels at which a falling curve meets a line, by fractions.
@pytest.mark.parametrize(("line", "level"), [(0.9, 22 / 9), (0.75, 187 / 43), (0.5, 197 / 31)])
def test_crossings_of_a_known_curve(line: float, level: float) -> None:
    known = np.array([[1, 0.96, 0.96, 0.825, 0.825, 0.61, 0.61, 0.3]])
    assert crossings(np.arange(8.0), known, line)[0] == pytest.approx(level, abs=1e-12)


# The bootstrap's interval of a share has binomial quantiles for ends when there are endless
# draws, and covers the truth as often as the binomial law says: summed with scipy 1.17.
@pytest.mark.parametrize(
    ("n", "p", "coverage"), [(20, 0.9, 0.8760), (50, 0.97, 0.7782), (30, 0.5, 0.9572)]
)
def test_the_percentile_bootstrap_covers_as_often_as_it_is_known_to(
    n: int, p: float, coverage: float
) -> None:
    outcomes = np.arange(n) < np.arange(n + 1)[:, None]  # 0, 1, ... n glyphs read rightly
    drawn = Resampled.of(n, draws=100_000)
    shares = drawn.accuracy(outcomes)
    covered = 0.0
    for k in range(n + 1):
        found = percentile(shares[:, k], k / n, drawn.method)
        assert found.low is not None
        assert found.high is not None
        if found.low - 1e-12 <= p <= found.high + 1e-12:
            covered += math.comb(n, k) * p**k * (1 - p) ** (n - k)
    assert covered == pytest.approx(coverage, abs=5e-5)
