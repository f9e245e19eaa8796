"""Forms of records: what nobody touched stays exactly, and the history says what the person is told."""

from copy import copy
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from django.urls import get_resolver
from django.utils import translation

from drystow.web.dryers.forms import DryerForm
from drystow.web.dryers.models import Dryer
from drystow.web.foods.forms import RecipeForm
from drystow.web.foods.models import Recipe
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.kit.notices import UNDO
from drystow.web.kit.reader import reading_in
from drystow.web.kit.record_forms import CorrectingForm, RecordForm, bin_view, save_or_show
from drystow.web.kit.words import in_words
from tests.web.record_form_rows import CASES, EDITS, MORE, a_dryer, a_recipe, record_forms, sent_back

FORMS = record_forms()


def posted(data: Any = None) -> Any:
    request = RequestFactory().post("/", data or {}, SERVER_NAME="localhost")
    if data is not None:
        request.POST = data
    request._messages = CookieStorage(request)
    return request


def told(request: HttpRequest) -> list[tuple[str, str]]:
    return [(str(one.message), str(one.extra_tags)) for one in get_messages(request)]


def test_every_record_form_is_tried_here() -> None:
    assert set(FORMS) == set(CASES)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("place", [name for name, form in FORMS.items() if form.base_fields])
def test_a_row_that_nobody_touches_stays_exactly_as_it_is(place: str, units: str, language: str) -> None:
    row, options, typed = CASES[place]()
    with translation.override(language), reading_in(units):
        blank = FORMS[place](row=row, units=units, **options)
        form = FORMS[place](sent_back(blank, **typed), row=row, units=units, **options)
        assert form.is_valid(), form.errors
        mine = {form.columns.get(name) for name in typed}
        kept = {name: value for name, value in RecordForm.changes(form).items() if name not in mine}
        assert {name: value for name, value in kept.items() if (value or "") != (getattr(row, name) or "")} == {}


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("place", sorted(FORMS))
def test_every_quantity_of_a_row_comes_back_exactly(place: str, units: str) -> None:
    row, options, typed = CASES[place]()
    made = FORMS[place](row=row, units=units, **options)
    for name, field in made.quantities.items():
        if name not in made.columns:
            continue
        for share in (0.1234567890123, 0.5432109876543, 0.9):
            changed = copy(row)
            value = field.low + share * (field.high - field.low)
            setattr(changed, made.columns[name], value if (was := field.to_column(value)) == value else was + 1.2345e-4)
            shown = FORMS[place](row=changed, units=units, **options)
            form = FORMS[place](sent_back(shown, **typed), row=changed, units=units, **options)
            form.is_valid()
            stays = getattr(changed, made.columns[name])
            assert RecordForm.changes(form).get(made.columns[name], stays) == stays, (name, share)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("place", sorted(FORMS))
def test_a_form_leaves_one_sentence_in_the_history_and_tells_the_same(place: str, language: str) -> None:
    row, options, typed = CASES[place]()
    new = copy(row)
    new.pk, new.id = None, None
    new._state.adding = True
    if hasattr(row, "name"):
        new.name = f"{row.name} two"
    with translation.override(language), reading_in("si"):
        for one in (row,) if place in EDITS else (new, row):
            blank = FORMS[place](row=one, units="si", **options)
            free = ("notes", "method", "label", "host", "prepared")
            more = {name: "by-the-window" for name in free if name in blank.fields}
            more |= {name: f"{getattr(one, name)} {one.pk}" for name in ("name", "title") if name in blank.fields}
            more |= {"lot": f"L{one.pk}"} if "lot" in blank.fields else {}
            more |= MORE.get(place, {})
            request = posted(sent_back(blank, **(typed | more)))
            before = Change.objects.count()
            form = FORMS[place].of(request, row=one, units="si", **options)
            answer = save_or_show(request, form, lambda done: HttpResponse("done"), lambda form: HttpResponse("again"))
            assert answer.content == b"done", form.errors
            if isinstance(form, CorrectingForm):  # such rows are their own history
                assert (told(request), Change.objects.count()) == ([(in_words(form.said), "")], before)
                continue
            change = Change.objects.latest("pk")
            assert Change.objects.count() == before + 1, place
            ((words, tags),) = told(request)
            assert words.startswith(in_words(records.comment(change)))
            assert words.removeprefix(in_words(records.comment(change))).strip() == in_words(advised(form))
            assert tags == f"{UNDO}{change.pk}"


def advised(form: Any) -> str:
    rows = type(form.row).objects.all()
    return form.advice(rows.get(pk=form.row.pk) if form.row.pk else rows.latest("pk"))


def bins() -> dict[str, Any]:
    return {one.name: one for one in patterns(get_resolver().url_patterns) if hasattr(one.callback, "puts_in_bin")}


def patterns(found: list[Any]) -> Any:
    for one in found:
        yield from patterns(one.url_patterns) if hasattr(one, "url_patterns") else [one]


