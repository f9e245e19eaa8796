"""What is kept of what a dryer's batches taught, and whether its forecasts use it."""

import hashlib

from drystow.evidence.learning.learned import from_json, knowledge
from drystow.machine.sampling import NOTHING_KNOWN, Knowledge
from drystow.web.dryers.models import Dryer, Learned

FEWEST = 3
"""Batches from which on forecasts use what they taught. Source: drystow-default."""


def known_for(dryer: Dryer) -> Knowledge:
    """Return what the forecasts of a dryer's batches know: nothing before the third one, or when it is switched off."""
    row = learned_row(dryer) if dryer.use_taught else None
    if row is None or row.machine != machine_print(dryer):
        return NOTHING_KNOWN
    learned = from_json(row.state)
    return knowledge(learned) if learned.batches >= FEWEST else NOTHING_KNOWN


def learned_row(dryer: Dryer) -> Learned | None:
    """Return what is kept of a dryer, None when nothing is that can be read."""
    row: Learned | None = getattr(dryer, "learned", None)
    return None if row is None or row.unreadable else row


def machine_print(dryer: Dryer) -> str:
    """Return a hash of the numbers that what was learned is measured against."""
    return hashlib.sha256(repr((dryer.profile, sorted(dryer.numbers.items()))).encode()).hexdigest()
