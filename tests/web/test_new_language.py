"""A new language is a catalogue and a line in the settings; pages, sheets and commands speak it.

The language is made up: every text stands in corner brackets, behind the number of its plural form. Its code is that of
a real one with three plural forms.
"""

import html
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.template import Context, Template
from django.test import Client, override_settings
from django.utils import translation
from pypdf import PdfReader
from tools.write_catalogue import catalogue, catalogue_path, compiled, faults, lacking, marked, pair, written
from typer.testing import CliRunner

from drystow.cli import output
from drystow.cli.app import app
from drystow.days import CLOCK
from drystow.messages import EXAMPLE, msg, msg_many, told
from drystow.web.kit import records
from drystow.web.kit.reader import reader
from tests.web.kitchen import ROOT

CODE, NAME = "pl", "Made up"


def bracketed(text: str, form: int | str = "") -> str:
    return "19:12" if text == CLOCK else f"{form}⟦{text}⟧"


@pytest.fixture(scope="module")
def locale(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the catalogue of the language, begun by the tool and filled in."""
    folder = tmp_path_factory.mktemp("locale")
    path = catalogue_path(CODE, folder)
    begun = catalogue(CODE, marked(), path)
    assert begun[EXAMPLE].string == "1\N{NO-BREAK SPACE}000,5%"  # Unicode CLDR, Polish
    assert len(lacking(begun)) == len(marked()) - len({EXAMPLE, "en"})
    path.parent.mkdir(parents=True)
    path.write_bytes(written(begun))
    filled = catalogue(CODE, marked(), path)
    assert filled.num_plurals == 3
    for message in filled:
        one, plural = pair(message.id)
        if plural:
            message.string = (bracketed(one, 0), bracketed(plural, 1), bracketed(plural, 2))
        elif one and not message.string:
            message.string = bracketed(one)
    path.write_bytes(written(filled))
    path.with_suffix(".mo").write_bytes(compiled(filled))
    assert faults(catalogue(CODE, marked(), path), path) == []
    return folder


@pytest.fixture
def spoken(locale: Path) -> Iterator[None]:
    """The line in the settings, and the language chosen for the kitchen."""
    with override_settings(LANGUAGES=[*settings.LANGUAGES, (CODE, NAME)], LOCALE_PATHS=[locale]):
        kitchen = records.kitchen()
        records.change(kitchen, {"language": CODE}, expected=kitchen.version)
        yield
        translation.deactivate()


def test_a_page_speaks_it(client: Client, spoken: None) -> None:
    page = html.unescape(client.get("/settings/").content.decode())
    assert f'<html lang="{CODE}">' in page
    assert f'<option value="{CODE}" selected>{NAME}</option>' in page
    shown = {" ".join(text.split()) for text in re.findall(r">([^<>]+)<", re.sub(r"<script.*?</script>", "", page))}
    assert shown & {text for text, _plural in marked() if len(text) > 4} - {"English"} == set()
    assert "⟦Settings⟧" in shown


@pytest.mark.parametrize(
    ("count", "form", "text"), [(1, 0, "tray"), (3, 1, "trays"), (5, 2, "trays"), (22, 1, "trays")]
)
def test_every_plural_form_is_spoken_by_the_engine_and_by_pages(spoken: None, count: int, form: int, text: str) -> None:
    page = (
        "{% load i18n %}{% blocktranslate count n=n %}{{ n }} change{% plural %}"
        "{{ n }} changes at once{% endblocktranslate %}"
    )
    changes = "change" if count == 1 else "changes at once"
    with translation.override(CODE):
        trays = msg_many("{count} tray", "{count} trays", count)
        assert told(msg("after {time}", time=trays), reader()).endswith(f"{form}⟦{count} {text}⟧")
        assert Template(page).render(Context({"n": count})) == f"{form}⟦{count} {changes}⟧"


def test_a_sheet_speaks_it(client: Client, spoken: None) -> None:
    answer = client.get("/pantry/list.pdf")
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    assert "⟦Pantry on" in text


def test_a_command_speaks_it(locale: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(output, "LOCALE", locale)
    monkeypatch.setenv(output.LANGUAGE, CODE)
    output.reader_in.cache_clear()
    sheet = tmp_path / "sheet.pdf"
    load = ROOT / "examples" / "berry-tray.toml"
    answer = CliRunner().invoke(app, ["simulate", str(load), "--sheet", str(sheet)])
    assert answer.exit_code == 0, answer.output
    assert "⟦Electricity" in answer.output
    assert "⟦Food⟧" in answer.output
    assert "⟦On the trays⟧" in " ".join(page.extract_text() for page in PdfReader(sheet).pages)
    output.reader_in.cache_clear()


def test_a_language_without_a_catalogue_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(output.LANGUAGE, "xx")
    answer = CliRunner().invoke(app, ["version"])
    assert str(answer.exception) == "DRYSTOW_LANGUAGE: 'xx' can't be used; write en or es"


def test_no_migration_is_needed(spoken: None) -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
