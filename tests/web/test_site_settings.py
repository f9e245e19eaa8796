"""Settings: the kitchen in its own units, language and time."""

import re

from django.test import Client

from drystow.web.kit import records
from drystow.web.kit.models import Change

FOOT = 0.3048  # m, international foot (definition)

VALUES = {
    "name": "Alder Lane Kitchen",
    "units": "us",
    "language": "en",
    "time_zone": "America/Denver",
    "altitude_m": "5000 ft",
    "people": "40",
    "energy_kcal_day": "2200",
    "protein_g_day": "60",
    "currency": "$",
    "tariff_per_kwh": "0.21",
    "label_sheet": "a4-3x8",
    "paper": "a4",
    "version": "1",
}


def test_the_settings_are_saved_in_si(client: Client) -> None:
    assert client.get("/settings/").status_code == 200
    answer = client.post("/settings/", VALUES)
    assert (answer.status_code, answer["Location"]) == (302, "/settings/")
    kitchen = records.kitchen()
    assert abs(kitchen.altitude_m - 5000 * FOOT) < 1e-3
    assert (kitchen.people, kitchen.tariff_per_kwh, kitchen.label_sheet) == (40, 0.21, "a4-3x8")


def test_a_bare_altitude_counts_in_the_units_of_the_kitchen(client: Client) -> None:
    client.post("/settings/", VALUES | {"altitude_m": "1000"})
    assert abs(records.kitchen().altitude_m - 1000 * FOOT) < 1e-3


def test_a_wrong_value_comes_back_with_its_reason(client: Client) -> None:
    answer = client.post("/settings/", VALUES | {"altitude_m": "90000 ft", "time_zone": "Mars/Base"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "is out of range; enter" in html
    assert 'value="90000 ft"' in html
    assert 'id="id_time_zone_error"' in html
    assert records.kitchen().version == 1


def test_a_newer_change_of_the_same_field_is_told_and_saving_again_keeps_ours(client: Client) -> None:
    client.get("/settings/")
    records.change(records.kitchen(), {"people": 7}, expected=1, who="Ben")
    answer = client.post("/settings/", VALUES)
    html = answer.content.decode()
    assert "It now says “7”" in html
    version = re.search(r'name="version" value="(\d+)"', html)
    assert version is not None
    assert version[1] == "2"
    assert client.post("/settings/", VALUES | {"version": version[1]}).status_code == 302
    assert records.kitchen().people == 40


def test_saving_offers_to_undo_and_undoing_returns_to_the_page(client: Client) -> None:
    client.get("/settings/")
    page = client.post("/settings/", VALUES, follow=True).content.decode()
    last = Change.objects.get(version=2)
    assert f'action="/undo/{last.pk}/"' in page
    back = client.post(f"/undo/{last.pk}/", {"next": "/settings/"}, follow=True)
    assert back.redirect_chain[0][0] == "/settings/"
    assert "Undone." in back.content.decode()
    assert records.kitchen().people == 2


def test_the_clock_and_the_language_are_those_of_the_kitchen(client: Client) -> None:
    client.post("/settings/", VALUES)
    change = Change.objects.get(version=2)
    from zoneinfo import ZoneInfo

    hour = change.at.astimezone(ZoneInfo("America/Denver")).strftime("%-I:%M")
    assert hour in client.get("/history/").content.decode()
    assert '<html lang="en">' in client.get("/settings/").content.decode()
    records.change(records.kitchen(), {"language": "es"}, expected=2)
    assert '<html lang="es">' in client.get("/settings/").content.decode()


def test_an_unknown_time_zone_in_the_data_does_not_break_the_pages(client: Client) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"time_zone": "Nowhere/At_all"}, expected=1)
    assert client.get("/settings/").status_code == 200


def test_on_a_phone_three_places_stand_side_by_side_and_the_others_behind_one_word(client: Client) -> None:
    page = client.get("/batches/").content.decode()
    more = page[page.index('<details class="more">') : page.index("</details></nav>")]
    assert "<summary>More</summary>" in more
    assert re.findall(r'href="(/\w+/)"', more) == ["/foods/", "/dryers/", "/costs/", "/settings/", "/data/"]
    assert page.count('class="wide"') == 5


def test_the_word_names_the_place_where_one_is(client: Client) -> None:
    page = client.get("/settings/").content.decode()
    summary = page[page.index('<details class="more here">') : page.index("</summary>")]
    assert summary.endswith('<span class="unseen">More, now on </span><span class="place">Settings</span>')
