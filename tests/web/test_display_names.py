"""Records and their columns go by names that people read, in the history and where two edits meet."""

import re

from django.test import Client
from django.utils import translation

from drystow.sources import MARKS, SHORT_MARKS
from drystow.web.kit.differences import field_words, kind_words, record_kinds
from drystow.web.kit.display_names import FIELD_NAMES, KIND_NAMES
from drystow.web.kit.records import OWN_FIELDS
from tests.web.batch_rows import a_batch, an_item

BARE_UNIT = re.compile(r"(?<! per) (kg|g|m|m3|c|h|kwh|kcal|pa|min|sd)$")
COLUMN_WORDS = re.compile(r"^(At|Who|Text|Item|Extra\b(?! settings)|Tare|Shop|Seed|Channel)\b| at$|_")


def _names() -> dict[str, str]:
    return {
        f"{kind}.{field.name}": field_words(model, field.name)
        for kind, model in record_kinds().items()
        for field in model._meta.concrete_fields
        if field.name not in (*OWN_FIELDS, "binned_at")
    }


def test_no_field_of_any_record_is_shown_by_its_column_name() -> None:
    names = _names()
    assert {name: words for name, words in names.items() if BARE_UNIT.search(words) or COLUMN_WORDS.search(words)} == {}
    assert names["batches.item.mass_kg"] == "Weight"
    assert names["batches.weighing.tare_g"] == "Empty-tray weight"


def test_every_display_name_belongs_to_a_record() -> None:
    shown = set(_names().values())
    assert {words for words in FIELD_NAMES.values() if words not in shown} == set()
    assert set(KIND_NAMES) <= set(record_kinds())


def test_every_kind_and_field_has_its_spanish() -> None:
    english = [*_names().values(), *(kind_words(kind) for kind in record_kinds())]
    with translation.override("es"):
        spanish = [*_names().values(), *(kind_words(kind) for kind in record_kinds())]
    same = {one for one, other in zip(english, spanish, strict=True) if one == other}
    assert same <= {"Plan", "Sensor"}


def test_the_history_names_a_weight_a_weight(client: Client) -> None:
    an_item(a_batch(), mass_kg=1.6)
    page = client.get("/history/").content.decode()
    assert "<dt>Weight</dt><dd>3.5 lb</dd>" in page  # 1.6 kg, the international pound
    assert "Mass kg" not in page


def test_every_mark_of_a_source_has_a_word_for_the_page() -> None:
    assert set(SHORT_MARKS) == set(MARKS)
    assert not set(SHORT_MARKS.values()) & {"read", "memory", "class default", "calc"}
