"""The form's slider, run in Node."""

from __future__ import annotations


def test_slider_passes_its_own_tests(passed):
    assert passed("slider.test.mjs") == 5
