"""The path of a batch through its stages: ``{% stage_path batch "trays" %}``."""

from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse

from drystow.messages import ranged
from drystow.reports.text import duration_text
from drystow.shown import show
from drystow.web.batches.models import Batch, Weighing
from drystow.web.batches.proof_view import net_g
from drystow.web.kit.words import in_words

register = template.Library()


@register.inclusion_tag("batches/parts/path.html")
def stage_path(batch: Batch, here: str) -> dict[str, Any]:
    """Return the stages in order, the shown one and the reached ones marked.

    batch: whose path it is
    here: stage that the page shows
    """
    names = [name for name, _words in Batch.STAGES]
    reached = names.index(batch.stage)
    stages = [
        {
            "words": str(words),
            "url": _address(f"batch-{name}", batch.pk),
            "here": name == here,
            "now": number == reached,
            "passed": number < reached,
        }
        for number, (name, words) in enumerate(Batch.STAGES)
    ]
    return {"stages": stages, "batch": batch}


def _address(name: str, pk: int) -> str:
    try:
        return str(reverse(name, args=(pk,)))
    except NoReverseMatch:
        return ""


@register.simple_tag(takes_context=True)
def net(context: dict[str, Any], weighing: Weighing) -> str:
    """Return the food's mass of a weighing."""
    return grams(context, net_g(weighing) / 1000.0)


@register.simple_tag
def span(seconds: float) -> str:
    """Return a time in hours and minutes as one would say it."""
    return in_words(duration_text(seconds))


@register.simple_tag
def spans(low: float, high: float) -> str:
    """Return a range of times, as one where both read the same."""
    return in_words(ranged(span(low), span(high)))


@register.simple_tag(takes_context=True)
def grams(context: dict[str, Any], mass: float) -> str:
    """Return a mass [kg] in tenths of a gram or hundredths of an ounce, since small changes count."""
    return in_words(show(mass, "fine mass", str(context.get("units", "us"))))
