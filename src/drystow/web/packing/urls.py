"""Addresses of a batch after the proof: packing, labels, the end, and its sheet."""

from django.urls import URLPattern, path

from drystow.web.packing.views import packing
from drystow.web.packing.views.done import finish, sheet_pdf, show_done
from drystow.web.packing.views.labels import labels_pdf, show_labels

urlpatterns: list[URLPattern] = [
    path("batches/<int:pk>/packing/", packing.show_packing, name="batch-packing"),
    path("batches/<int:pk>/packing/plan/", packing.calculate, name="batch-pack-plan"),
    path("batches/<int:pk>/packing/pack/", packing.pack, name="batch-pack"),
    path("batches/<int:pk>/packing/opened/", packing.open_chamber, name="batch-opened"),
    path("batches/<int:pk>/packing/servings/", packing.set_servings, name="batch-servings"),
    path("batches/<int:pk>/packing/unpack/", packing.unpack, name="batch-unpack"),
    path("batches/<int:pk>/packing/aside/", packing.set_aside, name="batch-aside"),
    path("batches/<int:pk>/labels/", show_labels, name="batch-labels"),
    path("batches/<int:pk>/labels.pdf", labels_pdf, name="batch-labels-pdf"),
    path("batches/<int:pk>/done/", show_done, name="batch-done"),
    path("batches/<int:pk>/done/finish/", finish, name="batch-finish"),
    path("batches/<int:pk>/sheet.pdf", sheet_pdf, name="batch-sheet"),
]
