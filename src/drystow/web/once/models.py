"""Writes that came with a key, and what was answered."""

from django.db import models
from django.utils import timezone


class Sent(models.Model):
    """A write and the answer to it, kept for a day; it does not travel with a backup."""

    mark = models.CharField(max_length=64, unique=True, help_text="Of the person, the address and the key.")
    content = models.CharField(max_length=64, help_text="Of all that was sent.")
    at = models.DateTimeField(default=timezone.now, db_index=True)
    status = models.PositiveSmallIntegerField(null=True, help_text="Empty while the first one is worked on.")
    headers = models.JSONField(default=dict)
    cookies = models.JSONField(default=list)
    body = models.BinaryField(null=True, help_text="Compressed; empty when it is shown only once.")
