"""Addresses of the seasons."""

from django.urls import URLPattern, path

from drystow.web.season.views import (
    bin_season,
    edit_choice,
    edit_crop,
    edit_season,
    example_season,
    new_season,
    remove_choice,
    remove_crop,
    show_choices,
    show_crops,
    show_season,
    show_seasons,
    try_season,
)

urlpatterns: list[URLPattern] = [
    path("plans/seasons/", show_seasons, name="seasons"),
    path("plans/seasons/new/", new_season, name="season-new"),
    path("plans/seasons/example/", example_season, name="season-example"),
    path("plans/seasons/<int:pk>/", show_season, name="season"),
    path("plans/seasons/<int:pk>/try/", try_season, name="season-try"),
    path("plans/seasons/<int:pk>/about/", edit_season, name="season-edit"),
    path("plans/seasons/<int:pk>/bin/", bin_season, name="season-bin"),
    path("plans/seasons/<int:pk>/crops/", show_crops, name="season-crops"),
    path("plans/seasons/<int:pk>/crops/<int:crop_pk>/", edit_crop, name="season-crop"),
    path("plans/seasons/<int:pk>/crops/<int:crop_pk>/remove/", remove_crop, name="season-crop-remove"),
    path("plans/seasons/<int:pk>/dryers/", show_choices, name="season-choices"),
    path("plans/seasons/<int:pk>/dryers/<int:choice_pk>/", edit_choice, name="season-choice"),
    path("plans/seasons/<int:pk>/dryers/<int:choice_pk>/remove/", remove_choice, name="season-choice-remove"),
]
