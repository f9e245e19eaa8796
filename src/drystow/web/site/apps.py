"""The site app."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """What all pages share."""

    name = "drystow.web.site"
    label = "site"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have forms speak in the words of the site."""
        from drystow.web.site.field_errors import speak

        speak()
