"""The pages in Spanish: nothing is left out of the catalogue, and whole pages speak it."""

import gettext
import re
from collections.abc import Iterator
from functools import cache

import pytest
from django.test import Client
from django.utils import translation
from tools.write_catalogue import CATALOGUE, catalogue, faults, marked, marked_in, read

from drystow.machine.profile import profile_names
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.pantry.models import Place
from drystow.web.site.demo import DemoLoad

known_texts = cache(read)
PLACEHOLDER = re.compile(r"%\(\w+\)[.0-9]*[a-z]|%%|\{\w+(?::[^{}]*)?\}")
PAGES = (
    "/batches/", "/batches/new/", "/pantry/", "/pantry/places/", "/pantry/add/", "/pantry/list/", "/foods/",
    "/foods/recipes/", "/foods/recipes/new/", "/foods/own/label/", "/dryers/", "/dryers/new/", "/costs/", "/settings/",
    "/history/", "/bin/", "/start/", "/data/", "/data/tokens/", "/accounts/", "/nowhere",
)  # fmt: skip


@pytest.fixture
def spanish() -> Iterator[None]:
    kitchen = records.kitchen()
    records.change(kitchen, {"language": "es"}, expected=kitchen.version)
    yield
    translation.deactivate()


def test_every_marked_text_has_its_spanish() -> None:
    known = known_texts()
    assert [text for text, _plural in marked() if not all(known.get(text, [""]))] == []


def test_the_catalogue_is_not_stale_and_standard_gettext_reads_it() -> None:
    messages, known = marked(), known_texts()
    assert faults(catalogue("es", messages, CATALOGUE), CATALOGUE) == []
    with CATALOGUE.with_suffix(".mo").open("rb") as file:
        standard = gettext.GNUTranslations(file)
    for text, plural in messages:
        if plural:
            assert [standard.ngettext(text, plural, count) for count in (1, 2)] == known[text]
        else:
            assert standard.gettext(text) == known[text][0]


def test_an_entry_of_the_catalogue_is_a_block_without_broken_lines_or_places() -> None:
    blocks = CATALOGUE.read_text(encoding="utf-8").split("\n\n")[1:]
    assert len(blocks) == len(marked())
    assert all(line.startswith(("#, ", "msgid", "msgstr")) for block in blocks for line in block.splitlines())


def test_translations_keep_every_placeholder() -> None:
    known = known_texts()
    for text, plural in marked():
        for english, spanish in zip((text, plural or text), known[text], strict=bool(plural)):
            assert set(PLACEHOLDER.findall(spanish)) == set(PLACEHOLDER.findall(english)), text


def test_texts_are_found_in_code_by_whatever_name_gettext_has_and_in_templates() -> None:
    code = "from django.utils.translation import gettext_lazy as later\nA = later('Tray')\nB = other('no')\n"
    assert marked_in("python", code) == [("Tray", "")]
    spoken = (
        "from drystow.messages import msg, msg_many as counted\n"
        "A = msg('{n} trays' if many else '1 tray', n=[f(msg('deep'))])\nB = msg(row['text'])\n"
        "C = counted('{count} jar', '{count} jars', 2)\n"
    )
    assert set(marked_in("python", spoken)) == {
        ("{n} trays", ""), ("1 tray", ""), ("deep", ""), ("{count} jar", "{count} jars"),
    }  # fmt: skip
    table = '[kale]\ntext = "2 min"\n[[leek]]\ntext = "3 min"\n[[leek]]\ntext = ["no"]\n'
    assert marked_in("table", table, fields="text") == [("2 min", ""), ("3 min", "")]
    page = (
        '<ul>\n  {% load i18n %}{% translate "Tray" %}\n {{ day|default:_("no day") }} isn’t (done'
        "{% blocktranslate count n=n %}{{ n }} day{% plural %}{{ n }} days{% endblocktranslate %}"
    )
    assert marked_in("template", page) == [("Tray", ""), ("no day", ""), ("{n} day", "{n} days")]


@pytest.mark.parametrize("address", PAGES)
def test_whole_pages_are_spanish(client: Client, spanish: None, address: str) -> None:
    records.create(Dryer(name="Secadora", profile=profile_names()[0]))
    records.create(Place(name="Bodega"))
    html = client.get(address).content.decode()
    assert '<html lang="es">' in html
    shown = {" ".join(text.split()) for text in re.findall(r">([^<>]+)<", re.sub(r"<script.*?</script>", "", html))}
    spanish_ones = {known[0] for known in known_texts().values()}
    english = {text for text, _plural in marked() if "{" not in text} - spanish_ones - {"English"}  # its own name
    assert shown & english == set()
    assert "Saltar al contenido" in shown


def test_the_demo_load_is_spanish_around_its_numbers(client: Client, spanish: None, demo: DemoLoad) -> None:
    html = client.get("/").content.decode()
    for words in ("Todo seco al cabo de unas", "Antes de empezar", "Secar no mata los gérmenes", "Hora a hora"):
        assert words in html


def test_a_refused_form_answers_in_spanish(client: Client, spanish: None) -> None:
    html = client.post("/pantry/places/", {"name": "", "warm": "", "humidity": "50%"}).content.decode()
    assert "Complete este campo." in html
