"""Addresses of the readings."""

from django.urls import path

from drystow.web.readings.views.files import add_file, check_file, read_file
from drystow.web.readings.views.live import bin_channel, edit_channel, show_live

urlpatterns = [
    path("dryers/<int:pk>/readings/file/", add_file, name="readings-file"),
    path("dryers/<int:pk>/readings/file/<str:token>/", check_file, name="readings-check"),
    path("dryers/<int:pk>/readings/file/<str:token>/read/", read_file, name="readings-read"),
    path("dryers/channels/<int:pk>/", edit_channel, name="channel-edit"),
    path("dryers/channels/<int:pk>/bin/", bin_channel, name="channel-bin"),
    path("settings/live/", show_live, name="live"),
]
