"""Settings of the kitchen."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm, QuantityField, money_field, number_field, show_typed
from drystow.web.kit.label_sheets import sheet_choices
from drystow.web.kit.models import Kitchen, languages
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import COOKIE, time_zones, wished_units
from drystow.web.kit.saving import try_to_save


class SettingsForm(KitchenForm):
    """The settings of the kitchen."""

    name = forms.CharField(max_length=80, label=gettext_lazy("Name of the kitchen"))
    units = forms.ChoiceField(choices=Kitchen.UNITS, label=gettext_lazy("Units"))
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
    paper = forms.ChoiceField(choices=Kitchen._meta.get_field("paper").choices, label=gettext_lazy("Paper for reports"))


FIELDS = tuple(name for name in SettingsForm.base_fields if name != "version")


@right(reads="owner", writes="owner")
def edit_settings(request: HttpRequest) -> HttpResponse:
    """Show the settings and save them."""
    kitchen = records.kitchen()
    units = wished_units(request, kitchen.units)
    if request.method == "POST":
        form = SettingsForm(request.POST, units=units)
        if form.is_valid():
            changes = {name: form.cleaned_data[name] for name in FIELDS}
            done = try_to_save(
                form,
                lambda: records.change(
                    kitchen, changes, expected=form.expected, who=person(request), words=msg("kitchen settings")
                ),
            )
            if done is not None:
                response = redirect("settings")
                if done.version != form.expected:
                    saved(request, done, _("Settings saved."))
                if done.units != kitchen.units:
                    response.delete_cookie(COOKIE)  # a choice made before does not hide the new one
                return response
    else:
        start = {name: getattr(kitchen, name) for name in FIELDS} | {"version": kitchen.version}
        form = show_typed(SettingsForm(initial=start, units=units), kitchen)
    return render(request, "site/settings.html", {"form": form}, status=422 if form.is_bound else 200)
