"""Addresses of a batch after the proof: packing, labels, the end, and its sheet."""

from django.urls import URLPattern, path

from drystow.web.packing.views.done import sheet_pdf, show_done
from drystow.web.packing.views.labels import labels_pdf, show_labels
from drystow.web.packing.views.packing import show_packing

urlpatterns: list[URLPattern] = [
    path("batches/<int:pk>/packing/", show_packing, name="batch-packing"),
    path("batches/<int:pk>/labels/", show_labels, name="batch-labels"),
    path("batches/<int:pk>/labels.pdf", labels_pdf, name="batch-labels-pdf"),
    path("batches/<int:pk>/done/", show_done, name="batch-done"),
    path("batches/<int:pk>/sheet.pdf", sheet_pdf, name="batch-sheet"),
]
