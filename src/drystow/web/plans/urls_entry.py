"""Addresses of what comes, and the hours and dryers of a plan."""

from django.urls import URLPattern, path

from drystow.web.plans.views.about import bin_plan, edit_plan, new_plan
from drystow.web.plans.views.dryers import edit_dryer, remove_dryer, show_dryers
from drystow.web.plans.views.files import copy, file_in, file_out
from drystow.web.plans.views.lots import edit_lot, remove_lot, show_lots
from drystow.web.plans.views.overview import show_plans

urlpatterns: list[URLPattern] = [
    path("plans/", show_plans, name="plans"),
    path("plans/new/", new_plan, name="plan-new"),
    path("plans/file/", file_in, name="plan-from-file"),
    path("plans/<int:pk>/about/", edit_plan, name="plan-edit"),
    path("plans/<int:pk>/bin/", bin_plan, name="plan-bin"),
    path("plans/<int:pk>/copy/", copy, name="plan-copy"),
    path("plans/<int:pk>/lots.toml", file_out, name="plan-file"),
    path("plans/<int:pk>/lots/", show_lots, name="plan-lots"),
    path("plans/<int:pk>/lots/<int:lot_pk>/", edit_lot, name="plan-lot"),
    path("plans/<int:pk>/lots/<int:lot_pk>/remove/", remove_lot, name="plan-lot-remove"),
    path("plans/<int:pk>/dryers/", show_dryers, name="plan-dryers"),
    path("plans/<int:pk>/dryers/<int:row_pk>/", edit_dryer, name="plan-dryer"),
    path("plans/<int:pk>/dryers/<int:row_pk>/remove/", remove_dryer, name="plan-dryer-remove"),
]
