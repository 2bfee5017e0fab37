"""The same picture twice, found without comparing each with each."""

from __future__ import annotations

import numpy as np

from gen.diagnose.duplicates import across, near_duplicates
from tests.diagnose.planted import clean


def test_copies_are_found_wherever_they_lie() -> None:
    images = clean().images.copy()
    images[[500, 30, 599]] = images[[2, 400, 0]]
    assert near_duplicates(images).tolist() == [[0, 599], [2, 500], [30, 400]]


def test_a_copy_that_went_through_a_lossy_file_is_found() -> None:
    import cv2

    images = clean().images.copy()
    for place in range(20):
        _, packed = cv2.imencode(".jpg", images[place], [cv2.IMWRITE_JPEG_QUALITY, 95])
        images[200 + place] = cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)
    assert near_duplicates(images).tolist() == [[i, 200 + i] for i in range(20)]


def test_many_of_one_picture_are_all_in_some_pair() -> None:
    images = clean().images.copy()
    images[100:300] = images[0]
    pairs = near_duplicates(images)
    assert set(np.unique(pairs)) == {0, *range(100, 300)}


def test_blanks_are_no_twins() -> None:
    images = clean().images.copy()
    images[:50] = 0
    assert len(near_duplicates(images)) == 0


def test_pictures_of_two_sets_are_paired_across_them_alone() -> None:
    here, there = clean().images.copy(), clean(seed=12).images.copy()
    here[7] = here[8]
    there[33] = here[20]
    assert across(here, there).tolist() == [[20, 33]]
    assert len(across(here, there[:, :20])) == 0
