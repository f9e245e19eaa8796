"""Sureness is told in three steps, and a chance is never called more than it is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drystow.evidence.dryness.words import ALMOST_CERTAIN, LIKELY, verdict_words


def _said(chance: float) -> str:
    return str(verdict_words("nearly", chance, (0.02, 0.035, 0.06), 0.04, 0.0, 7200.0))


@given(st.floats(0.0, 0.989))
def test_only_eight_in_ten_or_more_is_called_likely(chance: float) -> None:
    said = _said(chance)
    assert said.startswith("Can't tell yet") == (chance < LIKELY)
    assert said.startswith("Likely dry") == (LIKELY <= chance < ALMOST_CERTAIN)
    assert said.startswith("Almost certainly dry") == (chance >= ALMOST_CERTAIN)


@pytest.mark.parametrize("chance", [0.5, 0.85, 0.97])
def test_the_chance_and_the_range_stand_beside_it(chance: float) -> None:
    said = _said(chance)
    assert "the chance is " in said
    assert "It may be 2.0" in said
    assert "Keep drying and weigh again in two hours." in said