@pytest.mark.parametrize("language", ["en", "es"])
def test_each_view_to_the_bin_leaves_one_sentence_and_tells_the_same(language: str) -> None:
    rows: dict[type, Any] = {}
    for name, pattern in bins().items():
        model = pattern.callback.puts_in_bin
        if model not in rows:
            place = next(place for place, form in FORMS.items() if form.model is model)
            row = CASES[place]()[0]
            rows[model] = row if row.pk else records.create(row)
        row = rows[model]
        with translation.override(language):
            request = posted()
            pattern.callback(request, **address(list(pattern.pattern.converters), row))
        change = Change.objects.latest("pk")
        with translation.override(language):
            assert told(request) == [(in_words(records.comment(change)), f"{UNDO}{change.pk}")], name
        assert (change.action, change.object_id) == ("bin", row.pk)
        records.take_back(row)


def address(names: list[str], row: Any) -> dict[str, Any]:
    *above, own = names
    owners = {name: getattr(row, field) for field in ("batch_id", "plan_id", "season_id") if hasattr(row, field)
              for name in above}  # fmt: skip
    return owners | {own: row.pk}


def test_putting_something_in_the_bin_twice_offers_nothing_to_undo() -> None:
    row = a_dryer()
    view = bin_view(Dryer, lambda row: HttpResponse())
    view(posted(), pk=row.pk)
    request = posted()
    view(request, pk=row.pk)
    assert told(request) == [("Bench is in the trash.", "")]


def saved(row: Any, **typed: str) -> tuple[RecordForm, Any]:
    form = DryerForm(sent_back(DryerForm(row=row), **typed), row=row)
    return form, form.save("Ana")


def test_saving_without_a_difference_offers_nothing_to_undo() -> None:
    row = a_dryer()
    request = posted(sent_back(DryerForm(row=row)))
    save_or_show(request, DryerForm.of(request, row=row), lambda done: HttpResponse(), lambda form: HttpResponse())
    assert told(request) == [("Bench saved.", "")]
    assert Change.objects.filter(kind="dryers.dryer").count() == 1


def test_two_people_on_different_fields_both_keep_theirs() -> None:
    seen = a_dryer()
    page = sent_back(DryerForm(row=seen), notes="door sticks")
    records.change(seen, {"oil_hours_limit": 90.0}, expected=1, who="Ben")
    form = DryerForm(page, row=Dryer.objects.get())
    done = form.save("Ana")
    assert (done.notes, done.oil_hours_limit, done.version) == ("door sticks", 90.0, 3)


def test_saving_again_after_being_told_keeps_what_the_other_wrote_elsewhere() -> None:
    seen = a_dryer()
    page = sent_back(DryerForm(row=seen), notes="door sticks")
    others = {"notes": "new gasket", "oil_hours_limit": 90.0, "trap_valve": True}
    records.change(seen, others, expected=1, who="Ben")
    form = DryerForm(page, row=Dryer.objects.get())
    assert form.save("Ana") is None
    assert "new gasket" in str(form.errors["notes"])
    done = DryerForm(sent_back(form), row=Dryer.objects.get()).save("Ana")
    assert (done.notes, done.oil_hours_limit, done.trap_valve) == ("door sticks", 90.0, True)


def test_lines_of_a_recipe_that_nobody_touched_stay_exactly() -> None:
    row = a_recipe()
    form = RecipeForm(sent_back(RecipeForm(row=row), notes="", method="Simmer"), row=row)
    form.save("Ana")
    assert Recipe.objects.get().ingredients == row.ingredients


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("place", ["batches.forms.ProgramForm", "plans.planforms.PlanDryerForm"])
def test_steps_of_a_program_that_nobody_touched_stay_exactly(place: str, units: str) -> None:
    row, _options, _typed = CASES[place]()
    form: Any = FORMS[place](sent_back(FORMS[place](row=row, units=units)), row=row, units=units)
    assert form.is_valid()
    assert {name: value for name, value in form.changes().items() if value != getattr(row, name)} == {}
    cooler = sent_back(FORMS[place](row=row, units=units), **{"step-1-shelf": "35 °C"})
    form = FORMS[place](cooler, row=row, units=units)
    assert form.is_valid()
    assert form.changes()["program"] == [row.program[0], {"shelf_c": 35.0, "hours": None}]


def test_numbers_of_a_dryer_that_nobody_touched_stay_exactly() -> None:
    row = a_dryer()
    form = DryerForm(sent_back(DryerForm(row=row), notes="door sticks"), row=row)
    assert form.is_valid()
    assert form.changes() == {"notes": "door sticks", "numbers": row.numbers}


def test_a_food_that_came_from_elsewhere_keeps_its_composition_when_its_notes_are_changed() -> None:
    label = FORMS["foods.forms.FoodLabelForm"]
    row, _options, _typed = CASES["foods.forms.FoodLabelForm"]()
    assert label(sent_back(label(row=row), notes="ripe"), row=row).save().composition == row.composition


@pytest.mark.parametrize("words", ["own food", "recipe", "dryer", "service log"])
def test_the_history_of_earlier_versions_is_still_translated(words: str) -> None:
    with translation.override("es"):
        assert in_words(words) != words
