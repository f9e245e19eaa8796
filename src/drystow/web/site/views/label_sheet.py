"""The label sheet of the kitchen: its measures, whether they fit the paper, and how it looks."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputError
from drystow.messages import msg
from drystow.reports.sheets import PAPERS, LabelSheet
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm, QuantityField
from drystow.web.kit.label_sheets import OWN, own_sheet
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import tell, try_to_save


def _length(label: Any, low: float = 0.0, high: float = 0.6, **options: Any) -> QuantityField:
    return QuantityField("length", low=low, high=high, label=label, **options)


class SheetForm(KitchenForm):
    """The measures of a sheet, taken with a ruler."""

    paper = forms.ChoiceField(
        choices=[("letter", "US Letter"), ("a4", "A4"), ("own", lazy("another size"))], label=lazy("Paper")
    )
    page_width = _length(lazy("Paper width"), 0.02, required=False, help_text=lazy("Only for another size."))
    page_height = _length(lazy("Paper height"), 0.02, required=False, help_text=lazy("Only for another size."))
    columns = forms.IntegerField(min_value=1, max_value=100, label=lazy("Labels across"))
    rows = forms.IntegerField(min_value=1, max_value=100, label=lazy("Labels down"))
    label_width = _length(lazy("Label width"), 0.005)
    label_height = _length(lazy("Label height"), 0.005)
    left = _length(lazy("From the paper’s left edge to the first label"))
    top = _length(lazy("From the paper’s top edge to the first label"))
    column_gap = _length(lazy("Gap between labels across"), required=False)
    row_gap = _length(lazy("Gap between labels down"), required=False)
    corner = _length(lazy("Corner radius"), high=0.05, required=False)

    def sheet(self) -> LabelSheet | None:
        """Return the sheet, None with the reasons on the form when it does not fit."""
        data = self.cleaned_data
        page = PAPERS.get(data["paper"]) or (data["page_width"], data["page_height"])
        for name, size in zip(("page_width", "page_height"), page, strict=True):
            if size is None:
                self.add_error(name, _("Enter the paper size, or choose one above."))
        if self.errors:
            return None
        try:
            sizes: dict[str, Any] = {name: data[name] or 0.0 for name in LENGTHS} | {n: data[n] for n in COUNTS}
            return LabelSheet(*page, **sizes)
        except InputError as problem:
            tell(self, problem)
            return None


LENGTHS = ("label_width", "label_height", "left", "top", "column_gap", "row_gap")
COUNTS = ("rows", "columns")
SIZES = ("page_width", "page_height", *LENGTHS, *COUNTS)


@right(reads="owner", writes="owner")
def edit_sheet(request: HttpRequest) -> HttpResponse:
    """Show the label sheet of the kitchen to scale; a POST keeps another one."""
    return _edit(request, keep=True)


@right(writes="owner", page="label-sheet")
def look_at_sheet(request: HttpRequest) -> HttpResponse:
    """Show another label sheet to scale."""
    return _edit(request, keep=False)


def _edit(request: HttpRequest, keep: bool) -> HttpResponse:
    kitchen = records.kitchen()
    start = {"paper": kitchen.paper, "columns": 3, "rows": 8, **kitchen.own_sheet, "version": kitchen.version}
    form = SheetForm.of(request, initial=start)
    sheet, corner = None, 0.0
    if form.is_bound and form.is_valid():
        sheet, corner = form.sheet(), form.cleaned_data["corner"] or 0.0
        if sheet is not None and keep:
            values = {name: getattr(sheet, name) for name in SIZES}
            kept = values | {"paper": form.cleaned_data["paper"], "corner": corner}
            changes, told = {"own_sheet": kept, "label_sheet": OWN}, msg("Sheet saved and chosen for your labels.")
            who, seen = person(request), form.expected
            done = try_to_save(form, lambda: records.change(kitchen, changes, expected=seen, who=who, words=told))
            if done is not None:
                saved(request, done)
                return redirect("label-sheet")
    elif not form.is_bound:
        sheet, corner = own_sheet(), float(kitchen.own_sheet.get("corner", 0.0))
    context = {"form": form, "drawing": _drawing(sheet, corner) if sheet else None}
    return render(request, "site/label_sheet.html", context, status=422 if form.is_bound and form.errors else 200)


def _drawing(sheet: LabelSheet, corner: float) -> dict[str, Any]:
    """Return the sheet drawn to scale, in millimetres."""
    places = [sheet.place(number) for number in range(sheet.per_page)]
    return {
        "sheet": sheet,
        "width": f"{1000 * sheet.page_width:.2f}",
        "height": f"{1000 * sheet.page_height:.2f}",
        "label": (f"{1000 * sheet.label_width:.2f}", f"{1000 * sheet.label_height:.2f}", f"{1000 * corner:.2f}"),
        "labels": [(f"{1000 * x:.2f}", f"{1000 * y:.2f}") for _page, x, y in places],
        "pitch": (sheet.label_width + sheet.column_gap, sheet.label_height + sheet.row_gap),
        "right": sheet.page_width - max(x for _page, x, _y in places) - sheet.label_width,
        "bottom": sheet.page_height - max(y for _page, _x, y in places) - sheet.label_height,
    }
