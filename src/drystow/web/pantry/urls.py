"""Addresses of the pantry."""

from django.urls import path

from drystow.web.pantry.views.count import count_stock
from drystow.web.pantry.views.package import act_on_package, add_package, show_package
from drystow.web.pantry.views.places import bin_place, log_temperature, place, places
from drystow.web.pantry.views.shelf import show_lot, show_recipe, show_shelf
from drystow.web.pantry.views.stock import list_pdf, show_list, show_stock

urlpatterns = [
    path("pantry/", show_shelf, name="pantry"),
    path("pantry/add/", add_package, name="pantry-add"),
    path("pantry/count/", count_stock, name="pantry-count"),
    path("pantry/stock/", show_stock, name="pantry-stock"),
    path("pantry/list/", show_list, name="pantry-list"),
    path("pantry/list.pdf", list_pdf, name="pantry-list-pdf"),
    path("pantry/places/", places, name="places"),
    path("pantry/places/<int:pk>/", place, name="place"),
    path("pantry/places/<int:pk>/reading/", log_temperature, name="place-reading"),
    path("pantry/places/<int:pk>/bin/", bin_place, name="place-bin"),
    path("pantry/lot/<path:lot>/", show_lot, name="lot"),
    path("pantry/p/<slug:code>/", show_package, name="package"),
    path("pantry/p/<slug:code>/<slug:action>/", act_on_package, name="package-do"),
    path("foods/recipes/<int:pk>/", show_recipe, name="recipe"),
]
