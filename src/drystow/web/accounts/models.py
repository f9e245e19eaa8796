"""Failed sign-ins, counted so that guessing a password takes forever."""

from django.db import models


class FailedSignIn(models.Model):
    """How often signing in failed: of a name from an address, from an address, and from how many of them for a name."""

    key = models.CharField(max_length=200, unique=True, help_text="name:… or address:…")
    count = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)
