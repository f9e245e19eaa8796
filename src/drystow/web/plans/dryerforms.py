"""Forms of a dryer that takes part in a plan: turnaround, service; its program is that of a batch."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.forms import formset_factory
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.web.kit.forms import KitchenForm, QuantityField
from drystow.web.plans.fields import MomentField

MOST_STOPS = 20


class TurnaroundForm(KitchenForm):
    """What lies between two batches."""

    turnaround = QuantityField(
        "time", low=0, high=7 * 24 * 3600, label=lazy("From unloading until it can be loaded again"),
        help_text=lazy("For defrosting and cleaning, such as 3 h."),
    )  # fmt: skip


class StopForm(KitchenForm):
    """A time in which the dryer is not to be had."""

    begin = MomentField(required=False, label=lazy("From"))
    end = MomentField(required=False, label=lazy("To"))

    def clean(self) -> dict[str, Any]:
        """Return the data when both moments are there, the end after the beginning."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        begin, end = data.get("begin"), data.get("end")
        if self.errors or (begin is None and end is None):
            return data
        if begin is None:
            self.add_error("begin", _("Enter when it begins, or leave both blank."))
        elif end is None or end <= begin:
            self.add_error("end", _("Enter an end after the beginning, or leave both blank."))
        return data

    def stop(self) -> dict[str, str] | None:
        """Return the stop on the clock of the house, None when the row is empty."""
        if self.cleaned_data.get("begin") is None:
            return None
        times = {"from": self.cleaned_data["begin"], "to": self.cleaned_data["end"]}
        return {name: timezone.localtime(at).replace(tzinfo=None).isoformat() for name, at in times.items()}


Stops = formset_factory(StopForm, extra=1, max_num=MOST_STOPS, absolute_max=MOST_STOPS)


def stops_initial(stops: Iterable[dict[str, str]]) -> list[dict[str, Any]]:
    """Return what the rows of service show."""
    return [{"begin": datetime.fromisoformat(one["from"]), "end": datetime.fromisoformat(one["to"])} for one in stops]


def stops_of(rows: Any) -> list[dict[str, str]]:
    """Return the stops in their order.

    rows: of `StopForm`, valid
    """
    found = [stop for row in rows.forms if (stop := row.stop()) is not None]
    return sorted(found, key=lambda stop: stop["from"])
