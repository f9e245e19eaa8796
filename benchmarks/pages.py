"""How fast every page answers: `python -m benchmarks.pages`, on the database in DRYSTOW_DATA.

Fill that folder once with ten years of rows (`manage.py migrate`, `manage.py fill_large`). What the pages need
besides, a batch in every stage among them, is added in a transaction that is taken back at the end. The seconds are
those of this machine: wall time, and beside it the time that this process computed, which says more on a busy one.
"""

import argparse
import gzip
import os
import re
import statistics
import time
from collections.abc import Iterator
from dataclasses import dataclass

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "drystow.web.settings")
django.setup()

from django.db import connection, transaction  # noqa: E402
from django.test import Client  # noqa: E402
from django.urls import URLPattern, URLResolver, get_resolver, reverse  # noqa: E402

from drystow.web.accounts.tokens import new_token  # noqa: E402
from drystow.web.batches.models import Batch, Item, Load  # noqa: E402
from drystow.web.demo.fill import fill  # noqa: E402
from drystow.web.demo.year import OPEN_STAGES  # noqa: E402
from drystow.web.dryers.models import Dryer, MachineTest  # noqa: E402
from drystow.web.foods.models import OwnFood, Recipe  # noqa: E402
from drystow.web.pantry.models import Package, Place  # noqa: E402
from drystow.web.plans import making  # noqa: E402
from drystow.web.plans.models import Choice, Crop, Lot, Plan, PlanDryer, Season  # noqa: E402
from drystow.web.season import trying  # noqa: E402

LIMIT_MS = 150.0
FIRST_LOAD_KB = 300.0
PLAN_SECONDS = 2.0
LATE = 99_999
FILL_FIRST = "this database holds no packages of finished batches; fill it first: manage.py fill_large"
LINKED = re.compile(r'(?:href|src)="(/static/[^"]+)"')
NOT_PAGES = {
    "account-add", "account-remove", "account-role", "batch-began", "batch-bin", "batch-dry-on", "batch-end",
    "batch-happening", "batch-happening-remove", "batch-item-remove", "batch-move", "batch-rise",
    "batch-sample", "batch-start", "channel-bin", "data-load-in", "data-restore", "data-token-revoke",
    "dryer-bin", "dryer-learn", "dryer-use-taught", "machine-test-bin", "machine-test-use", "own-food-bin",
    "package-do", "plan-again", "plan-bin", "plan-book", "plan-copy", "plan-dryer-remove", "plan-lot-remove",
    "readings-check", "recipe-bin", "restore", "season-bin", "season-choice-remove", "season-crop-remove",
    "season-example", "season-try", "service-bin", "service-new", "sign-out", "undo",
}  # fmt: skip
"""Addresses that only take what was written."""
ACCOUNTS = {"accounts", "password", "sign-in"}
"""Only with accounts; signing in is slow on purpose."""
ELSEWHERE = {"load", "load-file", "batch-photo"}
"""The demo load, which is not of the database, and photos, which are files."""


@dataclass(frozen=True)
class Page:
    """One address to measure.

    name: of its URL pattern
    address: with its query
    headers: to send
    """

    name: str
    address: str
    headers: dict[str, str]


@dataclass(frozen=True)
class Figures:
    """What was measured of a page.

    status: of the answer
    wall_ms: median
    cpu_ms: median of the time that this process computed
    queries: questions to the database
    page_kb: compressed
    first_kb: with the files that it links, compressed
    """

    status: int
    wall_ms: float
    cpu_ms: float
    queries: int
    page_kb: float
    first_kb: float


