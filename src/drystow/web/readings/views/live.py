"""Live readings: where they come from, and what became of every source's messages."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import save_row, try_to_save
from drystow.web.kit.words import again, in_words
from drystow.web.readings.forms import BrokerForm, ChannelForm
from drystow.web.readings.models import Broker, Channel, LiveSource
from drystow.web.readings.topics import example_topics

FIELDS = ("host", "port", "tls", "user", "topic")
PER_PAGE = 50


@right(reads="owner", writes="owner")
def show_live(request: HttpRequest) -> HttpResponse:
    """Show and change where live readings come from."""
    row = Broker.objects.kept().first()
    usual = row or Broker()
    initial = {name: getattr(usual, name) for name in FIELDS} | {"version": usual.version}
    form = BrokerForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in FIELDS}
        done = save_row(form, Broker, row, values, who=person(request), words=msg("live readings"))
        if done is not None:
            saved(request, done, _("Saved. Restart `drystow listen` for this to take effect."))
            return redirect("live")
    page = Paginator(LiveSource.objects.select_related("channel__dryer"), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "row": row,
        "page": page,
        "kept": "",
        "sources": [(one, in_words(again(one.problem_said, one.problem))) for one in page.object_list],
        "examples": example_topics(usual.topic, list(Dryer.objects.kept().order_by("name")[:5])),
    }
    return render(request, "readings/live.html", context, status=422 if form.is_bound else 200)


@right(reads="viewer", writes="owner")
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


@right(writes="owner")
def bin_channel(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a channel in the bin; its readings stay kept."""
    row = records.put_in_bin(get_object_or_404(Channel, pk=pk), who=person(request))
    saved(request, row, _("The sensor is in the trash; its readings are kept."))
    return redirect("dryer-readings", row.dryer_id)
