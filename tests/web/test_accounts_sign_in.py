"""Signing in on other devices: who gets in, how guessing is slowed down, what the cookies and headers say."""

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client, override_settings
from django.utils import timezone

from drystow.web.accounts import people, tokens
from drystow.web.accounts.models import FailedSignIn
from tests.web.lan import LAN, PASSWORD, device, sign_in


@pytest.fixture(autouse=True)
def house_network() -> Iterator[None]:
    with LAN:
        people.add("Ana", people.OWNER, PASSWORD)
        people.add("ben", people.HELPER, PASSWORD)
        yield


@pytest.mark.parametrize("address", ["/", "/load.toml", "/sheet.pdf", "/nowhere", "/accounts/", "/settings/?a=b"])
def test_every_address_asks_to_sign_in_first(address: str) -> None:
    answer = device().get(address)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/?next=%2F")


def test_writes_without_an_account_change_nothing() -> None:
    answer = device().post("/accounts/add/", {"name": "eve", "role": "owner", "password": PASSWORD})
    assert answer["Location"] == "/sign-in/?next=%2F"
    assert [person.name for person in people.everyone()] == ["Ana", "ben"]


def test_a_part_of_a_page_sends_the_whole_page_to_sign_in() -> None:
    answer = device().get("/", headers={"HX-Request": "true"})
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=%2F"


def test_a_program_without_a_real_token_reads_and_writes_nothing() -> None:
    for headers, status in (({}, 302), ({"Authorization": "Bearer dry_guess"}, 401)):
        assert device().get("/api/v1/packages", headers=headers).status_code == status
        assert device().post("/api/v1/batches", "{}", "application/json", headers=headers).status_code == status
    assert device().get("/pantry/", headers={"Authorization": "Bearer dry_guess"}).status_code == 302


def test_the_sign_in_page_shows_nothing_of_the_kitchen() -> None:
    html = device().get("/sign-in/").content.decode()
    assert "Sign in" in html
    assert '<nav class="places"' not in html
    assert "Ana" not in html


