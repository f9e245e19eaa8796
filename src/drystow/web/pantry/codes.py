"""Short codes of packages: easy to read aloud and to type, hard to guess, never twice."""

import secrets

from django.core.exceptions import ValidationError
from django.db import transaction

from drystow.web.kit import records
from drystow.web.pantry.models import Package

ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Letters and digits that nobody takes for one another: no 0 and O, no 1, I and L, no U beside V."""

LENGTH = 6
TRIES = 50


def new_code() -> str:
    """Return a random code."""
    return "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))


def create_package(package: Package, *, who: str, words: str) -> Package:
    """Save a new package under a code that no other has, also when somebody takes the same one at the same moment."""
    for _ in range(TRIES):
        package.code = new_code()
        try:
            with transaction.atomic():
                return records.create(package, who=who, words=words)
        except ValidationError as problem:
            if set(problem.message_dict) != {"code"}:
                raise
            package.pk = None
    raise RuntimeError(f"no free package code in {TRIES} tries; there are {len(ALPHABET) ** LENGTH} of them")
