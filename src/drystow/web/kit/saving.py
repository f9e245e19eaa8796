"""Save what a form holds; what cannot be saved comes back as a message beside the field."""

from collections.abc import Callable
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.web.kit.differences import field_words, is_lines, lines_apart, value_words
from drystow.web.kit.forms import KitchenForm, keep_typed
from drystow.web.kit.records import Conflict, Gone, Kind
from drystow.web.kit.words import in_words, problem_words


def try_to_save(form: KitchenForm, write: Callable[[], Kind]) -> Kind | None:
    """Return the written record, or None with the reasons on the form, which keeps what the person typed.

    form: bound and valid
    write: calls `records.create` or `records.change`
    """
    try:
        done = write()
        keep_typed(form, done)
        return done
    except Conflict as conflict:
        tell_conflict(form, conflict)
    except Gone:
        form.add_error(None, _("Someone moved this to trash meanwhile. Restore it first."))
    except ValidationError as problem:
        by_field = problem.error_dict if hasattr(problem, "error_dict") else {NON_FIELD_ERRORS: problem.error_list}
        for name, told in by_field.items():
            _add(form, form.field_of(name), told)
    except (InputError, InputErrors) as error:
        for one in error.problems:
            tell(form, one)
    return None


def tell(form: KitchenForm, problem: InputError, names: dict[str, str] | None = None) -> None:
    """Put an error of the engine beside its field, or above the form when the form has no such field.

    names: field of the engine -> field of the form, where they differ; those of the form when left out
    """
    name = (form.engine_names if names is None else names).get(problem.field, problem.field)
    _add(form, name, in_words(problem.message) if name in form.fields else problem_words(problem))


def tell_conflict(form: KitchenForm, conflict: Conflict) -> None:
    """Say what the other person wrote; saving again then keeps what stands in the form."""
    form.catch_up(conflict.record)
    for column, told in _meanwhile(conflict, form.units).items():
        name = form.field_of(column)
        _add(form, name, told if name in form.fields else f"{field_words(type(conflict.record), column)}: {told}")


def _meanwhile(conflict: Conflict, units: str) -> dict[str, str]:
    told = {}
    for name, (theirs, mine) in conflict.fields.items():
        if is_lines(theirs) and is_lines(mine):
            words = _("Someone changed this meanwhile: {apart}. Save again to keep yours.")
            told[name] = words.format(apart="; ".join(lines_apart(theirs, mine, units)))
        else:
            words = _("Someone changed this meanwhile. It now says “{theirs}”; save again to keep yours.")
            told[name] = words.format(theirs=value_words(type(conflict.record), name, theirs, units))
    return told


def _add(form: KitchenForm, name: str, told: Any) -> None:
    form.add_error(name if name in form.fields else None, told)
