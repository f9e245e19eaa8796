"""Addresses of the searches for one batch."""

from django.urls import URLPattern, path

from drystow.web.plans.views.best_load import show_best_load
from drystow.web.plans.views.best_program import show_best_program

urlpatterns: list[URLPattern] = [
    path("batches/<int:pk>/best-load/", show_best_load, name="best-load"),
    path("batches/<int:pk>/best-program/", show_best_program, name="best-program"),
]
