"""Addresses of the plans: what comes, what is made of it, searches for one batch."""

from django.urls import URLPattern

from drystow.web.plans import urls_batch, urls_entry, urls_made

urlpatterns: list[URLPattern] = [
    *urls_entry.urlpatterns,
    *urls_made.urlpatterns,
    *urls_batch.urlpatterns,
]
