"""What is kept of what a dryer's batches taught, and whether its forecasts use it."""

import hashlib

from drystow.evidence.learning.learned import calibration, from_json
from drystow.machine.sampling import UNCALIBRATED, Calibration
from drystow.web.dryers.models import Dryer, Learned

FEWEST = 3
"""Batches from which on forecasts use what they taught. Source: drystow-default."""


def calibration_for(dryer: Dryer) -> Calibration:
    """Return what the forecasts of a dryer's batches know: nothing before the third one, or when it is switched off."""
    row = learned_row(dryer) if dryer.use_taught else None
    if row is None or row.machine != machine_print(dryer):
        return UNCALIBRATED
    learned = from_json(row.state)
    return calibration(learned) if learned.batches >= FEWEST else UNCALIBRATED


def learned_row(dryer: Dryer) -> Learned | None:
    """Return what is kept of a dryer, None when nothing is that can be read."""
    row: Learned | None = getattr(dryer, "learned", None)
    return None if row is None or row.unreadable else row


def machine_print(dryer: Dryer) -> str:
    """Return a hash of the numbers that what was learned is measured against."""
    return hashlib.sha256(repr((dryer.profile, sorted(dryer.numbers.items()))).encode()).hexdigest()
