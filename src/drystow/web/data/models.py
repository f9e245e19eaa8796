"""Tokens with which other programs come in, and the mark of the last restore."""

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class ApiToken(models.Model):
    """A key for one program; only its hash is kept, so it can be shown once and never again.

    Tokens do not travel with a backup and leave no copy in the history.
    """

    SCOPES = (("read", _("read only")), ("write", _("read and write")))

    name = models.CharField(max_length=80)
    hash = models.CharField(max_length=64, unique=True, editable=False)
    scope = models.CharField(max_length=5, choices=SCOPES, default="read")
    created = models.DateTimeField(default=timezone.now, editable=False)
    last_used = models.DateTimeField(null=True, blank=True, editable=False)
    revoked = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ("-created", "-pk")

    def __str__(self) -> str:
        return self.name


class RestoreMark(models.Model):
    """The one row that a restore changes together with all others: so it is known whether its transaction was kept."""

    folder = models.CharField(
        max_length=80, blank=True, help_text="Name of the folder that it unpacked its photos into."
    )
