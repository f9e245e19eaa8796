"""Live readings: where they come from, and what became of every source's messages."""

from functools import partial

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.dryers.models import Dryer
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.kit.words import again, in_words
from drystow.web.readings.forms import BrokerForm, ChannelForm
from drystow.web.readings.models import Broker, Channel, LiveSource
from drystow.web.readings.topics import example_topics

PER_PAGE = 50


@right(reads="owner", writes="owner")
def show_live(request: HttpRequest) -> HttpResponse:
    """Show and change where live readings come from."""
    form = BrokerForm.of(request, row=Broker.objects.kept().first() or Broker())
    return save_or_show(request, form, redirect("live"), partial(_page, request))


def _page(request: HttpRequest, form: BrokerForm) -> HttpResponse:
    page = Paginator(LiveSource.objects.select_related("channel__dryer"), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "form": form,
        "page": page,
        "kept": "",
        "sources": [(one, in_words(again(one.problem_said, one.problem))) for one in page.object_list],
        "examples": example_topics(form.row.topic, list(Dryer.objects.kept().order_by("name")[:5])),
    }
    return render(request, "readings/live.html", context, status=422 if form.is_bound else 200)


@right(reads="viewer", writes="owner")
def edit_channel(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the name of a channel."""
    row = get_object_or_404(Channel.objects.kept().select_related("dryer"), pk=pk)
    page = page_with(request, "readings/channel.html", channel=row)
    return save_or_show(request, ChannelForm.of(request, row=row), _to_dryer, page)


def _to_dryer(row: Channel) -> HttpResponse:
    return redirect("dryer-readings", row.dryer_id)


bin_channel = right(writes="owner")(
    bin_view(Channel, _to_dryer, says=msg("The sensor is in the trash; its readings are kept."))
)
