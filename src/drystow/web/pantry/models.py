"""Packages, where they are, and what became of them."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from drystow.web.batches.models import Batch, Item
from drystow.web.foods.models import not_stated
from drystow.web.kit.models import Record


class Place(Record):
    """Where packages are kept."""

    name = models.CharField(max_length=80, unique=True)
    temperature_c = models.FloatField(default=20.0, help_text="Usual temperature when nothing was logged.")
    winter_c = models.FloatField(null=True, blank=True, help_text="Coldest month, where the place follows the seasons.")
    coldest_month = models.PositiveSmallIntegerField(default=1, help_text="January in the north, July in the south.")
    humidity = models.FloatField(default=0.5)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class PlaceReading(models.Model):
    """A logged temperature of a place."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="readings")
    at = models.DateTimeField(db_index=True)
    temperature_c = models.FloatField()

    class Meta:
        ordering = ("at",)
        indexes = (models.Index(fields=("place", "at"), name="pantry_reading_place_at"),)


class PlaceMonth(models.Model):
    """Sums over the readings of a place in one month (of UTC); written only by `drystow.web.pantry.readings`."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="months")
    month = models.DateField(help_text="Its first day.")
    count = models.PositiveIntegerField()
    total_c = models.FloatField(help_text="Sum of the temperatures; divided by the count it is their mean.")
    latest_at = models.DateTimeField()
    latest_c = models.FloatField()

    class Meta:
        ordering = ("place", "month")
        constraints = (models.UniqueConstraint(fields=("place", "month"), name="pantry_placemonth_once"),)


BY_DATE = ("binned_at", "best_before", "packed_on", "id", "state")


def _by(first: str) -> tuple[str, ...]:
    return BY_DATE[0], first, *BY_DATE[1:]


class Package(Record):
    """One closed package of dried food."""

    STATES = (
        ("stored", _("stored")),
        ("open", _("open")),
        ("used", _("used up")),
        ("given", _("given away")),
        ("discarded", _("thrown out")),
    )

    added_up = ("left_mass_kg",)

    code = models.CharField(max_length=12, unique=True, help_text="In the square code on the label.")
    batch = models.ForeignKey(Batch, null=True, blank=True, on_delete=models.PROTECT, related_name="packages")
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.SET_NULL, related_name="packages")
    lot = models.CharField(max_length=20, db_index=True)
    food = models.CharField(max_length=140)
    name = models.CharField(max_length=200, db_index=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="packages")
    container = models.CharField(max_length=40)
    net_mass_kg = models.FloatField()
    left_mass_kg = models.FloatField()
    """Sum of the movements (`drystow.web.pantry.books`), repeated here for the lists."""
    state = models.CharField(max_length=10, choices=STATES, default="stored", db_index=True)
    packed_on = models.DateField()
    best_before = models.DateField(null=True, blank=True, db_index=True)
    best_until = models.DateField(null=True, blank=True)
    limit = models.CharField(max_length=40, blank=True)
    basis = models.CharField(max_length=200, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    water_to_add_kg = models.FloatField(null=True, blank=True)
    fresh_kg = models.FloatField(null=True, blank=True)
    energy_kcal = models.FloatField(default=0.0, help_text="Of the whole package.")
    protein_g = models.FloatField(default=0.0)
    residual_moisture = models.FloatField(null=True, blank=True, help_text="Water when packed, wet basis.")
    size_m = models.FloatField(null=True, blank=True, help_text="Size of the pieces, for the soaking time.")
    powder = models.BooleanField(default=False)
    absorbers = models.CharField(max_length=80, blank=True, help_text="Oxygen absorbers inside, in words.")
    raw_animal = models.BooleanField(null=True, blank=True, help_text="Empty: nobody has stated it.")
    allergens = models.JSONField(default=not_stated, blank=True)
    cost = models.FloatField(default=0.0)

    class Meta:
        ordering = ("best_before", "packed_on", "pk")
        indexes = (
            # each holds all that a page of the list in its order, or a search in it, is found with
            models.Index(fields=(*BY_DATE, "name", "lot", "code", "place"), name="pantry_package_order_date"),
            models.Index(fields=(*_by("name"), "lot", "code", "place"), name="pantry_package_order_food"),
            models.Index(fields=(*_by("lot"), "name", "code", "place"), name="pantry_package_order_lot"),
            models.Index(fields=(*_by("place"), "name", "lot", "code"), name="pantry_package_order_place"),
            models.Index(fields=("batch", "binned_at", "net_mass_kg"), name="pantry_package_batch_sums"),
            models.Index(  # likewise for counting a place
                fields=("binned_at", "place", "name", "lot", "id", "state"), name="pantry_package_count"
            ),
            models.Index(  # holds all that the totals and the counts of a place read
                fields=(
                    "binned_at",
                    "state",
                    "place",
                    "left_mass_kg",
                    "net_mass_kg",
                    "fresh_kg",
                    "energy_kcal",
                    "protein_g",
                    "cost",
                ),
                name="pantry_package_sums",
            ),
            models.Index(  # holds all that the stock over time adds up
                fields=("binned_at", "packed_on", "net_mass_kg"), name="pantry_package_packed"
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} ({self.lot})"


class Movement(models.Model):
    """What was done with a package; never changed."""

    KINDS = (
        ("packed", _("packed")),
        ("moved", _("moved")),
        ("opened", _("opened")),
        ("used", _("used")),
        ("given", _("given away")),
        ("discarded", _("thrown out")),
        ("counted", _("counted")),
    )

    package = models.ForeignKey(Package, on_delete=models.CASCADE, related_name="movements")
    kind = models.CharField(max_length=10, choices=KINDS)
    at = models.DateTimeField()
    mass_kg = models.FloatField(null=True, blank=True)
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.PROTECT)
    to = models.CharField(max_length=120, blank=True, help_text="Given to whom or where.")
    note = models.CharField(max_length=200, blank=True)
    who = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ("at", "pk")
        indexes = (  # holds all that the stock over time adds up
            models.Index(fields=("kind", "at", "package", "mass_kg"), name="pantry_movement_by_kind"),
        )
