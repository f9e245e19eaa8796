"""A channel: its name, and the bin for one that should not show."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.messages import msg
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import try_to_save
from drystow.web.readings.forms import ChannelForm
from drystow.web.readings.models import Channel


def edit_channel(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the name of a channel."""
    row = get_object_or_404(Channel.objects.kept().select_related("dryer"), pk=pk)
    form = ChannelForm(request.POST or None, initial={"label": row.label, "version": row.version})
    if request.method == "POST" and form.is_valid():
        changes = {"label": form.cleaned_data["label"]}
        words = msg("sensor name")
        done = try_to_save(
            form, lambda: records.change(row, changes, expected=form.expected, who=person(request), words=words)
        )
        if done is not None:
            saved(request, done, _("Name saved."))
            return redirect("dryer-readings", row.dryer_id)
    context = {"channel": row, "form": form}
    return render(request, "readings/channel.html", context, status=422 if form.is_bound else 200)


@require_POST
def bin_channel(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a channel in the bin; its readings stay kept."""
    row = records.put_in_bin(get_object_or_404(Channel, pk=pk), who=person(request))
    saved(request, row, _("The sensor is in the trash; its readings are kept."))
    return redirect("dryer-readings", row.dryer_id)
