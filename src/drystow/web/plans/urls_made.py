"""Addresses of a plan that was worked out."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
