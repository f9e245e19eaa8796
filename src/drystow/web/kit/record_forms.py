"""Forms of records: each field names its column, and one sentence says in the history and on the page what was done."""

from collections.abc import Callable
from copy import copy
from typing import Any, ClassVar, Generic, TypeAlias, TypeVar

from django import forms
from django.contrib import messages
from django.db import transaction
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.messages import Message, msg
from drystow.numerals import whole_in
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm, QuantityField, show_typed, stored
from drystow.web.kit.models import Record
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import OWN_FIELDS, copy_of
from drystow.web.kit.saving import try_to_save

Row = TypeVar("Row", bound=Record)


class RecordForm(KitchenForm, Generic[Row]):
    """A form of one row, which is changed, or added where it is not saved yet.

    A field holds the column of its own name, or the one that it ``stores``; a field of another kind than its column
    has ``from_column`` and ``to_column``. Only what the reader touched is written: a value that comes back as it was
    shown stays exactly as it is, however it was rounded, and what somebody else wrote meanwhile stays too.

    row: of `model`; a new one holds what the form begins with
    seen: the row as the reader saw it
    said: the sentence, once it was saved
    """

    model: ClassVar[type[Record]]
    says: ClassVar[str] = msg("{name} saved.", name="")
    """The sentence for history and toast; `sentence` where it says more than the name of the row."""
    says_of_new: ClassVar[str] = ""
    """The sentence for a row that was added, where it is another one."""

    def __init__(self, *arguments: Any, row: Row, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.row, self.said = row, ""
        self.seen = row if self.new else records.as_seen(row, self._version_sent())
        for name, field in self.quantities.items():
            field.stores = field.stores or name
        self.shown = self.start(self.seen)
        begun = {name: value for name, value in self.shown.items() if value is not None or not self.new}
        self.initial = begun | self.initial
        self.let_stand()
        if not self.new:
            self.initial["version"] = row.version
            if self.lasting:
                show_typed(self, row)

    @property
    def new(self) -> bool:
        """Return whether the row is not saved yet."""
        return self.row.pk is None

    @property
    def columns(self) -> dict[str, str]:
        """Return the fields that hold a column of the row, each with its column."""
        known = {field.name for field in self.model._meta.concrete_fields} - {*OWN_FIELDS, "binned_at"}
        pairs = {name: getattr(field, "stores", name) for name, field in self.fields.items()}
        return {name: column for name, column in pairs.items() if column in known}

    @property
    def lasting(self) -> dict[str, QuantityField]:
        """Return the quantities that are columns, which are shown again as they were typed."""
        return {name: field for name, field in self.quantities.items() if name in self.columns}

    def field_of(self, column: str) -> str:
        """Return the field that holds a column."""
        return next((name for name, held in self.columns.items() if held == column), column)

    def start(self, row: Any) -> dict[str, Any]:
        """Return what the form shows of a row."""
        return {name: self._shown_of(row, name, column) for name, column in self.columns.items()}

    def changes(self) -> dict[str, Any]:
        """Return the columns to write: all of a new row, else those of which the reader made something else.

        May raise `InputError`, which is then told beside its field.
        """
        values = {column: self._kept(name, column) for name, column in self.columns.items()}
        return {name: value for name, value in values.items() if self.new or value != getattr(self.seen, name)}

    def sentence(self, row: Any) -> str:
        """Return what was done, for the history and for who did it.

        row: as it is to be saved
        """
        return _named(self.says_of_new if self.new and self.says_of_new else self.says, row)

    def advice(self, row: Any) -> str:
        """Return what to do next, told after the sentence.

        row: as it was saved
        """
        return ""

    def with_changes(self, changes: dict[str, Any]) -> Any:
        """Return the row as it would be."""
        row = copy(self.row)
        for name, value in changes.items():
            setattr(row, name, value)
        return row

    def write(self, changes: dict[str, Any], who: str) -> Any:
        """Save the changes and return the row."""
        row = self.with_changes(changes)
        self.said = self.sentence(row)
        if self.new:
            return records.create(row, who=who, words=self.said)
        return records.change(self.row, changes, expected=self.expected, who=who, words=self.said)

    def save(self, who: str = "") -> Any:
        """Return the row as saved, or None with the reasons on the form, which keeps what the person typed."""
        if not self.is_valid():
            return None
        return try_to_save(self, lambda: self.write(self.changes(), who))

    def catch_up(self, record: Record) -> None:
        """Take over what somebody else wrote into the fields that the reader did not touch."""
        now: Any = self.start(record)
        data: Any = self.data.copy()
        for name, column in self.columns.items():
            if name not in self.cleaned_data or self._kept(name, column) != getattr(self.seen, column):
                continue
            key, widget = self.add_prefix(name), self.fields[name].widget
            text = widget.format_value(self.fields[name].prepare_value(now[name]))
            if isinstance(widget, forms.CheckboxInput):
                text = "on" if now[name] else ""
            data.setlist(key, text if isinstance(text, list) else ["" if text is None else text])
        self.data = data
        super().catch_up(record)

    def _version_sent(self) -> int:
        sent = self.data.get(self.add_prefix("version"), "") if self.is_bound else ""
        return whole_in(sent) or self.row.version

    def _shown_of(self, row: Record, name: str, column: str) -> Any:
        attname = next(one.attname for one in self.model._meta.concrete_fields if one.name == column)
        value, field = getattr(row, attname), self.fields[name]
        return field.from_column(value) if hasattr(field, "from_column") else value

    def _kept(self, name: str, column: str) -> Any:
        """Return what a column keeps of a field: as it was where it came back as it was shown."""
        if self._came_back(name):
            return getattr(self.seen, column)
        value, field = self.cleaned_data[name], self.fields[name]
        return field.to_column(value) if hasattr(field, "to_column") else value

    def _came_back(self, name: str) -> bool:
        value, shown = self.cleaned_data[name], self.shown.get(name)
        if isinstance(self.fields[name], forms.DateTimeField):  # a page shows no seconds
            text = self.fields[name].widget.format_value(self.fields[name].prepare_value(shown))
            return bool(self[name].data == text) and shown is not None
        if isinstance(value, str) and isinstance(shown, str):  # a browser ends lines in its own way
            return "".join(value.split("\r")) == "".join(shown.split("\r")).strip()
        return bool((value.pk if isinstance(value, Model) else value) == shown)


class CorrectingForm(RecordForm[Any]):
    """A form of rows that are only ever added: a later one corrects an earlier one, which stays as it was written.

    A row that corrects another begins as that one; see `correcting`.
    """

    model: ClassVar[type[Any]]
    says_of_correction: ClassVar[str]
    again: ClassVar[Any]
    """Why a row is refused that was corrected before."""

    corrects = stored(None, forms.IntegerField(required=False, widget=forms.HiddenInput))

    def __init__(self, *arguments: Any, row: Any, **options: Any) -> None:
        super().__init__(*arguments, row=row, **options)
        self.initial["corrects"] = row.corrects_id

    def clean(self) -> dict[str, Any]:
        """Refuse to correct what was crossed out, or corrected before."""
        if self.row.corrects is not None and (refusal := self.refusal(self.row.corrects)):
            self.add_error(None, refusal)
        return dict(super().clean() or self.cleaned_data)

    @classmethod
    def refusal(cls, old: Any) -> str:
        """Return why a row cannot be corrected, nothing when it can."""
        if old.binned_at is not None:
            return _("This was crossed out; tap “Count it again” first.")
        return str(cls.again) if cls.model.objects.filter(corrects=old.pk).exists() else ""

    def write(self, changes: dict[str, Any], who: str) -> Any:
        """Add the row and return it; it is its own history."""
        row = self.row
        with transaction.atomic():
            if row.corrects_id is not None:  # one at a time corrects a row
                self.model.objects.select_for_update().get(pk=row.corrects_id)
                if self.model.objects.filter(corrects=row.corrects_id).exists():
                    raise InputError("", str(self.again))
            for name, value in changes.items():
                setattr(row, name, value)
            row.who, row.written = who, None
            row.full_clean()
            row.save()
        self.said = self.sentence(row)
        return row

    def sentence(self, row: Any) -> str:
        """Return what was done."""
        return self.says if row.corrects_id is None else self.says_of_correction


def correcting(request: HttpRequest, form: type[CorrectingForm], row: Any, **owner: Any) -> Any:
    """Return the row that a form begins with: one that corrects the row of the address, else another one.

    row: what another one begins with
    owner: columns that a row has which can be corrected here
    """
    number = whole_in(request.POST.get("corrects") or request.GET.get("correct") or "")
    old = get_object_or_404(form.model, pk=number, **owner) if number is not None else None
    if old is None or (request.method != "POST" and form.refusal(old)):
        return row
    begun = copy_of(old)
    begun.corrects_id = old.pk
    return begun


def _named(words: str, row: Any) -> str:
    """Return a sentence with the name of a row where it has a place for one."""
    return words.again(dict.fromkeys(words.values, str(row))) if isinstance(words, Message) else words


Page = Callable[[Any], HttpResponse]
"""Shows a form with its reasons."""
Next: TypeAlias = "str | HttpResponse | Callable[[Any], HttpResponse]"
"""Where it goes on: the page of the row by the name of its address, another page, or what follows from the row."""


def _onward(then: Next, row: Any) -> HttpResponse:
    if isinstance(then, str):
        return redirect(then, row.pk)
    return then if isinstance(then, HttpResponse) else then(row)


def save_or_show(request: HttpRequest, form: RecordForm[Any], then: Next, page: Page) -> HttpResponse:
    """Save what was sent and go on with a toast that offers to undo it; else show the page with the form."""
    done = form.save(person(request)) if form.is_bound else None
    if done is None:
        return page(form)
    saved(request, done, form.said, form.advice(done))
    return _onward(then, done)


def page_with(request: HttpRequest, template: str, **context: Any) -> Page:
    """Return what shows a form on a page; the answer to a form that could not be saved says so by its status."""
    return lambda form: render(request, template, {"form": form} | context, status=422 if form.is_bound else 200)


def refused(request: HttpRequest, page: str, *address: Any) -> Page:
    """Return what says why a form could not be saved on another page, which does not hold the form."""

    def tell(form: KitchenForm) -> HttpResponse:
        messages.error(request, " ".join(str(error) for errors in form.errors.values() for error in errors))
        return redirect(page, *address)

    return tell


IN_THE_TRASH = msg("{name} is in the trash.", name="")


def to_bin(request: HttpRequest, row: Record, then: Next, says: str = IN_THE_TRASH) -> HttpResponse:
    """Put a record in the bin and go on with a toast that offers to undo it.

    says: the sentence for history and toast
    """
    told = _named(says, row)
    row = records.put_in_bin(row, who=person(request), words=told)
    saved(request, row, told)
    return _onward(then, row)


def bin_view(
    model: type[Record], then: Next, says: str = IN_THE_TRASH, find: Callable[..., Any] | None = None
) -> Callable[..., HttpResponse]:
    """Return the view that puts a record in the bin.

    find: the row of an address; by its number ``pk`` when left out
    """

    def put_in_bin(request: HttpRequest, **address: Any) -> HttpResponse:
        row = find(**address) if find is not None else get_object_or_404(model, **address)
        return to_bin(request, row, then, says)

    marked: Any = put_in_bin
    marked.puts_in_bin = model
    return put_in_bin
