"""Addresses of the batches: the basket to the proof here, what comes after it in `urls_after`."""

from importlib import import_module
from importlib.util import find_spec

from django.urls import URLPattern, path

from drystow.web.batches.views.about import bin_batch, edit_batch, move_on, new_batch
from drystow.web.batches.views.basket import edit_item, remove_item, show_basket
from drystow.web.batches.views.overview import open_batch, show_batches
from drystow.web.batches.views.trays import show_trays

urlpatterns: list[URLPattern] = [
    path("batches/", show_batches, name="batches"),
    path("batches/new/", new_batch, name="batch-new"),
    path("batches/<int:pk>/", open_batch, name="batch"),
    path("batches/<int:pk>/about/", edit_batch, name="batch-edit"),
    path("batches/<int:pk>/bin/", bin_batch, name="batch-bin"),
    path("batches/<int:pk>/move/", move_on, name="batch-move"),
    path("batches/<int:pk>/basket/", show_basket, name="batch-basket"),
    path("batches/<int:pk>/basket/<int:item_pk>/", edit_item, name="batch-item"),
    path("batches/<int:pk>/basket/<int:item_pk>/remove/", remove_item, name="batch-item-remove"),
    path("batches/<int:pk>/trays/", show_trays, name="batch-trays"),
]
if find_spec("drystow.web.batches.urls_after"):
    urlpatterns += import_module("drystow.web.batches.urls_after").urlpatterns
