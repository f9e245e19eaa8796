"""Addresses of a plan that was worked out."""

from django.urls import URLPattern, path

from drystow.web.plans.views.made import plan_again, show_plan
from drystow.web.plans.views.made_book import book_batches
from drystow.web.plans.views.made_files import plan_calendar, plan_pdf

urlpatterns: list[URLPattern] = [
    path("plans/<int:pk>/", show_plan, name="plan"),
    path("plans/<int:pk>/again/", plan_again, name="plan-again"),
    path("plans/<int:pk>/batches/", book_batches, name="plan-book"),
    path("plans/<int:pk>/calendar.ics", plan_calendar, name="plan-calendar"),
    path("plans/<int:pk>/plan.pdf", plan_pdf, name="plan-pdf"),
]
