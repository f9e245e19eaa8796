"""Dryers of the kitchen and what was done to them."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from drystow.machine.profile import profile_names
from drystow.web.kit.models import Record


class Dryer(Record):
    """A dryer: a generic profile with its own numbers in place of the profile's."""

    name = models.CharField(max_length=80, unique=True)
    profile = models.CharField(max_length=40, choices=tuple((name, name) for name in profile_names()))
    numbers = models.JSONField(default=dict, blank=True, help_text="Written quantities that replace the profile's.")
    oil_hours_limit = models.FloatField(default=150.0)
    use_taught = models.BooleanField(
        default=True, help_text="Forecasts use what its batches taught, from the third on."
    )
    trap_valve = models.BooleanField(default=False, help_text="The way from chamber to trap can be shut.")
    notes = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.name


class Service(Record):
    """One entry of a dryer's service log."""

    KINDS = (
        ("oil", _("pump oil changed")),
        ("gasket", _("door gasket cleaned or changed")),
        ("defrost", _("defrosted")),
        ("leak", _("leak test")),
        ("other", _("other")),
    )

    dryer = models.ForeignKey(Dryer, on_delete=models.PROTECT, related_name="services")
    kind = models.CharField(max_length=10, choices=KINDS)
    on = models.DateField()
    value = models.FloatField(null=True, blank=True, help_text="Result of a test, for a leak test in Pa m3/s.")
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ("-on", "-pk")


class MachineTest(Record):
    """A test of a dryer: what was read and what it gave at the time."""

    KINDS = (
        ("leak", _("leak test")),
        ("pump", _("pump-down test")),
        ("ice", _("ice test")),
        ("power", _("power test")),
    )
    VERDICTS = (
        ("good", _("as it should be")),
        ("watch", _("keep an eye on it")),
        ("bad", _("do something")),
        ("unclear", _("the readings can’t tell")),
    )

    dryer = models.ForeignKey(Dryer, on_delete=models.PROTECT, related_name="tests")
    kind = models.CharField(max_length=10, choices=KINDS)
    on = models.DateField()
    readings = models.JSONField(help_text="What was read, SI.")
    values = models.JSONField(default=dict, help_text="By name, low, middle and high, SI.")
    verdict = models.CharField(max_length=10, choices=VERDICTS)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ("-on", "-pk")
        verbose_name = "machine test"
