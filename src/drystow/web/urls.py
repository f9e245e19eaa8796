"""Every address of the site: the first page, and the apps."""

from django.urls import include, path

from drystow.web.site.views.load import batch_sheet, load_file, show_load

APPS = (
    "site",
    "foods",
    "dryers",
    "readings",
    "batches",
    "pantry",
    "packing",
    "costs",
    "season",
    "plans",
    "data",
    "accounts",
)

urlpatterns = [
    path("", show_load, name="load"),
    path("load.toml", load_file, name="load-file"),
    path("sheet.pdf", batch_sheet, name="batch-sheet"),
    *(path("", include(f"drystow.web.{app}.urls")) for app in APPS),
]
