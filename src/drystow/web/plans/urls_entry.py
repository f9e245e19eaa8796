"""Addresses of what comes, and the hours and dryers of a plan."""

from django.urls import URLPattern, path

from drystow.web.plans.views.about import show_about
from drystow.web.plans.views.dryers import show_dryers
from drystow.web.plans.views.lots import show_lots
from drystow.web.plans.views.overview import show_plans

urlpatterns: list[URLPattern] = [
    path("plans/", show_plans, name="plans"),
    path("plans/<int:pk>/about/", show_about, name="plan-edit"),
    path("plans/<int:pk>/lots/", show_lots, name="plan-lots"),
    path("plans/<int:pk>/dryers/", show_dryers, name="plan-dryers"),
]
