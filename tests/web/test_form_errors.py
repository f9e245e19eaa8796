"""What a form says after a mistake: at its field, what to enter, and no word that has a better one."""

import html
import re

import pytest
from django.test import Client
from django.utils import translation

from drystow.web.dryers.forms import ServiceForm
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit import records
from tests.error_cases import ADVICE, FORMS
from tests.web.page_form import fields_of
from tests.words_banned import banned_words

ERRORS = re.compile(r'<(p|ul|li|span)[^>]*class="[^"]*error[^"]*"[^>]*>(.*?)</\1>', re.DOTALL)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(("address", "field", "typed"), FORMS)
def test_a_refused_field_says_what_to_enter(
    client: Client, address: str, field: str, typed: str, language: str
) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"language": language}, expected=kitchen.version)
    address = address.format(dryer=records.create(Dryer(name="Bench", profile="bench-4")).pk)
    form = fields_of(client.get(address).content.decode())
    answer = client.post(address, form | {field: typed})
    translation.deactivate()
    assert answer.status_code in (200, 422)
    page = answer.content.decode()
    at = page.index(f'name="{field}"')
    told = [html.unescape(re.sub(r"<[^>]+>", " ", found[2])) for found in ERRORS.finditer(page)]
    near = " ".join(one for one in told if one.strip())
    assert near, page[at : at + 600]
    assert re.search(ADVICE[language], near, re.IGNORECASE), near
    assert list(banned_words(re.sub(r"'[^']*'|«[^»]*»", "", near), language)) == []
    assert not re.search("Ensure this|is required|valid choice|Asegúrese|obligatorio", near)


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_value_that_is_not_in_the_list_is_named(language: str) -> None:
    with translation.override(language):
        form = ServiceForm({"kind": "hammer", "on": "2026-03-14"}, row=Service())
        assert "hammer" in form.errors["kind"][0]
