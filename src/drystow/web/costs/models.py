"""The numbers of every finished batch that its costs follow from, kept so that pages only read them."""

from django.db import models

from drystow.web.batches.models import Batch


class BatchSums(models.Model):
    """Sums over the food and the packages of a finished batch; written only by `drystow.web.costs.sums`."""

    batch = models.OneToOneField(Batch, on_delete=models.CASCADE, primary_key=True, related_name="sums")
    ended_at = models.DateTimeField()
    month = models.DateField(help_text="First day of the month in which the run ended, by the clock of the house.")
    fresh_kg = models.FloatField()
    dried_kg = models.FloatField()
    weighed = models.BooleanField(help_text="The dried mass is that of packages, not predicted.")
    energy_kwh = models.FloatField(null=True)
    measured = models.BooleanField(help_text="The electricity was measured, not predicted.")
    food = models.FloatField(help_text="Money for the food.")
    packaging = models.FloatField(help_text="Money for packages.")
    shop = models.FloatField(null=True, help_text="What the same costs in a shop; empty unless known of all of it.")
    servings = models.FloatField(help_text="As written down, else of 100 g of dried food.")
    missing = models.CharField(max_length=10, blank=True, help_text="What the costs lack: energy, dried or yield.")

    class Meta:
        ordering = ("-ended_at", "-batch")
        indexes = (
            models.Index(fields=("-ended_at", "-batch"), name="costs_sums_by_end"),
            models.Index(fields=("month", "-ended_at", "-batch"), name="costs_sums_by_month"),
        )


class Outdated(models.Model):
    """Something of a batch was changed, so its sums are out of date.

    Rows are only added by writers and taken away by who sums up, so that neither waits for the other; without a key to
    the batch, as that would lock it.
    """

    batch_number = models.PositiveBigIntegerField()
