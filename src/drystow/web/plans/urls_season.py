"""Addresses of the seasons."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
