"""Many synthetic batches, on all cores, kept in a folder so that a run that was stopped goes on."""

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from tools.evidence.batch import ALL, Row, followed_batch, judged_batch

CHUNK = 5
ROOT = Path(__file__).parents[2]
WATCHED = (
    "src/drystow/evidence",
    "src/drystow/machine",
    "src/drystow/drying",
    "src/drystow/properties",
    "tools/evidence",
)
OUTSIDE = ("outage", "thawing", "words", "page", "scores", "plots", "run")  # no numbers of the judge or of the truth
KINDS: dict[str, Callable[[int, int, frozenset[str]], list[Row]]] = {"once": judged_batch, "followed": followed_batch}


def digest() -> str:
    """Return a short name of the programs that make the numbers: rows of another version are not used."""
    found = hashlib.sha256()
    for folder in WATCHED:
        for path in sorted((ROOT / folder).iterdir()):
            if path.suffix in (".py", ".toml") and not path.name.startswith(OUTSIDE):
                found.update(path.read_bytes())
    return found.hexdigest()[:12]


def run_batches(
    kind: str,
    seeds: Sequence[int],
    members: int,
    folder: Path | None = None,
    workers: int | None = None,
    differ: frozenset[str] = ALL,
) -> list[Row]:
    """Return the rows of many batches, those already in the folder first.

    kind: once or followed
    seeds: of the batches
    members: of the judge
    folder: where rows are kept; None: beside the temporary files, named after the version of the programs
    workers: processes; None: one per core
    differ: names of the differences between the truth and the judge's model
    """
    place = folder or Path(tempfile.gettempdir()) / "drystow-evidence" / digest()
    place.mkdir(parents=True, exist_ok=True)
    chunks = [tuple(seeds[at : at + CHUNK]) for at in range(0, len(seeds), CHUNK)]
    missing = [chunk for chunk in chunks if not _file(place, kind, chunk, members, differ).exists()]
    if missing:
        print(
            f"{kind}: {len(chunks) - len(missing)} of {len(chunks)} chunks are there; the rest into {place}", flush=True
        )
        with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
            waiting = {pool.submit(_run_chunk, kind, chunk, members, differ): chunk for chunk in missing}
            for done, future in enumerate(as_completed(waiting), start=1):
                path = _file(place, kind, waiting[future], members, differ)
                path.with_suffix(".part").write_text(json.dumps(future.result()), encoding="utf-8")
                path.with_suffix(".part").rename(path)
                if done % 10 == 0 or done == len(missing):
                    print(f"{kind}: {done} of {len(missing)}", flush=True)
    rows: list[Row] = []
    for chunk in chunks:
        rows += json.loads(_file(place, kind, chunk, members, differ).read_text(encoding="utf-8"))
    return rows


def _run_chunk(kind: str, seeds: tuple[int, ...], members: int, differ: frozenset[str]) -> list[Row]:
    return [row for seed in seeds for row in _attempt(kind, seed, members, differ)]


def _attempt(kind: str, seed: int, members: int, differ: frozenset[str]) -> list[Row]:
    try:
        return KINDS[kind](seed, members, differ)
    except Exception as problem:  # a batch that fails is counted and shown, not hidden
        return [{"seed": seed, "failed": f"{type(problem).__name__}: {problem}"}]


def _file(place: Path, kind: str, seeds: tuple[int, ...], members: int, differ: frozenset[str]) -> Path:
    without = "".join(f"-{name}" for name in sorted(ALL - differ))
    return place / f"{kind}-{members}-{seeds[0]}-{len(seeds)}{without}.json"