def pages() -> Iterator[Page]:
    """Yield the pages of every app on rows of the database."""
    done = Batch.objects.kept().filter(stage="done").order_by("pk").first()
    package = Package.objects.kept().filter(state="stored").order_by("-pk").first()
    assert done is not None, FILL_FIRST
    assert package is not None, FILL_FIRST
    place = Place.objects.kept().order_by("pk")[0]
    firsts = {model: model._default_manager.order_by("pk")[0].pk for model in (Dryer, OwnFood, Recipe)}
    plain: dict[str, tuple[dict[str, object], tuple[str, ...]]] = {
        "batches": ({}, ("", "?page=2", f"?page={LATE}", "?q=strawb", "?q=beans+corn", "?q=L0042", "?q=zzz")),
        "batch-new": ({}, ("",)),
        "pantry": (
            {},
            (
                "", "?by=date&page=400", f"?by=date&page={LATE}", "?by=food", f"?by=food&page={LATE}", "?by=lot",
                f"?by=lot&page={LATE}", "?by=place", f"?by=place&page={LATE}", "?state=all", "?state=all&by=food",
                "?state=all&by=place", f"?state=all&page={LATE}", "?state=gone", "?state=gone&by=lot", "?state=open",
                "?state=stored&by=place", "?q=berries", "?q=berries&by=place", "?q=straw+test", "?q=l0042", "?q=zzz",
                "?q=e&state=all", f"?q=berries&page={LATE}", "?q=test+place+3&by=food",
            ),
        ),
        "pantry-add": ({}, ("",)),
        "pantry-count": ({}, ("", f"?place={place.pk}", f"?place={place.pk}&page={LATE}")),
        "pantry-list": ({}, ("", "?page=200", f"?page={LATE}")),
        "pantry-list-pdf": ({}, ("",)),
        "pantry-stock": ({}, ("", "?span=weeks", "?span=years", "?span=years&food=Strawberries")),
        "places": ({}, ("",)),
        "place": ({"pk": place.pk}, ("", f"?page={LATE}")),
        "lot": ({"lot": package.lot}, ("",)),
        "package": ({"code": package.code}, ("",)),
        "foods": ({}, ("", "?q=strawberries", "?q=chicken+breast")),
        "food-pick": ({}, ("?q=chicken+breast",)),
        "food": ({"food_id": "f00503"}, ("",)),
        "own-food": ({"pk": firsts[OwnFood]}, ("",)),
        "own-food-edit": ({"pk": firsts[OwnFood]}, ("",)),
        "own-food-label": ({}, ("",)),
        "own-food-moisture": ({}, ("",)),
        "recipes": ({}, ("",)),
        "recipe-new": ({}, ("",)),
        "recipe": ({"pk": firsts[Recipe]}, ("",)),
        "recipe-edit": ({"pk": firsts[Recipe]}, ("",)),
        "dryers": ({}, ("",)),
        "dryer-new": ({}, ("",)),
        "dryer": ({"pk": firsts[Dryer]}, ("",)),
        "dryer-edit": ({"pk": firsts[Dryer]}, ("",)),
        "costs": ({}, ("", "?year=all", f"?year=all&page={LATE}")),
        "settings": ({}, ("",)),
        "start": ({}, ("",)),
        "history": (
            {}, ("", "?page=200", f"?page={LATE}", "?kind=batches.batch", f"?kind=pantry.package&page={LATE}"),
        ),
        "bin": ({}, ("",)),
        "data": ({}, ("",)),
        "data-tokens": ({}, ("",)),
        "data-load-out": ({"pk": done.pk}, ("",)),
        "data-csv": ({"name": "batches"}, ("",)),
        "data-xlsx": ({"name": "dryers"}, ("",)),
    }  # fmt: skip
    for name, (values, queries) in plain.items():
        for query in queries:
            yield Page(name, reverse(name, kwargs=values) + query, {})
    yield from _dryer_pages(firsts[Dryer])
    yield from _plan_pages()
    yield from _batch_pages(done)
    yield from _interface(done, package)


def _dryer_pages(dryer: int) -> Iterator[Page]:
    for name in ("dryer-readings", "readings-csv", "readings-file", "machine-tests"):
        yield Page(name, reverse(name, args=[dryer]), {})
    for kind, _words in MachineTest.KINDS:
        yield Page("machine-test-new", reverse("machine-test-new", args=[dryer, kind]), {})
    yield Page("live", reverse("live"), {})
    yield Page("label-sheet", reverse("label-sheet"), {})


def _plan_pages() -> Iterator[Page]:
    """Yield what the planner shows, after a plan and a season were worked out."""
    plan, season = Plan.objects.kept().order_by("-pk")[0], Season.objects.kept().order_by("-pk")[0]
    making.SECONDS = PLAN_SECONDS
    making.work_out(plan.pk)
    trying.work_out(season.pk)
    for name in ("plans", "plan-new", "plan-from-file", "seasons", "season-new"):
        yield Page(name, reverse(name), {})
    for name in ("plan", "plan-lots", "plan-dryers", "plan-edit", "plan-file", "plan-calendar", "plan-pdf"):
        yield Page(name, reverse(name, args=[plan.pk]), {})
    for name in ("season", "season-crops", "season-choices", "season-edit"):
        yield Page(name, reverse(name, args=[season.pk]), {})
    for name, model in (("plan-lot", Lot), ("plan-dryer", PlanDryer)):
        yield Page(name, reverse(name, args=[plan.pk, model.objects.filter(plan=plan)[0].pk]), {})
    for name, model in (("season-crop", Crop), ("season-choice", Choice)):
        yield Page(name, reverse(name, args=[season.pk, model.objects.filter(season=season)[0].pk]), {})


