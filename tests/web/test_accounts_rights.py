"""Every address declares who may look and who may send something, and lets in just them."""

import re
from collections.abc import Iterator

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings
from django.urls import path
from tools.write_addresses import PAGE, ROOT, page

from drystow.web.accounts import people
from drystow.web.accounts.rights import ANYONE, Right, addresses, reaches, right, right_of, rights_kept
from drystow.web.accounts.tokens import new_token
from drystow.web.data.api import api, operations
from drystow.web.data.api.access import READ, WRITE
from tests.web.lan import LAN, PASSWORD, device

WHO = ("nobody", "no role", *reversed(people.ROLES))
ROUTES = [(route, declared) for route, declared in addresses() if not declared.programs]


@pytest.fixture
def everybody() -> Iterator[dict[str, Client]]:
    """A device for nobody, for an account without a role, and for each role."""
    with LAN:
        found = {"nobody": device()}
        for name in WHO[1:]:
            people.add(name.replace(" ", "-"), people.VIEWER if name == "no role" else name, PASSWORD)
            found[name] = device()
        people.find("no-role").groups.clear()
        yield found


def ask(client: Client, who: str, method: str, route: str) -> HttpResponse:
    """Ask for an address with numbers of records that are not there."""
    address = "/" + re.sub(r"<[^>]*>", "x", re.sub(r"<int:\w+>", "987654321", route))
    if who != "nobody":  # anew each time: one of the addresses ends the session
        client.force_login(people.find(who.replace(" ", "-")))
    found: HttpResponse = client.get(address) if method == "GET" else client.post(address)
    return found


@pytest.mark.parametrize("who", WHO)
def test_each_address_lets_in_just_those_whom_its_view_declares(everybody: dict[str, Client], who: str) -> None:
    assert len(ROUTES) > 130
    for route, declared in ROUTES:
        for method, least in (("GET", declared.reads), ("POST", declared.writes)):
            answer = ask(everybody[who], who, method, route)
            told = f"{method} /{route} by {who}: {answer.status_code}, declared for {least}"
            if least != ANYONE and who == "nobody":
                assert answer.headers["Location"].startswith("/sign-in/"), told
            elif least is None:
                assert answer.status_code == (302 if method == "GET" and declared.page else 405), told
            elif not reaches(who, least) or (who == people.HELPER and declared.helpers and method == "POST"):
                assert answer.status_code == 403, told  # what is not there is no work of helpers either
            else:
                assert answer.status_code not in (401, 403, 405), told
                assert answer.status_code < 500, told


WHICH = {"dryer", "stage", "tray"}
"""What a button may choose: to what its address does the one thing that it does."""


def test_no_button_says_what_its_address_is_to_do() -> None:
    templates = [path.read_text(encoding="utf-8") for path in (ROOT / "src" / "drystow" / "web").rglob("*.html")]
    named = {name for text in templates for name in re.findall(r"<button\b[^>]*\bname=\"([^\"]+)\"", text)}
    assert named == WHICH


@pytest.mark.parametrize("method", ["put", "patch", "delete", "trace"])
def test_no_page_takes_another_method(client: Client, method: str) -> None:
    assert getattr(client, method)("/foods/recipes/new/").status_code == 405


def undeclared(_request: HttpRequest) -> HttpResponse:
    return HttpResponse("open to all")


declared_below = right(reads="viewer", writes="helper")(lambda _request: HttpResponse("declared"))
urlpatterns = [path("forgotten/", undeclared), path("declared/", declared_below)]


@pytest.mark.parametrize("lan", [False, True])
def test_a_view_that_declares_nothing_answers_nobody(lan: bool) -> None:
    guarded = rights_kept(lambda _request: HttpResponse("reached"))
    with override_settings(ROOT_URLCONF=__name__, LAN=lan), pytest.raises(ImproperlyConfigured, match="write @right"):
        guarded(RequestFactory().get("/forgotten/"))
    with override_settings(ROOT_URLCONF=__name__):
        assert guarded(RequestFactory().get("/declared/")).content == b"reached"
    with pytest.raises(ImproperlyConfigured, match="undeclared"):
        right_of(undeclared)


def test_who_may_use_the_forms_of_a_page_is_who_may_send_them_where_nothing_else_is_said() -> None:
    assert declared_below.right == Right("viewer", "helper", "helper")  # type: ignore[attr-defined]
    assert right_of(right(reads="viewer")(lambda: None)).forms == "owner"
    assert right_of(right(reads="viewer", forms="helper")(lambda: None)).forms == "helper"


def test_each_operation_declares_which_token_it_takes(client: Client) -> None:
    assert {scope for _method, _path, scope in operations()} == {READ.scope, WRITE.scope}
    described = client.get("/api/v1/openapi.json").json()["paths"]
    told = {(method.upper(), address.removeprefix("/api/v1")) for address, row in described.items() for method in row}
    assert {(method, re.sub(r"{\w+:", "{", address)) for method, address, _scope in operations()} == told


def test_an_operation_takes_just_the_token_that_it_declares(client: Client) -> None:
    secrets = {scope: new_token(scope, scope)[1] for scope in ("read", "write")}
    for method, address, scope in operations():
        sent = "/api/v1" + re.sub(r"{[^}]*}", "987654321", address)
        for token, secret in secrets.items():
            answer = client.generic(
                method, sent, "{}", "application/json", headers={"Authorization": f"Bearer {secret}"}
            )
            refused = scope == "write" and token == "read"
            assert (answer.status_code == 403) == refused, (method, sent, token, answer.status_code)


def test_an_operation_that_declares_nothing_answers_nobody(client: Client) -> None:
    assert api.auth is not None
    with pytest.raises(Exception, match="declares no right"):
        api.auth[0](RequestFactory().get("/"))  # type: ignore[index]


def test_the_list_of_addresses_is_in_step() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), (
        "run python -m tools.write_addresses and commit docs/addresses.md"
    )
