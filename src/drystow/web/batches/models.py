"""A batch and everything that happens to it."""

from collections.abc import Collection
from typing import Any, ClassVar, Self

from django.db import models
from django.utils.translation import gettext_lazy as _

from drystow.web.batches.forecast import ForecastField, is_forecast
from drystow.web.dryers.models import Dryer
from drystow.web.kit.background import TASKS
from drystow.web.kit.models import KeptManager, KeptQuerySet, Record, Row

SHAPES = (("slab", _("layer")), ("stick", _("sticks")), ("sphere", _("round pieces")), ("cube", _("cubes")))
SKINS = (
    ("whole", _("whole")),
    ("pricked", _("pricked")),
    ("halved", _("halved or cut")),
    ("peeled", _("peeled")),
    ("blanched", _("blanched")),
)
PACKINGS = (
    ("", _("as usual")),
    ("apart", _("with gaps")),
    ("touching", _("side by side, touching")),
    ("piled", _("piled up")),
    ("poured", _("poured")),
)
SURFACES = (
    ("tray", _("on the tray: dries from one side")),
    ("mat", _("on a mat: dries from one side")),
    ("mesh", _("on a mesh: dries from both sides")),
)
WRAPPERS = (("none", _("nothing")), ("slit", _("wrapper, slit open")), ("cup", _("open cups")))


class Batch(Record):
    """One load of one dryer, from the basket to the package."""

    STAGES = (
        ("basket", _("Basket")),
        ("trays", _("Trays")),
        ("program", _("Program")),
        ("running", _("Running")),
        ("proof", _("Is it dry?")),
        ("packing", _("Packing")),
        ("labels", _("Labels")),
        ("done", _("Done")),
    )
    FREEZERS = (("dryer", _("in the dryer")), ("household freezer", _("in a household freezer")))

    lot = models.CharField(max_length=20, unique=True)
    title = models.CharField(max_length=120)
    dryer = models.ForeignKey(Dryer, on_delete=models.PROTECT, related_name="batches")
    stage = models.CharField(max_length=10, choices=STAGES, default="basket", db_index=True)
    program = models.JSONField(default=list, help_text="Steps: {shelf_c, hours}; no hours means until dry.")
    freezer = models.CharField(max_length=20, choices=FREEZERS, default="dryer")
    started_at = models.DateTimeField(null=True, blank=True, help_text="Food went in.")
    drying_began_at = models.DateTimeField(null=True, blank=True, help_text="Vacuum on; as predicted when empty.")
    ended_at = models.DateTimeField(null=True, blank=True, help_text="Run ended.")
    opened_at = models.DateTimeField(null=True, blank=True, help_text="Chamber was opened to pack.")
    done_at = models.DateTimeField(null=True, blank=True, db_index=True)
    prediction: Any = ForecastField(default=dict, blank=True, help_text="Predicted times when the run began.")
    energy_kwh = models.FloatField(null=True, blank=True, help_text="Measured; the predicted counts otherwise.")
    packaging_cost = models.FloatField(default=0.0)
    servings = models.FloatField(null=True, blank=True, help_text="Of all of it, or of one package.")
    servings_each = models.BooleanField(default=False, help_text="The servings are those of one package.")
    notes = models.TextField(blank=True)
    extra = models.JSONField(default=dict, blank=True, help_text="As a load file writes it: freeze_to, overload.")

    class Meta:
        ordering = ("-created_at", "-pk")
        verbose_name_plural = "batches"
        indexes = (models.Index(fields=("binned_at", "ended_at"), name="batches_batch_by_end"),)

    unreadable = False
    """Its forecast could not be read; it is worked out anew."""

    @classmethod
    def from_db(  # type: ignore[override]  # the stubs are those of a later Django, which asks more
        cls, db: str | None, field_names: Collection[str], values: Collection[Any]
    ) -> Self:
        """Return a batch; a forecast that cannot be read is taken out as it comes, so that no page meets it."""
        batch: Self = super().from_db(db, field_names, values)
        if "prediction" in batch.__dict__ and not is_forecast(batch.prediction):
            batch.prediction, batch.unreadable = {}, True
            TASKS["forecast"].ask(batch.pk)
        return batch

    def __str__(self) -> str:
        return f"{self.lot} {self.title}"

    def servings_in(self, packages: int) -> float | None:
        """Return the servings in all of its packages, None when nobody said."""
        if self.servings is None:
            return None
        return self.servings * packages if self.servings_each else self.servings


class Item(Record):
    """A food of the basket and how it is cut."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="items")
    food = models.CharField(max_length=140, help_text="Id in the food table, or own:<number> or recipe:<number>.")
    name = models.CharField(max_length=200)
    mass_kg = models.FloatField()
    shape = models.CharField(max_length=8, choices=SHAPES, default="slab")
    size_m = models.FloatField(default=0.01)
    width_m = models.FloatField(null=True, blank=True, help_text="Of a slice or a stick.")
    length_m = models.FloatField(null=True, blank=True, help_text="Of a slice or a stick.")
    packing = models.CharField(max_length=8, choices=PACKINGS, blank=True, default="")
    lies_on = models.CharField(max_length=4, choices=SURFACES, default="tray")
    wrapper = models.CharField(max_length=4, choices=WRAPPERS, default="none")
    opening = models.FloatField(null=True, blank=True, help_text="Share of the wrapper that is open.")
    wrapper_kg = models.FloatField(null=True, blank=True, help_text="All its wrappers; never counted as food.")
    skin_state = models.CharField(
        max_length=8, choices=SKINS, blank=True, default="", help_text="Done to its skin. Empty: as usual for the food."
    )
    frozen = models.BooleanField(default=False)
    start_c = models.FloatField(default=4.0)
    target_moisture = models.FloatField(null=True, blank=True)
    price = models.FloatField(default=0.0, help_text="What all of it cost.")
    shop_price = models.FloatField(null=True, blank=True, help_text="What the same dried food costs in a shop.")
    prepared = models.CharField(max_length=200, blank=True)
    dried_kg = models.FloatField(null=True, blank=True, help_text="Dried food, weighed for packing.")
    aside_kg = models.FloatField(default=0.0, help_text="Dried food that nobody packs: eaten, tried or lost.")
    extra = models.JSONField(
        default=dict, blank=True, help_text="Fields of its [[tray]] in the load file that no form asks for, as written."
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name


class Load(Record):
    """A share of an item on one tray."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="loads")
    tray = models.PositiveSmallIntegerField(help_text="Number of the tray from 1, top to bottom.")
    mass_kg = models.FloatField()

    class Meta:
        ordering = ("tray", "pk")


