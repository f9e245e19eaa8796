"""All plans: those under way and to come first."""

from datetime import timedelta

from django.core.paginator import Paginator
from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.web.dryers.models import Dryer
from drystow.web.plans.models import Plan

A_PAGE = 50


def show_plans(request: HttpRequest) -> HttpResponse:
    """Show the plans, those that match a search when there is one, the newest first."""
    text = request.GET.get("q", "").strip()[:80]
    comes = Q(lots__binned_at=None)
    rows = Plan.objects.kept().annotate(count=Count("lots", comes), mass=Sum("lots__mass_kg", filter=comes))
    for word in text.split():
        rows = rows.filter(Q(title__icontains=word) | Q(notes__icontains=word))
    page = Paginator(rows.order_by("-begin", "-pk"), A_PAGE).get_page(request.GET.get("page"))
    today = timezone.localdate()
    groups: dict[str, list[Plan]] = {}
    for plan in page.object_list:
        groups.setdefault(
            _("Past") if plan.begin + timedelta(days=plan.days) <= today else _("Under way and coming up"), []
        ).append(plan)
    context = {
        "groups": groups,
        "page": page,
        "kept": f"{urlencode({'q': text})}&" if text else "",
        "q": text,
        "no_dryer": not page.object_list and not Dryer.objects.kept().exists(),
    }
    return render(request, "plans/overview.html", context)