def test_after_signing_in_the_asked_page_opens() -> None:
    tablet = device()
    answer = sign_in(tablet, "ana", next="/?units=si")
    assert (answer.status_code, answer["Location"]) == (302, "/?units=si")
    assert tablet.get("/").status_code == 200
    assert tablet.get("/").headers["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "\\\\e"])
def test_signing_in_never_leads_elsewhere(away: str) -> None:
    assert sign_in(device(), "Ana", next=away)["Location"] == "/"


def test_a_wrong_password_is_told_without_saying_which_part_is_wrong() -> None:
    told = [sign_in(device(), name, "not the password").content.decode() for name in ("Ana", "nobody")]
    for html in told:
        assert "Name and password don’t match" in html
        assert 'role="alert"' in html
        assert "not the password" not in html


def test_a_sign_in_from_another_site_is_refused() -> None:
    tablet = device(strict=True)
    assert sign_in(tablet, "Ana").status_code == 403
    html = tablet.get("/sign-in/").content.decode()
    token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', html)
    assert token is not None
    assert sign_in(tablet, "Ana", csrfmiddlewaretoken=token[1]).status_code == 302


def test_guessing_one_name_from_many_addresses_has_to_wait() -> None:
    for last in range(5):
        assert sign_in(device(f"192.168.1.{last}"), "Ana", "guess").status_code == 200
    answer = sign_in(device("192.168.1.77"), "ANA ")
    assert answer.status_code == 429
    assert 25 <= int(answer.headers["Retry-After"]) <= 30
    assert "Too many failed attempts. Wait" in answer.content.decode()
    assert sign_in(device("192.168.1.77"), "ben").status_code == 302


@pytest.mark.parametrize("tries", [5, 40])
def test_guessing_from_one_address_shuts_the_owner_of_the_name_out_nowhere_else(tries: int) -> None:
    """However often, whatever the spelling of the name, and also when somebody mistypes at home meanwhile."""
    for number in range(tries):
        sign_in(device("192.168.1.66"), ("Ana", "ANA", " ana ")[number % 3], "guess")
    assert sign_in(device("192.168.1.66"), "Ana").status_code == 429
    home = device("192.168.1.31")
    for _mistyped in range(4):
        assert sign_in(home, "Ana", "wet leaves on the lwan").status_code == 200
    assert sign_in(home, "Ana").status_code == 302
    assert sign_in(device("192.168.1.66"), "Ana").status_code == 429  # the guesser still waits


def test_guessing_many_names_from_one_address_has_to_wait() -> None:
    for name in "cdefg":
        sign_in(device(), name, "guess")
    assert sign_in(device(), "Ana").status_code == 429
    assert sign_in(device("192.168.1.99"), "Ana").status_code == 302


def test_each_further_failure_waits_longer_up_to_a_quarter_of_an_hour_and_is_forgotten_after_one() -> None:
    keys, now = tokens.keys("Ana", "192.168.1.9"), timezone.now()
    for _ in range(5):
        assert tokens.begin_try(keys, now) == timedelta(0)
    waits = []
    for _ in range(8):
        wait = tokens.begin_try(keys, now)
        waits.append(wait.total_seconds())
        now += wait
        assert tokens.begin_try(keys, now) == timedelta(0)
    assert waits == [30, 60, 120, 240, 480, 900, 900, 900]
    assert tokens.begin_try(keys, now + timedelta(hours=2)) == timedelta(0)
    assert {row.count for row in FailedSignIn.objects.all()} == {1}


def test_an_address_counts_once_among_those_that_fail_for_a_name() -> None:
    for _try in range(4):
        for last in range(4):
            assert tokens.begin_try(tokens.keys("Ana", f"192.168.1.{last}")) == timedelta(0)
    assert FailedSignIn.objects.get(key="name:ana").count == 4


def test_success_forgets_the_failures_of_the_name_but_not_of_the_address() -> None:
    for _ in range(4):
        sign_in(device(), "Ana", "guess")
    assert sign_in(device(), "Ana").status_code == 302
    assert [(row.key, row.count) for row in FailedSignIn.objects.all()] == [("address:192.168.1.31", 4)]


def test_cookies_are_for_the_server_only_and_for_tls_only_where_there_is_tls() -> None:
    for tls in (False, True):
        with override_settings(SESSION_COOKIE_SECURE=tls, CSRF_COOKIE_SECURE=tls):
            cookies = sign_in(device(), "Ana").cookies
            for name in ("sessionid", "csrftoken"):
                assert cookies[name]["httponly"] is True
                assert cookies[name]["samesite"] == "Lax"
                assert bool(cookies[name]["secure"]) is tls


def test_signing_out_ends_the_session_on_the_server() -> None:
    tablet = device()
    sign_in(tablet, "Ana")
    stolen = tablet.cookies["sessionid"].value
    assert tablet.get("/sign-out/").status_code == 405
    assert tablet.post("/sign-out/")["Location"] == "/sign-in/"
    assert Session.objects.count() == 0
    thief = device()
    thief.cookies["sessionid"] = stolen
    assert thief.get("/").status_code == 302


@pytest.mark.parametrize("host", ["evil.example", "192.168.1.21", "kitchen.evil.example"])
def test_a_foreign_name_gets_no_answer(host: str) -> None:
    assert device().get("/sign-in/", headers={"Host": host}).status_code == 400


def test_without_other_devices_nobody_signs_in(client: Client) -> None:
    with override_settings(LAN=False, ALLOWED_HOSTS=["localhost"]):
        assert client.get("/sign-in/")["Location"] == "/"
        assert client.get("/").status_code == 200


def test_answers_say_that_no_page_uses_camera_place_or_microphone() -> None:
    headers = device().get("/sign-in/").headers
    assert {"camera=()", "geolocation=()", "microphone=()"} <= set(headers["Permissions-Policy"].split(", "))
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
