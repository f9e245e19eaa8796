"""Addresses of the dryers."""

from django.urls import path

from drystow.web.dryers.views.dryer import add_service, bin_dryer, bin_service, show_dryer
from drystow.web.dryers.views.edit import add_dryer, edit_dryer
from drystow.web.dryers.views.overview import show_dryers

urlpatterns = [
    path("dryers/", show_dryers, name="dryers"),
    path("dryers/new/", add_dryer, name="dryer-new"),
    path("dryers/<int:pk>/", show_dryer, name="dryer"),
    path("dryers/<int:pk>/edit/", edit_dryer, name="dryer-edit"),
    path("dryers/<int:pk>/bin/", bin_dryer, name="dryer-bin"),
    path("dryers/<int:pk>/service/", add_service, name="service-new"),
    path("dryers/service/<int:pk>/bin/", bin_service, name="service-bin"),
]