class SeenQuerySet(KeptQuerySet[Row]):
    """Things that were seen of a batch."""

    def standing(self) -> Self:
        """Return those that count: neither corrected by a later row nor struck out."""
        return self.kept().filter(corrected_by=None)


class SeenManager(KeptManager[Row]):
    """Asks for things that were seen."""

    _queryset_class = SeenQuerySet

    def get_queryset(self) -> SeenQuerySet[Row]:
        """Return all of them."""
        found: Any = super().get_queryset()
        seen: SeenQuerySet[Row] = found
        return seen

    def standing(self) -> SeenQuerySet[Row]:
        """Return those that count: neither corrected by a later row nor struck out."""
        return self.get_queryset().standing()


class Seen(Record):
    """Something that was seen of a batch: never changed, only corrected by a later row, or struck out (in the bin)."""

    objects: ClassVar[SeenManager[Self]] = SeenManager()

    class Meta:
        abstract = True


class Weighing(Seen):
    """A tray on the scale."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="weighings")
    tray = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    gross_g = models.FloatField()
    tare_g = models.FloatField()
    resolution_g = models.FloatField(default=1.0)
    step_written = models.BooleanField(default=False, help_text="The steps were written, not taken from the weight.")
    outside_min = models.FloatField(default=4.0, help_text="Out of the chamber before it lay on the scale.")
    note = models.CharField(max_length=200, blank=True)
    who = models.CharField(max_length=80, blank=True)
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )

    class Meta:
        ordering = ("at", "pk")


class Sample(Seen):
    """A sample of a tray, dried in an oven or put into a water-activity meter."""

    KINDS = (("oven", _("dried in an oven")), ("meter", _("water-activity meter")))

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="samples")
    tray = models.PositiveSmallIntegerField()
    at = models.DateTimeField(help_text="Taken from the tray.")
    kind = models.CharField(max_length=5, choices=KINDS)
    before_g = models.FloatField(null=True, blank=True, help_text="As taken.")
    after_g = models.FloatField(null=True, blank=True, help_text="Dried to constant weight.")
    resolution_g = models.FloatField(null=True, blank=True, help_text="Steps of the scale.")
    activity = models.FloatField(null=True, blank=True, help_text="Shown by the meter at 25 °C.")
    note = models.CharField(max_length=200, blank=True)
    who = models.CharField(max_length=80, blank=True)
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )

    class Meta:
        ordering = ("at", "pk")


class PressureRise(Seen):
    """The chamber's pressure before and after the way to the trap was shut."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="rises")
    at = models.DateTimeField(help_text="When the way was shut.")
    seconds = models.FloatField(help_text="It stayed shut.")
    before_pa = models.FloatField()
    after_pa = models.FloatField()
    note = models.CharField(max_length=200, blank=True)
    who = models.CharField(max_length=80, blank=True)
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )

    class Meta:
        ordering = ("at", "pk")
        verbose_name = "pressure rise"


class Unproved(Record):
    """A food on a tray that somebody packed, or took on to packing, knowing that it is not known to be dry."""

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="unproved")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="unproved")
    tray = models.PositiveSmallIntegerField(null=True, blank=True)
    chance = models.FloatField(null=True, blank=True, help_text="That it was dry; empty: nobody knew.")
    found = models.JSONField(default=dict, blank=True, help_text="What was found in its worst piece, a sentence.")
    packed = models.BooleanField(default=False)
    who = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ("pk",)
        verbose_name = "food not known to be dry"


class Happening(Record):
    """Something during a run: a note, a photo, an open door, a power cut."""

    KINDS = (
        ("note", _("note")),
        ("photo", _("photo")),
        ("door", _("door opened")),
        ("power", _("power outage")),
        ("core", _("piece cut open")),
    )
    FINDINGS = (
        ("dry", _("the same all through, no ice, not cold")),
        ("cold", _("cold inside")),
        ("soft", _("soft, sticky or damp inside")),
        ("ice", _("ice inside")),
    )

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="happenings")
    kind = models.CharField(max_length=6, choices=KINDS, default="note")
    at = models.DateTimeField()
    minutes = models.FloatField(null=True, blank=True)
    text = models.TextField(blank=True)
    photo = models.FileField(upload_to="photos/%Y/%m", blank=True)
    opened = models.BooleanField(default=False, help_text="The chamber was opened during a power cut.")
    room_c = models.FloatField(null=True, blank=True, help_text="Room during a power cut.")
    tray = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Of the piece that was cut open.")
    finding = models.CharField(max_length=4, choices=FINDINGS, blank=True, help_text="In the piece that was cut open.")

    class Meta:
        ordering = ("at", "pk")
