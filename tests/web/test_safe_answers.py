"""What no answer may do: load from elsewhere, answer strangers, show a foreign error page."""

import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from drystow.web.site.demo import DemoLoad

OUTSIDE = re.compile(r"https?://(?!www\.w3\.org/(?:2000/svg|1999/xlink)\b)[^\s\"'<>]+")
ADDRESSES = ("/", "/?units=si", "/load.toml", "/nowhere", "/static/site/app.css", "/static/site/icon.svg")


@pytest.mark.parametrize("address", ADDRESSES)
def test_no_answer_names_an_address_outside(client: Client, demo: DemoLoad, address: str) -> None:
    answer = client.get(address)
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert OUTSIDE.findall(body.decode()) == []


@pytest.mark.parametrize("address", [*ADDRESSES, "/sheet.pdf"])
def test_every_answer_allows_only_own_content(client: Client, demo: DemoLoad, address: str) -> None:
    answer = client.get(address)
    answer.close()
    policy = dict(part.split(" ", 1) for part in answer.headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "Access-Control-Allow-Origin" not in answer.headers


def test_the_page_has_no_inline_script_or_style(client: Client, demo: DemoLoad) -> None:
    html = client.get("/").content.decode()
    assert re.findall(r"<script(?![^>]*\bsrc=)", html) == []
    assert re.findall(r"<style|\sstyle=|\son[a-z]+=", html) == []


@pytest.mark.parametrize("host", ["kitchen.example", "127.0.0.1.example", "192.168.1.20", "localhost.example:8000"])
@pytest.mark.parametrize("address", ["/", "/sheet.pdf", "/static/site/app.css"])
def test_other_names_get_no_answer(client: Client, demo: DemoLoad, host: str, address: str) -> None:
    answer = client.get(address, headers={"Host": host})
    assert answer.status_code == 400
    assert "Drystow only answers at the addresses it printed" in answer.content.decode()


@pytest.mark.parametrize("host", ["localhost:8000", "127.0.0.1:8000", "[::1]:8000"])
def test_this_computer_gets_an_answer_by_each_of_its_names(client: Client, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 200


def test_an_unknown_page_is_ours(client: Client) -> None:
    answer = client.get("/no/such/page")
    assert answer.status_code == 404
    assert "Page not found" in answer.content.decode()
    assert 'href="/"' in answer.content.decode()


def test_a_form_without_its_token_is_refused_with_our_words() -> None:
    answer = Client(SERVER_NAME="localhost", enforce_csrf_checks=True).post("/batches/new/", {"a": "b"})
    assert answer.status_code == 403
    assert "This form has expired" in answer.content.decode()


def test_every_page_has_language_title_one_heading_and_landmarks(client: Client, demo: DemoLoad) -> None:
    for address in ("/", "/nowhere"):
        html = client.get(address).content.decode()
        assert '<html lang="en">' in html
        assert re.search(r"<title>[^<]{8,}</title>", html)
        assert html.count("<h1") == 1
        assert html.count("<main") == html.count("<header") == html.count("<footer") == 1
        assert 'href="#load"' in html


def _luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_words_stand_out_from_their_ground(scheme: int) -> None:
    """Contrast of at least 4.5 to 1: WCAG 2.1, success criterion 1.4.3 level AA, its formula from memory."""
    path = finders.find("site/app.css")
    assert isinstance(path, str)
    with open(path, encoding="utf-8") as file:
        block = re.findall(r":root \{(.*?)\}", file.read(), re.DOTALL)[scheme]
    colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block))
    pairs = [(ink, ground) for ink in ("ink", "muted", "accent", "warn-ink") for ground in ("paper", "card")]
    for ink, ground in [*pairs, ("warn-ink", "warn-paper"), ("on-accent", "accent"), ("chart-ink", "paper")]:
        light, dark = sorted((_luminance(colours[ink]), _luminance(colours[ground])), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, f"{ink} on {ground}"
