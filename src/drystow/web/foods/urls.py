"""Addresses of foods and recipes."""

from django.urls import path

from drystow.web.foods.views import (
    add_from_label,
    add_from_moisture,
    add_lines,
    add_recipe,
    bin_own_food,
    bin_recipe,
    edit_lines,
    edit_own_food,
    edit_recipe,
    pick_food,
    show_foods,
    show_own_food,
    show_recipes,
    show_table_food,
)

urlpatterns = [
    path("foods/", show_foods, name="foods"),
    path("foods/pick/", pick_food, name="food-pick"),
    path("foods/t/<slug:food_id>/", show_table_food, name="food"),
    path("foods/own/label/", add_from_label, name="own-food-label"),
    path("foods/own/moisture/", add_from_moisture, name="own-food-moisture"),
    path("foods/own/<int:pk>/", show_own_food, name="own-food"),
    path("foods/own/<int:pk>/edit/", edit_own_food, name="own-food-edit"),
    path("foods/own/<int:pk>/bin/", bin_own_food, name="own-food-bin"),
    path("foods/recipes/", show_recipes, name="recipes"),
    path("foods/recipes/new/", add_recipe, name="recipe-new"),
    path("foods/recipes/new/more/", add_lines, name="recipe-new-more"),
    path("foods/recipes/<int:pk>/edit/", edit_recipe, name="recipe-edit"),
    path("foods/recipes/<int:pk>/edit/more/", edit_lines, name="recipe-edit-more"),
    path("foods/recipes/<int:pk>/bin/", bin_recipe, name="recipe-bin"),
]
