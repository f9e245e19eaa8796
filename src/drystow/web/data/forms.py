"""Forms of the data app."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drystow.web.accounts.models import ApiToken

MOST_LOAD = 200_000  # largest load file [bytes]


class LoadFileForm(forms.Form):
    """A load file to make a batch of."""

    load_file = forms.FileField(
        label=gettext_lazy("Load file"),
        help_text=gettext_lazy("A .toml file, saved from a batch or sent by a friend."),
    )

    def clean_load_file(self) -> str:
        """Return the text of the file."""
        file = self.cleaned_data["load_file"]
        if file.size > MOST_LOAD:
            raise ValidationError(
                _("This is over 200 kB, but a load file is about a page of text. Is it the right file?")
            )
        try:
            text: str = file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise ValidationError(_("This is not a text file in UTF-8. Is it the right file?")) from None
        return text


class RestoreForm(forms.Form):
    """A backup to read in."""

    backup = forms.FileField(label=gettext_lazy("Backup"), help_text=gettext_lazy("The .zip file Drystow wrote."))
    replace = forms.BooleanField(
        required=False,
        label=gettext_lazy("Replace what is here"),
        help_text=gettext_lazy("What is here is backed up first."),
    )


class TokenForm(forms.ModelForm):  # type: ignore[type-arg]  # no generic when it runs
    """A new token."""

    class Meta:
        model = ApiToken
        fields = ("name", "scope")
        labels: ClassVar[dict[str, Any]] = {
            "name": gettext_lazy("Name of the app"),
            "scope": gettext_lazy("Access"),
        }
        help_texts: ClassVar[dict[str, Any]] = {"name": gettext_lazy("For example: cellar thermometer")}
