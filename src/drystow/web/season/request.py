"""What every view of a season takes from a request."""

from django.shortcuts import get_object_or_404

from drystow.web.plans.models import Season


def kept_season(pk: int) -> Season:
    """Return a season, or answer that there is none."""
    season: Season = get_object_or_404(Season.objects.kept(), pk=pk)
    return season
