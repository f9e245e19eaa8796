"""What was measured at a dryer: channels, their readings, and the ways in by which they come."""

from datetime import UTC, datetime
from uuid import uuid4

from django.db import models
from django.utils.translation import gettext as _

from drystow.web.dryers.models import Dryer
from drystow.web.kit.models import Record
from drystow.web.readings.quantities import QUANTITIES, MeasuredQuantity

NAMES = tuple((name, quantity.words) for name, quantity in QUANTITIES.items())


class Channel(Record):
    """One sensor of one dryer, from one source."""

    dryer = models.ForeignKey(Dryer, on_delete=models.PROTECT, related_name="channels")
    quantity = models.CharField(max_length=12, choices=NAMES)
    tray = models.PositiveSmallIntegerField(default=0, help_text="Tray of a product temperature; 0 for all others.")
    unit = models.CharField(max_length=8, help_text="In which the source writes; readings are kept in SI.")
    label = models.CharField(max_length=80, blank=True)
    source = models.CharField(max_length=200, help_text="Head of a column, topic, or name of a program.")

    class Meta:
        ordering = ("quantity", "tray", "pk")
        constraints = (
            models.UniqueConstraint(fields=("dryer", "quantity", "tray", "source"), name="readings_one_channel"),
        )

    def __str__(self) -> str:
        return self.label or self.words

    @property
    def of(self) -> MeasuredQuantity:
        """What it measures."""
        return QUANTITIES[self.quantity]

    @property
    def words(self) -> str:
        """What it measures and where, for people."""
        named = _(str(self.of.words))
        return _("{name}, tray {tray}").format(name=named, tray=self.tray) if self.tray else named


class Reading(models.Model):
    """One value as it came, never changed; a second one of the same moment is the same.

    The moment is a count, not a date: two million of them are read and thinned in a blink, and no zone can shift them.
    """

    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="readings", db_index=False)
    at_ms = models.BigIntegerField(help_text="Milliseconds since the start of 1970, UTC.")
    value = models.FloatField(help_text="In SI: K, Pa, W.")

    class Meta:
        constraints = (models.UniqueConstraint(fields=("channel", "at_ms"), name="readings_one_moment"),)

    @property
    def at(self) -> datetime:
        """When it was measured."""
        return datetime.fromtimestamp(self.at_ms / 1000, UTC)


class FileWay(models.Model):
    """How a file with this head was read the last time."""

    head = models.CharField(max_length=64, unique=True, help_text="Hash of the head of the columns.")
    choices = models.JSONField(default=dict)
    used_at = models.DateTimeField(auto_now=True)


def _new_client() -> str:
    return f"drystow-{uuid4().hex[:12]}"


class Broker(Record):
    """Where live readings come from; there is at most one row. The password stays in the environment."""

    host = models.CharField(max_length=200, default="localhost")
    port = models.PositiveIntegerField(default=1883)
    tls = models.BooleanField(default=False)
    user = models.CharField(max_length=80, blank=True)
    topic = models.CharField(max_length=200, default="drystow/{dryer}/{quantity}")
    client = models.CharField(max_length=40, default=_new_client, help_text="Name of this house's session.")


class LiveSource(models.Model):
    """What became of the messages of one topic."""

    topic = models.CharField(max_length=200, unique=True)
    channel = models.ForeignKey(Channel, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    seen_at = models.DateTimeField()
    received = models.PositiveBigIntegerField(default=0)
    added = models.PositiveBigIntegerField(default=0)
    repeated = models.PositiveBigIntegerField(default=0)
    refused = models.PositiveBigIntegerField(default=0)
    problem = models.CharField(max_length=400, blank=True, help_text="Why the last refused message was refused.")
    problem_said = models.JSONField(default=dict, blank=True)
    offset_ms = models.BigIntegerField(default=0, help_text="Added to the times it sends: its clock is off by this.")
    memory = models.JSONField(default=dict, blank=True, help_text="Latest delays and times, for the clock.")

    class Meta:
        ordering = ("topic",)

    @property
    def clock(self) -> str:
        """What is told of its clock, nothing when it is right."""
        seconds = round(self.offset_ms / 1000)
        if not seconds:
            return ""
        told = _("clock {seconds} s slow, corrected") if seconds > 0 else _("clock {seconds} s fast, corrected")
        return told.format(seconds=abs(seconds))
