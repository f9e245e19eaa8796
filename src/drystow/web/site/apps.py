"""The app of the pages above all others."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """The first page, settings, history, trash, guide; it has no records of its own."""

    name = "drystow.web.site"
    label = "pages"  # "site" is the label of the kit's tables
