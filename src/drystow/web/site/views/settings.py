"""Settings of the kitchen."""

from typing import ClassVar

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext_lazy

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.forms import QuantityField, money_field, number_field
from drystow.web.kit.label_sheets import sheet_choices
from drystow.web.kit.models import Kitchen, languages
from drystow.web.kit.reader import COOKIE, time_zones
from drystow.web.kit.record_forms import RecordForm, page_with, save_or_show


class SettingsForm(RecordForm[Kitchen]):
    """The settings of the kitchen."""

    model = Kitchen
    says: ClassVar = msg("Settings saved.")

    name = forms.CharField(max_length=80, label=gettext_lazy("Name of the kitchen"))
    units = forms.ChoiceField(  # type: ignore[assignment]  # Django takes fields out of the class
        choices=Kitchen.UNITS, label=gettext_lazy("Units")
    )
    language = forms.ChoiceField(choices=languages, label=gettext_lazy("Language"))
    time_zone = forms.ChoiceField(choices=time_zones, label=gettext_lazy("Time zone"))
    altitude_m = QuantityField(
        "altitude",
        low=-500.0,
        high=6000.0,
        label=gettext_lazy("Altitude"),
        help_text=gettext_lazy("Above sea level. At higher altitude water boils cooler and blanching takes longer."),
    )
    people = forms.IntegerField(min_value=1, max_value=10000, label=gettext_lazy("People to feed"))
    energy_kcal_day = number_field(
        min_value=500, max_value=10000, label=gettext_lazy("Energy per person and day (kcal)")
    )
    protein_g_day = number_field(min_value=0, max_value=500, label=gettext_lazy("Protein per person and day, in grams"))
    currency = forms.CharField(max_length=8, label=gettext_lazy("Currency symbol"))
    tariff_per_kwh = money_field(
        min_value=0,
        max_value=1000,
        label=gettext_lazy("Electricity price per kWh"),
        help_text=gettext_lazy("It is on your electricity bill."),
    )
    label_sheet = forms.ChoiceField(choices=sheet_choices, label=gettext_lazy("Label sheet"))
    paper = forms.ChoiceField(choices=Kitchen.PAPERS, label=gettext_lazy("Paper for reports"))

    @property
    def new(self) -> bool:
        """Return False: there is always one kitchen, though nobody may have set anything."""
        return False


@right(reads="owner", writes="owner")
def edit_settings(request: HttpRequest) -> HttpResponse:
    """Show the settings and save them."""
    before = records.kitchen()

    def then(kitchen: Kitchen) -> HttpResponse:
        response = redirect("settings")
        if kitchen.units != before.units:
            response.delete_cookie(COOKIE)  # a choice made before does not hide the new one
        return response

    return save_or_show(request, SettingsForm.of(request, row=before), then, page_with(request, "site/settings.html"))
