"""Addresses of the readings."""

from django.urls import path

from drystow.web.readings.views import add_file, bin_channel, check_file, edit_channel, read_file, show_live

urlpatterns = [
    path("dryers/<int:pk>/readings/file/", add_file, name="readings-file"),
    path("dryers/<int:pk>/readings/file/<str:token>/", check_file, name="readings-check"),
    path("dryers/<int:pk>/readings/file/<str:token>/read/", read_file, name="readings-read"),
    path("dryers/channels/<int:pk>/", edit_channel, name="channel-edit"),
    path("dryers/channels/<int:pk>/bin/", bin_channel, name="channel-bin"),
    path("settings/live/", show_live, name="live"),
]
