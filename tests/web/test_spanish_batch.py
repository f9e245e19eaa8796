"""A batch from the basket to the plate in Spanish: what the engine says, reports, history and numbers too."""

import html
import io
import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.utils import timezone, translation
from pypdf import PdfReader
from tools.write_catalogue import read

from drystow.web.batches.models import Batch, Item
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry.models import Package
from tests.web.batch_rows import BERRIES, CHICKEN, a_batch, a_weighing, an_item, on_tray
from tests.web.pantry_rows import place, today

PIECES = re.compile(r"%\(\w+\)[.0-9]*[a-z]|%%|\{\w+(?::[^{}]*)?\}")
LONG = 18
"""Signs from which a piece of a sentence is surely English and not a name or a unit."""


def english_pieces() -> set[str]:
    """Everything between the values of every sentence that has a Spanish of its own."""
    pieces: set[str] = set()
    for english, translations in read().items():
        if translations != [english]:
            pieces |= {" ".join(piece.split()) for piece in PIECES.split(english)}
    return {piece for piece in pieces if len(piece) >= LONG and " " in piece}


PIECES_OF_ENGLISH = english_pieces()


def said(client: Client, address: str) -> str:
    """The text of a page."""
    answer = client.get(address)
    assert answer.status_code == 200, address
    page = re.sub(r"<script.*?</script>|<svg.*?</svg>", " ", answer.content.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def printed(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def english_in(text: str) -> set[str]:
    return {piece for piece in PIECES_OF_ENGLISH if piece in text}


@pytest.fixture
def spanish() -> Iterator[None]:
    kitchen = records.kitchen()
    records.change(kitchen, {"language": "es", "units": "si"}, expected=kitchen.version)
    yield
    translation.deactivate()


@pytest.fixture
def batch(spanish: None) -> Batch:
    made = a_batch(stage="packing", started_at=timezone.now())
    on_tray(an_item(made, CHICKEN, shape="cube", size_m=0.01, mass_kg=0.7), 1, 0.7)
    on_tray(an_item(made, BERRIES, mass_kg=0.7, price=2.5), 2, 0.7)
    a_weighing(made, 8, 500.0)
    a_weighing(made, 8.5, 490.5)
    return made


STAGES = ("basket", "trays", "program", "running", "proof", "packing", "labels", "done", "curves")


@pytest.mark.parametrize("stage", STAGES)
def test_no_page_of_a_batch_has_an_english_sentence(client: Client, batch: Batch, stage: str) -> None:
    place()
    text = said(client, f"/batches/{batch.pk}/{stage}/")
    assert english_in(text) == set()
    assert not re.search(r"\d\.\d+ (kg|g|h|%|kWh|Pa|K)\b", text)


def test_what_the_engine_notes_and_refuses_stands_on_the_trays_in_spanish(client: Client, batch: Batch) -> None:
    text = said(client, f"/batches/{batch.pk}/trays/")
    assert "Alimento animal crudo comparte esta carga con alimento listo para comer" in text
    load = Item.objects.get(name=BERRIES.name).loads.get()
    records.change(load, {"mass_kg": 12.0}, expected=load.version)
    text = said(client, f"/batches/{batch.pk}/trays/")
    assert "por encima del borde de la bandeja" in text
    assert english_in(text) == set()


def test_refused_input_is_answered_in_spanish(client: Client, batch: Batch) -> None:
    item = Item.objects.get(name=BERRIES.name)
    data = {"food": item.food, "mass": "cinco", "shape": "sphere", "size": "900 mm", "faces": "1", "version": "1"}
    answer = client.post(f"/batches/{batch.pk}/basket/{item.pk}/", data).content.decode()
    assert "no empieza con un número; escriba un peso" in html.unescape(answer)
    assert "está fuera de rango; escriba de 0,2 mm a 200 mm" in html.unescape(answer)


def test_package_lot_history_and_papers_are_spanish(client: Client, batch: Batch) -> None:
    shelf = place()
    item = Item.objects.get(name=CHICKEN.name)
    data = {
        "item": item.pk, "dry": "120,5 g", "moisture": "2,5 %", "container": "jar-quart",
        "place": shelf.pk, "packed_on": today().isoformat(), "version": 1, "confirmed": "on",
    }  # fmt: skip
    client.post(f"/batches/{batch.pk}/packing/pack/", data)
    package = Package.objects.first()
    assert package is not None
    assert package.net_mass_kg * Package.objects.count() == pytest.approx(0.1205)
    use = {"mass": "10,5 g", "share": "", "version": package.version}
    client.post(f"/pantry/p/{package.code}/use/", use)
    undo = Change.objects.filter(kind="pantry.package").order_by("pk").last()
    assert undo is not None
    client.post(f"/undo/{undo.pk}/")
    for address in (f"/pantry/p/{package.code}/", f"/pantry/lot/{batch.lot}/", "/history/", "/costs/"):
        assert english_in(said(client, address)) == set(), address
    told = said(client, "/history/")
    for words in ("Usado: 11 g.", "deshecho: Usado: 11 g.", "envasado"):
        assert words in told
    sheet = printed(client.get(f"/batches/{batch.pk}/sheet.pdf").content)
    labels = printed(client.get(f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5&skip=0").content)
    stock = printed(client.get("/pantry/list.pdf").content)
    for text, words in (
        (sheet, ("En las bandejas", "Decide la báscula", "Página 1 de", "límite")),
        (labels, ("Peso neto", "Envasado el", "CRUDO: COCINAR ANTES DE COMER", "Añada")),
        (stock, ("Despensa al", "CRUDO: COCINAR", "1 paquete")),
    ):
        assert english_in(text) == set()
        assert not re.search(r"\d\.\d+ (kg|g|h|%|kWh|Pa|K)\b", text)
        for word in words:
            assert word in text, word


@pytest.mark.parametrize(
    ("language", "written", "shown"), [("es", "0,21", "0,21"), ("es", "0.21", "0,21"), ("en", "0.21", "0.21")]
)
def test_a_plain_number_takes_and_shows_the_decimal_sign_of_the_language(
    client: Client, language: str, written: str, shown: str
) -> None:
    kitchen = records.kitchen()
    kitchen = records.change(kitchen, {"language": language}, expected=kitchen.version)
    page = client.get("/settings/").content.decode()
    names = re.findall(r'<(?:input|select|textarea)[^>]* name="(\w+)"', page)
    values = dict(re.findall(r'<input[^>]* name="(\w+)" value="([^"]*)"', page))
    data = {name: values.get(name, getattr(kitchen, name, "")) for name in names} | {"tariff_per_kwh": written}
    client.post("/settings/", data)
    assert records.kitchen().tariff_per_kwh == 0.21
    assert f'name="tariff_per_kwh" value="{shown}"' in client.get("/settings/").content.decode()
    translation.deactivate()


def test_tables_keep_their_points_in_spanish(client: Client, batch: Batch) -> None:
    answer = client.get("/data/tables/items.csv")
    lines = b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
    assert ",0.7," in lines
