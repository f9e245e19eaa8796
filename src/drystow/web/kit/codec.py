"""Values of the engine and of the pages as text for the database, and back again: pydantic on their own dataclasses.

A type needs nothing of its own for it. Its sentences are annotated as `Sentence`, so that they can be told in any
language afterwards; everything else, also what is not finite, comes back as it was.
"""

import hashlib
import json
from functools import cache
from typing import Annotated, Any, Generic, TypeVar, cast

from pydantic import ConfigDict, PlainSerializer, PlainValidator, TypeAdapter

from drystow.messages import Late
from drystow.web.kit.words import sentence_again, sentence_json

Value = TypeVar("Value")
WORDS_ALONE = ("title", "description", "default")
"""Keys of a schema that say nothing of the form."""


def _plain(text: str) -> str | dict[str, Any]:
    return sentence_json(text) if isinstance(text, Late) else str(text)


def _told(data: Any) -> str:
    if isinstance(data, str):
        return data
    try:
        return sentence_again(data)
    except (AttributeError, IndexError, KeyError, TypeError) as problem:
        raise ValueError("a sentence that cannot be told") from problem


Sentence = Annotated[
    str,
    PlainSerializer(_plain, return_type=str | dict[str, Any]),
    PlainValidator(_told, json_schema_input_type=str | dict[str, Any]),
]
"""A text that may be a message, a quantity or a day of the engine, to be told when it is shown."""


class Codec(Generic[Value]):
    """Writes values of one type as JSON, and reads them.

    form: hash of what values of the type look like; text of another form is not to be read
    """

    def __init__(self, kind: Any) -> None:
        # in a tuple, so that a dataclass takes the settings from here
        self._adapter: TypeAdapter[Any] = TypeAdapter(
            tuple[kind], config=ConfigDict(ser_json_inf_nan="constants", extra="forbid")
        )
        schema = json.dumps(_form_of(self._adapter.json_schema(mode="serialization")), sort_keys=True)
        self.form = hashlib.sha256(schema.encode()).hexdigest()

    def write(self, value: Value) -> str:
        """Return a value as text."""
        return self._adapter.dump_json((value,)).decode()

    def read(self, text: str) -> Value:
        """Return the value of a text; raises `ValueError` when it is none."""
        return cast(Value, self._adapter.validate_json(text)[0])

    def plain(self, value: Value) -> Any:
        """Return a value as plain data, for programs."""
        return self._adapter.dump_python((value,), mode="json")[0]


@cache
def codec(kind: Any) -> Codec[Any]:
    """Return the codec of a type, made when it is first needed."""
    return Codec(kind)


def _form_of(schema: Any) -> Any:
    if isinstance(schema, dict):
        return {name: _form_of(one) for name, one in schema.items() if name not in WORDS_ALONE or isinstance(one, dict)}
    return [_form_of(one) for one in schema] if isinstance(schema, list) else schema
