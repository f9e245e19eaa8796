"""Addresses of the kitchen itself: settings, history, bin, guide."""

from django.urls import path

from drystow.web.site.views.guide import show_guide
from drystow.web.site.views.history import restore, show_bin, show_history, undo_change, undo_only
from drystow.web.site.views.label_sheet import edit_sheet, look_at_sheet
from drystow.web.site.views.settings import edit_settings

urlpatterns = [
    path("settings/", edit_settings, name="settings"),
    path("settings/label-sheet/", edit_sheet, name="label-sheet"),
    path("settings/label-sheet/look/", look_at_sheet, name="label-sheet-look"),
    path("history/", show_history, name="history"),
    path("undo/<int:pk>/", undo_change, name="undo"),
    path("undo/<int:pk>/only/", undo_only, name="undo-only"),
    path("bin/", show_bin, name="bin"),
    path("bin/restore/", restore, name="restore"),
    path("start/", show_guide, name="start"),
]
