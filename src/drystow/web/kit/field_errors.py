"""What a field of a form says when Django itself refuses what was typed: what is allowed, and what to enter."""

from django import forms
from django.core import validators
from django.utils.translation import gettext_lazy as lazy
from django.utils.translation import ngettext_lazy


def speak() -> None:
    """Put the words of the site in the place of Django's."""
    forms.Field.default_error_messages["required"] = lazy("Fill this in.")
    forms.ChoiceField.default_error_messages["invalid_choice"] = lazy("{value} is not in the list; choose from it.")
    forms.ModelChoiceField.default_error_messages["invalid_choice"] = lazy("That is not in the list; choose from it.")
    forms.IntegerField.default_error_messages["invalid"] = lazy("Enter a whole number, such as 3.")
    forms.FloatField.default_error_messages["invalid"] = lazy("Enter a number, such as 1.5.")
    forms.DateField.default_error_messages["invalid"] = lazy("This is not a date; enter it like 2026-03-14.")
    forms.DateTimeField.default_error_messages["invalid"] = lazy("This is not a time; enter it like 2026-03-14 18:30.")
    forms.FileField.default_error_messages["required"] = lazy("Choose a file.")
    validators.MinValueValidator.message = lazy("%(show_value)s is too small; enter %(limit_value)s or more.")
    validators.MaxValueValidator.message = lazy("%(show_value)s is too large; enter %(limit_value)s or less.")
    validators.MaxLengthValidator.message = ngettext_lazy(
        "Enter %(limit_value)d character or less; this has %(show_value)d.",
        "Enter %(limit_value)d characters or less; this has %(show_value)d.",
        "limit_value",
    )
