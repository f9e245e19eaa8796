"""Answers that were worked out and are kept: one that cannot be read, or is of another shape, is as if there were none.

It is emptied as it comes from the database, so that no page meets it, and asked for anew. Each model says its shapes;
whoever works its answers out says so with `worked_out_by`.
"""

from collections.abc import Callable, Collection, Mapping
from copy import deepcopy
from datetime import datetime
from functools import cache
from typing import Annotated, Any, ClassVar, Self

from django.db import models
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, TypeAdapter, ValidationError

from drystow.web.kit.words import sentence_again

_again: dict[type[models.Model], Callable[[int], None]] = {}


class Shape(BaseModel):
    """What an answer holds at least: every number finite, every type as it was written."""

    model_config = ConfigDict(strict=True, allow_inf_nan=False)


def _moment(text: str) -> str:
    datetime.fromisoformat(text)
    return text


def tellable(data: Any) -> Any:
    """Return a sentence as `words.sentence_json` keeps it, perhaps with more beside it; `ValueError` for other data."""
    if not isinstance(data, dict) or not isinstance(data.get("text"), str):
        raise ValueError("not a sentence")
    try:
        sentence_again(data)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as problem:
        raise ValueError("a sentence that cannot be told") from problem
    return data


Hours = Annotated[float, Field(ge=-1e6, le=1e6)]
"""A time that a calendar can show [h]."""
Moment = Annotated[str, AfterValidator(_moment)]
"""A moment or a day as text."""
Sentence = Annotated[dict[str, Any], BeforeValidator(tellable)]
"""A sentence as `words.sentence_json` keeps it."""


class KeptField(models.JSONField):
    """Keeps an answer; what is no JSON, however deep, comes out as the text that it is."""

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        """Return what was kept."""
        try:
            return super().from_db_value(value, expression, connection)
        except RecursionError:
            return str(value)

    def deconstruct(self) -> Any:
        """Return it as the field that it is for the database."""
        name, _path, arguments, options = super().deconstruct()
        return name, "django.db.models.JSONField", arguments, options


class Answer(models.Model):
    """What was worked out and can be worked out again."""

    emptied: ClassVar[Mapping[str, Any]] = {}
    """Further fields that say whether an answer is there, and their values when it is not."""
    unreadable = False
    """What stood in the database could not be read."""

    class Meta:
        abstract = True

    def shapes(self) -> Mapping[str, Any]:
        """Return the shape of each field that keeps an answer."""
        raise NotImplementedError

    @classmethod
    def from_db(cls, db: str | None, field_names: Collection[str], values: Collection[Any]) -> Self:
        """Return a row; one whose answer cannot be read is emptied and asked for anew."""
        row: Self = super().from_db(db, field_names, values)
        kept = row.__dict__
        bad = [name for name, shape in row.shapes().items() if name in kept and not fits(kept[name], shape)]
        if bad:
            row.unreadable = True
            for name in bad:
                setattr(row, name, cls._meta.get_field(name).get_default())
            for name, value in cls.emptied.items():
                setattr(row, name, deepcopy(value))
            if cls in _again:
                _again[cls](row.pk)
        return row


def worked_out_by(kind: type[models.Model], ask: Callable[[int], None]) -> None:
    """Note how an answer is asked for anew.

    kind: its model
    ask: has it worked out, by its primary key
    """
    _again[kind] = ask


def fits(value: object, shape: Any) -> bool:
    """Return whether what was kept has a shape."""
    try:
        _adapter(shape).validate_python(value, strict=True)
    except (ValidationError, RecursionError):
        return False
    return True


@cache
def _adapter(shape: Any) -> TypeAdapter[Any]:
    return TypeAdapter(shape)
