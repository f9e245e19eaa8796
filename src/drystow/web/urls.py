"""Every address of the site."""

from django.urls import path

from drystow.web.site.views.files import batch_sheet, load_file
from drystow.web.site.views.load import show_load

urlpatterns = [
    path("", show_load, name="load"),
    path("load.toml", load_file, name="load-file"),
    path("sheet.pdf", batch_sheet, name="batch-sheet"),
]
