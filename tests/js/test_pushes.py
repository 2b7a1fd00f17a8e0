"""Looks under torque as the page asks for them, run in Node."""

from __future__ import annotations


def test_pushes_pass_their_own_tests(passed):
    assert passed("pushes.test.mjs") == 4