def _batch_pages(done: Batch) -> Iterator[Page]:
    """Yield every stage, of a batch that is in it and of one that is done; the last of a stage is the added one."""
    for stage in (*OPEN_STAGES, "done"):
        batch = Batch.objects.kept().filter(stage=stage).order_by("-pk")[0]
        names = {f"batch-{stage}", "batch-trays", "batch-program", "batch-curves"} - {"batch-done"} | (
            {
                "best-load",
                "best-program",
                "batch-running",
                "batch-weighing",
                "batch-proof",
                "batch-done",
                "batch-labels-pdf",
                "batch-sheet",
            }
            if stage == "labels"
            else set()
        )
        for name in sorted(names if stage != "basket" else {"batch-basket"}):
            yield Page(name, reverse(name, args=[batch.pk]), {})
    for name in ("batch", "batch-edit", "batch-basket", "batch-packing", "batch-labels", "batch-done", "batch-proof"):
        yield Page(name, reverse(name, args=[done.pk]), {})
    item = Item.objects.kept().filter(batch=done)[0]
    yield Page("batch-item", reverse("batch-item", args=[done.pk, item.pk]), {})
    load = Load.objects.kept().filter(item__batch__stage="trays").order_by("-pk")[0]
    htmx = {"HTTP_HX_REQUEST": "true"}
    yield Page("batch-curves", reverse("batch-curves", args=[load.item.batch_id]), htmx)


def _interface(done: Batch, package: Package) -> Iterator[Page]:
    """Yield what programs ask."""
    headers = {"HTTP_AUTHORIZATION": f"Bearer {new_token('benchmark', 'read')[1]}"}
    base = "/api/v1/"
    for path in ("openapi.json", "batches", "batches?page=99", f"batches/{done.pk}", f"batches/{done.pk}/weighings",
                 "packages", "packages?page=1999", "packages?q=berries", "packages?q=berries&page=400",
                 "packages?state=stored&page=700", f"packages/{package.code}", "places", "foods?q=chicken",
                 "foods/f00503"):  # fmt: skip
        yield Page("api", base + path, headers)


def names(patterns: list[URLPattern | URLResolver] | None = None) -> set[str]:
    """Return the names of all URL patterns outside the interface for programs."""
    found: set[str] = set()
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLPattern):
            found.add(str(pattern.name))
        elif pattern.namespace is None:
            found |= names(pattern.url_patterns)
    return found


def measure(client: Client, page: Page, repeats: int) -> Figures:
    """Return what a page takes, after one request to warm up."""
    content, status = _get(client, page)
    walls, computed = [], []
    for _ in range(repeats):
        wall, cpu = time.perf_counter(), time.process_time()
        _get(client, page)
        walls.append((time.perf_counter() - wall) * 1e3)
        computed.append((time.process_time() - cpu) * 1e3)
    asked: list[str] = []
    with connection.execute_wrapper(lambda run, sql, *rest: (asked.append(sql), run(sql, *rest))[1]):
        _get(client, page)
    packed = len(gzip.compress(content, 6)) / 1e3
    files = sum(_file_kb(client, path) for path in sorted(set(LINKED.findall(content.decode("utf-8", "replace")))))
    return Figures(status, statistics.median(walls), statistics.median(computed), len(asked), packed, packed + files)


_sizes: dict[str, float] = {}


def _file_kb(client: Client, path: str) -> float:
    if path not in _sizes:
        answer = client.get(path, HTTP_ACCEPT_ENCODING="gzip")
        _sizes[path] = len(b"".join(answer.streaming_content) if answer.streaming else answer.content) / 1e3
    return _sizes[path]


def _get(client: Client, page: Page) -> tuple[bytes, int]:
    answer = client.get(page.address, **page.headers)
    return (b"".join(answer.streaming_content) if answer.streaming else answer.content), answer.status_code


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="pages whose name or address has these letters")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--over", type=float, default=0.0, help="show only pages above this many ms of wall time")
    wishes = parser.parse_args()
    with transaction.atomic():
        if not all(Batch.objects.kept().filter(stage=stage).exists() for stage in OPEN_STAGES):
            fill(batches=len(OPEN_STAGES))
        listed = [page for page in pages() if wishes.only in page.name + page.address]
        _table(listed, wishes.repeats, wishes.over)
        transaction.set_rollback(True)
    if not wishes.only:
        missing = names() - {page.name for page in listed} - NOT_PAGES - ACCOUNTS - ELSEWHERE - {"data-workbook"}
        print(f"not measured: {', '.join(sorted(missing)) or 'none'}")


def _table(listed: list[Page], repeats: int, over: float) -> None:
    client, slow = Client(SERVER_NAME="localhost"), 0
    print(f"{'page':<74} {'wall ms':>8} {'CPU ms':>8} {'queries':>8} {'KB':>7} {'first':>7}")
    for page in listed:
        found = measure(client, page, repeats)
        late = found.wall_ms >= LIMIT_MS or found.first_kb >= FIRST_LOAD_KB
        slow += late
        if found.wall_ms >= over:
            words = f"{page.name}: {page.address}" + (f" [{found.status}]" if found.status != 200 else "")
            print(
                f"{words[:74]:<74} {found.wall_ms:>8.1f} {found.cpu_ms:>8.1f} {found.queries:>8}"
                f" {found.page_kb:>7.1f} {found.first_kb:>7.1f} {'SLOW' if late else ''}",
                flush=True,
            )
    print(f"{len(listed)} pages, {slow} at {LIMIT_MS:.0f} ms or {FIRST_LOAD_KB:.0f} KB or more")


if __name__ == "__main__":
    main()
