"""Tokens with which other programs come in, and the mark of the last restore."""

from django.db import models


class RestoreMark(models.Model):
    """The one row that a restore changes together with all others: so it is known whether its transaction was kept."""

    folder = models.CharField(
        max_length=80, blank=True, help_text="Name of the folder that it unpacked its photos into."
    )
