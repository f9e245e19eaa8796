"""Addresses of the batches: the basket to the proof here, what comes after it in `urls_after`."""

from importlib import import_module
from importlib.util import find_spec

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
if find_spec("drystow.web.batches.urls_after"):
    urlpatterns += import_module("drystow.web.batches.urls_after").urlpatterns
