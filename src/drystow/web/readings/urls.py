"""Addresses of the readings."""

from django.urls import path

from drystow.web.readings.views.channels import bin_channel, edit_channel
from drystow.web.readings.views.files import add_file, check_file
from drystow.web.readings.views.live import show_live
from drystow.web.readings.views.page import readings_csv, show_readings

urlpatterns = [
    path("dryers/<int:pk>/readings/", show_readings, name="dryer-readings"),
    path("dryers/<int:pk>/readings.csv", readings_csv, name="readings-csv"),
    path("dryers/<int:pk>/readings/file/", add_file, name="readings-file"),
    path("dryers/<int:pk>/readings/file/<str:token>/", check_file, name="readings-check"),
    path("dryers/channels/<int:pk>/", edit_channel, name="channel-edit"),
    path("dryers/channels/<int:pk>/bin/", bin_channel, name="channel-bin"),
    path("settings/live/", show_live, name="live"),
]
