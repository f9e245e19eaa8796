"""Failed sign-ins, counted so that guessing a password takes forever."""

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class FailedSignIn(models.Model):
    """How often signing in failed: of a name from an address, from an address, and from how many of them for a name."""

    key = models.CharField(max_length=200, unique=True, help_text="name:… or address:…")
    count = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)


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
        app_label = "data"  # its table has stood there since the first version
        ordering = ("-created", "-pk")

    def __str__(self) -> str:
        return self.name
