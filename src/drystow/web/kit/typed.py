"""Keeps what was typed for quantities of a record, for all forms in one way."""

from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.models import Record, Typed
from drystow.web.kit.records import kind_of


def show_typed(form: KitchenForm, record: Record) -> KitchenForm:
    """Return a form that shows the quantities of a record as they were typed, where they still mean what it has."""
    kept = Typed.objects.filter(kind=kind_of(record), object_id=record.pk).first()
    for name, text in (kept.texts if kept is not None else {}).items():
        if name in form.quantities:
            form.quantities[name].typed = str(text)
    return form


def keep_typed(form: KitchenForm, record: Record) -> None:
    """Keep what was typed into a form that was saved as a record; nothing where it is how the form shows it anyway."""
    own = form.quantities
    if not own:
        return
    where = {"kind": kind_of(record), "object_id": record.pk}
    kept = Typed.objects.filter(**where).first()
    before = kept.texts if kept is not None else {}
    texts = {name: text for name, text in before.items() if name not in own}
    for name, field in own.items():
        text = str(form[name].data or "").strip()
        if text and not field.is_usual(text):
            texts[name] = text
    if texts != before:
        Typed.objects.update_or_create(**where, defaults={"texts": texts})
