"""Addresses of what comes, and the hours and dryers of a plan."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
