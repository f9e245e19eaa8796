"""Paper speaks a cook's language: no notes from the workshop, and no list of germs on a tray."""

from datetime import date

import pytest

from drystow.keeping.food_code import LOWEST_ACTIVITY, dryness_caution, packed_moist_caution
from drystow.machine.loadfile import read_load
from drystow.machine.run import simulate
from drystow.messages import Translate
from drystow.packing.packfile import read_pack
from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.reports.labels import label_pdf
from drystow.reports.package_plan import package_labels, package_plan, plan_sentences
from drystow.reports.sheets import SHEETS
from drystow.sources import MARKS
from tests.cli.run import ROOT
from tests.engine.pdf_reading import page_texts
from tests.engine.test_reports_labels_whole import LANGUAGES
from tests.web.workshop_words import WORKSHOP, workshop_words

PACKS = sorted((ROOT / "examples" / "packing").glob("*.toml"))


def papers(translate: Translate) -> dict[str, str]:
    """The text of every sheet and label, by what it is."""
    load = simulate(read_load(ROOT / "examples" / "mixed-load.toml"))
    sheet = batch_sheet_pdf(load, prepared_on=date(2027, 3, 12), translate=translate)
    found = {"batch sheet": " ".join(page_texts(sheet))}
    for path in PACKS:
        plan = package_plan(read_pack(path))
        labels = package_labels(plan)[:1]
        found[f"label of {path.stem}"] = " ".join(page_texts(label_pdf(labels, SHEETS["letter-2x5"], "us", translate)))
        found[f"plan of {path.stem}"] = " ".join((*plan_sentences(plan), *plan.cautions, *plan.notes))
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_paper_has_a_note_from_the_workshop(language: str) -> None:
    translate = LANGUAGES[language]
    for name, text in papers(translate).items():
        assert not workshop_words([text]), f"{name}: {WORKSHOP.search(text)}"
    for words in MARKS.values():
        assert not WORKSHOP.search(translate(words))


@pytest.mark.parametrize("activity", [0.61, 0.84, 0.86, 0.93, 0.99])
def test_moist_food_is_told_without_the_names_of_germs(activity: float) -> None:
    for told in (dryness_caution(activity), packed_moist_caution(activity)):
        assert told
        assert not any(str(name) in told for name in LOWEST_ACTIVITY)
        assert ("disease germs can grow" in told) == (activity >= 0.85)
