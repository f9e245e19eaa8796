"""Addresses of the plans: what comes, what is made of it, searches for one batch."""

from django.urls import URLPattern, path

from drystow.web.plans.views.about import bin_plan, edit_plan, new_plan, show_plans
from drystow.web.plans.views.dryers import edit_dryer, leave_out, remove_dryer, show_dryers
from drystow.web.plans.views.files import copy, file_in, file_out
from drystow.web.plans.views.lots import edit_lot, remove_lot, show_lots
from drystow.web.plans.views.made import book_batches, plan_again, plan_calendar, plan_pdf, show_plan
from drystow.web.plans.views.searches import LoadSearch, ProgramSearch, search_page, stop_search, use_found

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
    path("plans/<int:pk>/dryers/<int:row_pk>/without/<int:step>/", leave_out, name="plan-dryer-without"),
    path("plans/<int:pk>/dryers/<int:row_pk>/remove/", remove_dryer, name="plan-dryer-remove"),
    path("plans/<int:pk>/", show_plan, name="plan"),
    path("plans/<int:pk>/again/", plan_again, name="plan-again"),
    path("plans/<int:pk>/batches/", book_batches, name="plan-book"),
    path("plans/<int:pk>/calendar.ics", plan_calendar, name="plan-calendar"),
    path("plans/<int:pk>/plan.pdf", plan_pdf, name="plan-pdf"),
    path("batches/<int:pk>/best-load/", search_page(LoadSearch), name="best-load"),
    path("batches/<int:pk>/best-load/stop/", stop_search(LoadSearch), name="best-load-stop"),
    path("batches/<int:pk>/best-load/use/", use_found(LoadSearch), name="best-load-use"),
    path("batches/<int:pk>/best-program/", search_page(ProgramSearch), name="best-program"),
    path("batches/<int:pk>/best-program/stop/", stop_search(ProgramSearch), name="best-program-stop"),
    path("batches/<int:pk>/best-program/use/", use_found(ProgramSearch), name="best-program-use"),
]
