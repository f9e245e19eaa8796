"""What every record has, the history of all changes, and the settings of the kitchen."""

from typing import Any, ClassVar, Self, TypeVar

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

Row = TypeVar("Row", bound=models.Model)


class KeptQuerySet(models.QuerySet[Row]):
    """Records, with the bin left out on request."""

    def kept(self) -> Self:
        """Return the records that are not in the bin."""
        return self.filter(binned_at=None)

    def binned(self) -> Self:
        """Return the records in the bin."""
        return self.filter(binned_at__isnull=False)


class KeptManager(models.Manager[Row]):
    """Asks for records; written out, since the type checker loses what `as_manager` makes between two runs."""

    _queryset_class = KeptQuerySet

    def get_queryset(self) -> KeptQuerySet[Row]:
        """Return all records."""
        found: Any = super().get_queryset()
        records: KeptQuerySet[Row] = found
        return records

    def kept(self) -> KeptQuerySet[Row]:
        """Return the records that are not in the bin."""
        return self.get_queryset().kept()

    def binned(self) -> KeptQuerySet[Row]:
        """Return the records in the bin."""
        return self.get_queryset().binned()


class Record(models.Model):
    """A row that people edit: it counts its versions and goes to a bin before it goes away.

    Change records only through `drystow.web.kit.records`, so that the history is complete.
    """

    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)
    binned_at = models.DateTimeField(null=True, blank=True, editable=False, db_index=True)

    added_up: ClassVar[tuple[str, ...]] = ()
    """Fields that other rows add up to: writing the same value as somebody else did is not the same thing done once."""

    written: "Change | None"
    """The change by which this very object was written, None when it was the same already; unset on one only read."""

    objects: ClassVar[KeptManager[Self]] = KeptManager()

    class Meta:
        abstract = True


class Change(models.Model):
    """One change of one record: who, when, what it was and what it became."""

    ACTIONS = (
        ("create", _("created")),
        ("change", _("changed")),
        ("bin", _("moved to trash")),
        ("restore", _("restored")),
    )

    kind = models.CharField(max_length=60)
    object_id = models.PositiveBigIntegerField()
    version = models.PositiveIntegerField()
    action = models.CharField(max_length=10, choices=ACTIONS)
    at = models.DateTimeField(default=timezone.now)
    who = models.CharField(max_length=80, blank=True)
    words = models.CharField(max_length=200, blank=True)
    said = models.JSONField(default=dict, blank=True)
    """Pattern and values of `words`, to be told in any language; empty where the words are a text of their own."""
    together = models.CharField(max_length=32, blank=True, db_index=True, help_text="Same for all of one action.")
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        ordering = ("-at", "-id")
        indexes = (
            models.Index(fields=("kind", "object_id", "version")),
            # each holds a page of the history, whole or of one kind
            models.Index(fields=("-at", "-id"), name="site_change_by_time"),
            models.Index(fields=("kind", "-at", "-id"), name="site_change_by_kind"),
        )


class Typed(models.Model):
    """What a person typed into the fields of a form for a record, to be shown again while the record still has it."""

    kind = models.CharField(max_length=60)
    object_id = models.PositiveBigIntegerField()
    texts = models.JSONField(default=dict, help_text="Field of the form -> text, as it was typed.")

    class Meta:
        constraints = (models.UniqueConstraint(fields=("kind", "object_id"), name="site_typed_once"),)


def languages() -> list[tuple[str, str]]:
    """Return the languages of the pages, code and own name; no migration names one."""
    return settings.LANGUAGES


class Kitchen(Record):
    """Settings of the kitchen; there is one row."""

    PAPERS = (("letter", "Letter"), ("a4", "A4"))
    UNITS = (("us", _("US (°F, lb, cups)")), ("si", _("metric (°C, kg, mL)")))

    name = models.CharField(max_length=80, default="My kitchen")
    units = models.CharField(max_length=2, choices=UNITS, default="us")
    language = models.CharField(max_length=5, choices=languages, default="en")
    time_zone = models.CharField(max_length=60, default="UTC")
    altitude_m = models.FloatField(default=0.0)
    people = models.PositiveIntegerField(default=2)
    energy_kcal_day = models.FloatField(default=2000.0)
    protein_g_day = models.FloatField(default=50.0)
    currency = models.CharField(max_length=8, default="$")
    tariff_per_kwh = models.FloatField(default=0.17)
    own_sheet = models.JSONField(default=dict, blank=True)
    """Sizes of the label sheet of the kitchen in metres and counts, as `drystow.reports.sheets.LabelSheet` has them."""
    label_sheet = models.CharField(max_length=40, default="letter-3x10")
    paper = models.CharField(max_length=10, choices=PAPERS, default="letter")
    guide_done = models.BooleanField(default=False)

    class Meta:
        verbose_name = "kitchen"


class Answer(models.Model):
    """What was worked out for a row beside the requests; `kit.answers` reads and writes it."""

    kind = models.CharField(max_length=20)
    subject = models.PositiveBigIntegerField(help_text="Number of the row that it is about.")
    asked = models.TextField(blank=True, help_text="What a person wished for it.")
    fingerprint = models.CharField(max_length=64, blank=True, help_text="Hash of all that it rests on.")
    form = models.CharField(max_length=64, blank=True, help_text="Hash of what it looks like, and of what is kept.")
    at = models.DateTimeField(null=True, help_text="When the work on it began; empty: not yet.")
    progress = models.FloatField(default=0.0, help_text="How far the work on it is, where another process does it.")
    result = models.TextField(blank=True)
    problems = models.TextField(blank=True, help_text="Why there is none.")

    class Meta:
        constraints = (models.UniqueConstraint(fields=("kind", "subject"), name="site_answer_once"),)
