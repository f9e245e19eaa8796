"""Addresses of the dryers."""

from django.urls import path

from drystow.web.dryers.views.dryer import add_service, bin_dryer, bin_service, show_dryer
from drystow.web.dryers.views.edit import add_dryer, edit_dryer
from drystow.web.dryers.views.overview import show_dryers
from drystow.web.dryers.views.taught import learn_again, use_taught
from drystow.web.dryers.views.testing import bin_test, run_test, show_test, show_tests, use_values

urlpatterns = [
    path("dryers/<int:pk>/tests/", show_tests, name="machine-tests"),
    path("dryers/<int:pk>/tests/<slug:kind>/", run_test, name="machine-test-new"),
    path("dryers/tests/<int:pk>/", show_test, name="machine-test"),
    path("dryers/tests/<int:pk>/use/", use_values, name="machine-test-use"),
    path("dryers/tests/<int:pk>/bin/", bin_test, name="machine-test-bin"),
    path("dryers/", show_dryers, name="dryers"),
    path("dryers/new/", add_dryer, name="dryer-new"),
    path("dryers/<int:pk>/", show_dryer, name="dryer"),
    path("dryers/<int:pk>/edit/", edit_dryer, name="dryer-edit"),
    path("dryers/<int:pk>/bin/", bin_dryer, name="dryer-bin"),
    path("dryers/<int:pk>/learn/", learn_again, name="dryer-learn"),
    path("dryers/<int:pk>/taught/", use_taught, name="dryer-use-taught"),
    path("dryers/<int:pk>/service/", add_service, name="service-new"),
    path("dryers/service/<int:pk>/bin/", bin_service, name="service-bin"),
]
