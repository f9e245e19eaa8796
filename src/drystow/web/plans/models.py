"""Plans of many batches and what they became, and seasons."""

from django.db import models

from drystow.web.batches.models import SHAPES, Batch
from drystow.web.dryers.models import Dryer
from drystow.web.kit.models import Record


class Plan(Record):
    """What comes over the next days, to be dried in batches."""

    title = models.CharField(max_length=120)
    begin = models.DateField(help_text="First day.")
    days = models.PositiveSmallIntegerField(default=14)
    home = models.JSONField(
        default=dict, blank=True, help_text="Hours with somebody there, as a plan file writes them."
    )
    tariff = models.JSONField(default=dict, blank=True, help_text="As a plan file writes it; empty: the house's price.")
    freezer_m3 = models.FloatField(default=0.0, help_text="Space for food that waits.")
    apart = models.JSONField(default=list, blank=True, help_text="Separation rules beside germs.")
    notes = models.TextField(blank=True)
    extra = models.JSONField(
        default=dict, blank=True, help_text="Fields of a plan file that no form asks for, as written."
    )

    class Meta:
        ordering = ("-begin", "-pk")

    def __str__(self) -> str:
        return self.title


class PlanDryer(Record):
    """A dryer that a plan may use."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="dryers")
    dryer = models.ForeignKey(Dryer, on_delete=models.PROTECT, related_name="plans")
    program = models.JSONField(default=list, help_text="Steps as a batch has them.")
    turnaround_h = models.FloatField(default=3.0, help_text="From unloading until it can be loaded again.")
    stops = models.JSONField(default=list, blank=True, help_text="Service: {from, to}, local times.")
    extra = models.JSONField(
        default=dict, blank=True, help_text="Fields of a plan file that no form asks for, as written."
    )

    class Meta:
        ordering = ("pk",)
        verbose_name = "dryer of a plan"

    def __str__(self) -> str:
        return self.dryer.name


class Lot(Record):
    """Food that comes at one time."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="lots")
    name = models.CharField(max_length=120)
    food = models.CharField(max_length=140, help_text="Id in the food table, or own:<number> or recipe:<number>.")
    mass_kg = models.FloatField()
    arrives = models.DateTimeField()
    shape = models.CharField(max_length=8, choices=SHAPES, default="slab")
    size_m = models.FloatField(default=0.01)
    tray_kg = models.FloatField(null=True, blank=True, help_text="On one full tray; else what it holds.")
    value_per_kg = models.FloatField(default=1.0)
    frozen = models.BooleanField(default=False, help_text="It comes frozen.")
    must = models.BooleanField(default=False, help_text="All of it is to be dried.")
    ready_by = models.DateTimeField(null=True, blank=True)
    fridge_days = models.FloatField(null=True, blank=True, help_text="Else by public guidance.")
    freezer_days = models.FloatField(null=True, blank=True, help_text="Else by public guidance.")
    drying_h = models.FloatField(null=True, blank=True, help_text="A time of one's own in place of the calculated one.")
    extra = models.JSONField(
        default=dict, blank=True, help_text="Fields of a plan file that no form asks for, as written."
    )

    class Meta:
        ordering = ("arrives", "pk")

    def __str__(self) -> str:
        return self.name


class Booked(Record):
    """A batch of the kitchen that came from a plan."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="booked")
    batch = models.OneToOneField(Batch, on_delete=models.CASCADE, related_name="booked")
    start = models.DateTimeField(help_text="When it was to be loaded.")
    dry = models.DateTimeField(null=True, blank=True, help_text="When it was to be dry.")
    end = models.DateTimeField(help_text="When it was to be unloaded.")
    lots = models.JSONField(
        default=list, help_text="What was to be in it: {lot, item, trays, mass_kg, frozen}, numbers."
    )

    class Meta:
        ordering = ("start", "pk")
        verbose_name_plural = "booked"

    def __str__(self) -> str:
        return str(self.batch)


class Season(Record):
    """A garden season to be tried out: what ripens when, and which dryers might be there."""

    title = models.CharField(max_length=120)
    begin = models.DateField()
    weeks = models.PositiveSmallIntegerField(default=22)
    home = models.JSONField(default=dict, blank=True, help_text="As in a plan.")
    tariff = models.JSONField(default=dict, blank=True, help_text="As in a plan.")
    freezer_m3 = models.FloatField(default=0.0)
    apart = models.JSONField(default=list, blank=True)
    rounds = models.PositiveSmallIntegerField(default=20, help_text="Seasons that are tried.")
    seed = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("-begin", "-pk")

    def __str__(self) -> str:
        return self.title


class Crop(Record):
    """Food that ripens over some weeks."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="crops")
    name = models.CharField(max_length=120)
    food = models.CharField(max_length=140, help_text="As of a lot.")
    shape = models.CharField(max_length=8, choices=SHAPES, default="slab")
    size_m = models.FloatField(default=0.01)
    tray_kg = models.FloatField(null=True, blank=True)
    first = models.DateField()
    peak = models.DateField()
    last = models.DateField()
    mass_kg = models.FloatField(help_text="Of the whole season, likely.")
    uncertain = models.FloatField(default=0.25, help_text="Standard deviation of the mass, as a part of it.")
    per_week = models.FloatField(default=2.0, help_text="Pickings.")
    value_per_kg = models.FloatField(default=1.0)

    class Meta:
        ordering = ("first", "pk")

    def __str__(self) -> str:
        return self.name


class Choice(Record):
    """Dryers that might do the work of a season, and what they would cost."""

    season = models.ForeignKey(Season, on_delete=models.CASCADE, related_name="choices")
    name = models.CharField(max_length=120)
    dryers = models.JSONField(default=list, help_text="Each {dryer: number} of the house, or {profile: name}.")
    price = models.FloatField(default=0.0, help_text="What has to be bought for it.")
    years = models.FloatField(default=10.0, help_text="That it lasts.")

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name
