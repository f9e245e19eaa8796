"""The accounts app."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Who may see and change what, when other devices are let in."""

    name = "drystow.web.accounts"

    def ready(self) -> None:
        """Make known what is noted beside the requests."""
        from drystow.web.accounts import tokens  # noqa: F401
