"""A file of any logger: how it is read, correct that, read it in; live readings and where they come from."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.dryers.models import Dryer
from drystow.web.kit.forms import sent
from drystow.web.kit.notices import person
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import again, in_words
from drystow.web.readings import reading_in
from drystow.web.readings.csvfile import (
    CsvWay,
    ReadingPlan,
    decoded,
    from_json,
    guess_plan,
    guess_way,
    head_key,
    head_of,
    samples,
)
from drystow.web.readings.forms import BrokerForm, ChannelForm, FileForm, ReadingPlanForm, plan_initial, seen_way
from drystow.web.readings.models import Broker, Channel, FileWay, LiveSource
from drystow.web.readings.quantities import QUANTITIES
from drystow.web.readings.reading_in import FileContent, content_of, write_content
from drystow.web.readings.storage import kitchen_zone
from drystow.web.readings.topics import example_topics

SHOWN_WRONG = 30
SHOWN_ROWS = 8
SHOWN_SAMPLES = 3


@right(reads="viewer", writes="helper")
def add_file(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a file of a logger."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    form = FileForm(**sent(request))
    if form.is_valid():
        try:
            text = decoded(form.cleaned_data["file"])
            guess_plan(text)
            return redirect("readings-check", pk, reading_in.keep(text))
        except InputError as problem:
            form.add_error("file", in_words(problem.message))
    context = {"dryer": dryer, "form": form}
    return render(request, "readings/file.html", context, status=422 if form.is_bound else 200)


@right(reads="viewer", writes="helper")
def check_file(request: HttpRequest, pk: int, token: str) -> HttpResponse:
    """Show how a file is read; a POST shows it with other choices."""
    dryer, text = get_object_or_404(Dryer.objects.kept(), pk=pk), reading_in.waiting(token)
    if text is None:
        return _gone(request, pk)
    if request.method == "POST":
        return _check(request, dryer, token, text, *_posted(request, text), False)
    first, known = first_plan(text)
    initial = plan_initial(first, kitchen().time_zone)
    form = ReadingPlanForm(initial, names=[column.name for column in first.columns])
    return _check(request, dryer, token, text, form, first, known)


@right(writes="helper", page="readings-check")
def read_file(request: HttpRequest, pk: int, token: str) -> HttpResponse:
    """Read a file in as it was shown; where it would be read another way, show that first."""
    dryer, text = get_object_or_404(Dryer.objects.kept(), pk=pk), reading_in.waiting(token)
    if text is None:
        return _gone(request, pk)
    form, plan = _posted(request, text)
    if plan is not None:
        return _check(request, dryer, token, text, form, plan, False)
    return _read_in(request, dryer, text, token, form)


def _gone(request: HttpRequest, pk: int) -> HttpResponse:
    messages.error(request, _("This file is no longer waiting here; choose it again."))
    return redirect("readings-file", pk)


def first_plan(text: str) -> tuple[ReadingPlan, bool]:
    """Return the plan of a file with the same head, else the guessed one, and whether it was remembered."""
    way = guess_way(text)
    known = FileWay.objects.filter(head=head_key(head_of(text, way))).first()
    plan = from_json(known.choices, text) if known is not None and way.head else None
    return (plan, True) if plan is not None else (guess_plan(text), False)


def _posted(request: HttpRequest, text: str) -> tuple[ReadingPlanForm, ReadingPlan | None]:
    """Return the form as it was sent; when the way of the file was changed, its columns are guessed anew."""
    post = request.POST
    try:
        way = CsvWay(str(post["delimiter"]), str(post["decimal"]), int(post["head"]))
        names = head_of(text, way) if len(way.delimiter) == 1 and way.decimal in ".," else []
    except (KeyError, ValueError, TypeError, InputError):
        way, names = guess_way(text), []
    if names and seen_way(way) != post.get("seen"):
        plan = guess_plan(text, way)
        zone = str(post.get("zone") or kitchen().time_zone)
        return ReadingPlanForm(plan_initial(plan, zone), names=names), plan
    return ReadingPlanForm(post, names=names or head_of(text, guess_way(text))), None


def _read_in(request: HttpRequest, dryer: Dryer, text: str, token: str, form: ReadingPlanForm) -> HttpResponse:
    content = _content(text, form)
    if content is None or (content.wrong and not form.cleaned_data["leave_out"]):
        return _check(request, dryer, token, text, form, None, False)
    added = write_content(content, form.plan(), dryer, form.names, person(request))
    reading_in.forget(token)
    new = sum(added.values())
    words = ngettext("{count} new reading saved.", "{count} new readings saved.", new).format(count=new)
    known = sum(len(course.moments) for course in content.courses) - new
    if known:
        words += " " + _("{count} were already here.").format(count=known)
    messages.success(request, words)
    return redirect("dryer-readings", dryer.pk)


def _content(text: str, form: ReadingPlanForm) -> FileContent | None:
    """Return what a file holds by the form, None with the reasons on the form."""
    if not form.is_valid():
        return None
    try:
        zone, start = form.zone_info(), form.cleaned_data["start"]
        if start is not None:
            start = start.replace(tzinfo=zone)
        return content_of(text, form.plan(), zone, steady=form.cleaned_data["steady"], start=start)
    except InputError as problem:
        name = problem.field if problem.field in form.fields else None
        form.add_error(name, in_words(problem.message))
        return None


def _check(
    request: HttpRequest,
    dryer: Dryer,
    token: str,
    text: str,
    form: ReadingPlanForm,
    plan: ReadingPlan | None,
    known: bool,
) -> HttpResponse:
    content = _content(text, form)
    way = form.way() if form.is_valid() else guess_way(text)
    rows = samples(text, way)[:SHOWN_SAMPLES]
    times = [str(form["time"].value()), str(form["clock"].value())]
    shown = [
        (*row, _examples(rows, number), _unsure(plan, number), str(number) in times)
        for number, row in enumerate(form.rows())
    ]
    context: dict[str, Any] = {
        "dryer": dryer,
        "token": token,
        "form": form,
        "known": known,
        "ask": plan is not None and plan.ask,
        "first_time": next((row[plan.time] for row in rows if plan.time < len(row)), "") if plan else "",
        "columns": shown,
        "content": content,
        "posted": request.method == "POST",
    }
    if content is not None:
        context |= {
            "wrong": content.wrong[:SHOWN_WRONG],
            "notes": content.notes,
            "preview": preview(content, kitchen().time_zone),
            "count": sum(len(course.moments) for course in content.courses),
        }
    return render(request, "readings/check.html", context, status=422 if request.method == "POST" else 200)


def preview(content: FileContent, zone: str) -> list[tuple[datetime, list[tuple[float | None, str]]]]:
    """Return the first readings as they were understood: moment on the clock of the kitchen, values in SI
    with their kinds.
    """
    moments = sorted({at for course in content.courses for at in course.moments[:SHOWN_ROWS].tolist()})[:SHOWN_ROWS]
    found = [dict(zip(_first(course.moments), _first(course.values), strict=True)) for course in content.courses]
    kinds, there = [QUANTITIES[course.column.quantity].kind for course in content.courses], kitchen_zone(zone)
    return [
        (
            datetime.fromtimestamp(at / 1000, there),
            [(values.get(at), kind) for values, kind in zip(found, kinds, strict=True)],
        )
        for at in moments
    ]


def _first(values: Any) -> Sequence[float]:
    first: list[float] = values[: 10 * SHOWN_ROWS].tolist()
    return first


def _examples(rows: list[list[str]], number: int) -> list[str]:
    return [line[number] for line in rows if number < len(line) and line[number].strip()]


def _unsure(plan: ReadingPlan | None, number: int) -> bool:
    return plan is not None and not plan.columns[number].sure


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
