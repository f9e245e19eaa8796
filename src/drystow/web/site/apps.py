"""The site app."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """What all pages share."""

    name = "drystow.web.site"
    label = "site"
    default_auto_field = "django.db.models.BigAutoField"
