"""The models and the migrations say the same."""

from django.core.management import call_command


def test_no_migration_is_missing() -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
