"""Addresses of the dryers."""

from django.urls import path

from drystow.web.dryers.views import add_dryer, bin_test, edit_dryer, run_test, show_test, show_tests, use_values

urlpatterns = [
    path("dryers/<int:pk>/tests/", show_tests, name="machine-tests"),
    path("dryers/<int:pk>/tests/<slug:kind>/", run_test, name="machine-test-new"),
    path("dryers/tests/<int:pk>/", show_test, name="machine-test"),
    path("dryers/tests/<int:pk>/use/", use_values, name="machine-test-use"),
    path("dryers/tests/<int:pk>/bin/", bin_test, name="machine-test-bin"),
    path("dryers/new/", add_dryer, name="dryer-new"),
    path("dryers/<int:pk>/edit/", edit_dryer, name="dryer-edit"),
]
