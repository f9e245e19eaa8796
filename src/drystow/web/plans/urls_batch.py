"""Addresses of the searches for one batch."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
