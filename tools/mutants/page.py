"""The page: what was changed, and what noticed."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from tools.mutants.campaign import Verdict
from tools.mutants.change import FACTORS
from tools.mutants.registry import Constant
from tools.mutants.standing import STANDINGS, standing_of

PAGE = Path(__file__).parents[2] / "docs" / "mutants.md"
CHANGES = {
    "other": f"×{FACTORS['other']:g}",
    "transport": f"×{FACTORS['transport']:g}",
    "temperature": f"±{FACTORS['temperature']:g} K",
}
NOT_TRIED = "not tried yet"
VERDICTS = {"outside": "outside", "own": "only our own", "untested": "untested"}
HEAD = """# What would notice a wrong number

Made by `make mutants`; do not edit. Every physical constant, every coefficient of a formula and every number of a table
that the engine works with was made wrong on purpose, one at a time: by 30%, what carries heat, vapor, water or gas by a
factor of two, temperatures by 10 K; up, and where nothing noticed, down. Then the checks of [checks.md](checks.md) were
run that depend on it; which do was seen by moving all numbers of a file a little at once. All of it takes about an hour
of one core and half a gigabyte of memory.

- **outside**: a number from outside the project no longer agreed; the check that noticed first is named.
- **only our own**: nothing from outside noticed, but a definition kept in step, an example in a docstring or an allowed
  range did.
- **untested**: nothing noticed. The reason is told, and which check came nearest.

A number that is held only by ourselves or by nothing may be right all the same; nobody would know if it were not.
"""
COLUMNS = "| Number | Value | Change | Noticed | By, or why not |\n|---|---|---|---|---|\n"


def page_of(constants: Sequence[Constant], verdicts: Mapping[str, Verdict]) -> str:
    """Return the page.

    constants: of the registry
    verdicts: on each, by its key
    """
    parts = [HEAD, "## In short\n", _shares(constants, verdicts)]
    for name, words in STANDINGS.items():
        its = [constant for constant in constants if standing_of(constant).name == name]
        rows = "".join(_row(constant, verdicts[constant.key]) for constant in its)
        parts += [f"## {words[0].upper()}{words[1:]}\n", COLUMNS + rows]
    return "\n".join(parts)


def _shares(constants: Sequence[Constant], verdicts: Mapping[str, Verdict]) -> str:
    rows = ["| Numbers | Count | Noticed from outside | Only by our own | Untested |", "|---|---|---|---|---|"]
    sorts = {"constant": "constants", "formula": "coefficients of formulas", "row": "rows of tables"}
    for name, words in STANDINGS.items():
        its = [constant for constant in constants if standing_of(constant).name == name]
        if name == "sourced":
            for sort, what in sorts.items():
                rows.append(_share(f"{what}, {words}", [one for one in its if one.sort == sort], verdicts))
            rows.append(_share(f"all {words}", its, verdicts))
        else:
            rows.append(_share(words, its, verdicts))
    rows.append(_share("all", constants, verdicts))
    left = sum(verdict.by == NOT_TRIED for verdict in verdicts.values())
    words = f"\n{left} of the untested ones were not tried yet; `python -m tools.mutants --new` does.\n" if left else ""
    return "\n".join(rows) + "\n" + words


def _share(words: str, constants: Sequence[Constant], verdicts: Mapping[str, Verdict]) -> str:
    counts = {name: sum(verdicts[one.key].verdict == name for one in constants) for name in VERDICTS}
    total = max(len(constants), 1)
    return f"| {words} | {len(constants)} | " + " | ".join(f"{n} ({n / total:.0%})" for n in counts.values()) + " |"


def _row(constant: Constant, verdict: Verdict) -> str:
    standing = standing_of(constant)
    change = CHANGES[constant.kind]
    if verdict.way and verdict.verdict == "outside":
        change = change.replace("×", "÷") if verdict.way == "down" else change
        change = change.replace("±", "-" if verdict.way == "down" else "+")
    told = verdict.by if verdict.verdict != "untested" or verdict.by == NOT_TRIED else f"{standing.why}; {verdict.by}"
    value = constant.written if len(constant.written) <= 40 else constant.written[:37] + "..."
    cells = [constant.key, value, change, VERDICTS[verdict.verdict], told]
    return "| " + " | ".join(cell.replace("|", "/").replace("\n", " ") for cell in cells) + " |\n"


def rows_of(page: str) -> Iterator[tuple[str, str, str, str]]:
    """Yield key, value, change and last two cells of every row of a page.

    page: as it is kept
    """
    known = set(VERDICTS.values())
    for line in page.splitlines():
        cells = [cell.strip() for cell in line.split("|")[1:-1]]
        if len(cells) == 5 and cells[3] in known:
            yield cells[0], cells[1], cells[2], f"{cells[3]}|{cells[4]}"


def kept(page: str, constants: Sequence[Constant]) -> dict[str, Verdict]:
    """Return the verdicts of a page on constants that are still written as they were.

    page: as it is kept
    constants: of the registry
    """
    names = {words: name for name, words in VERDICTS.items()}
    known = {constant.key: constant for constant in constants}
    found = {}
    for key, value, change, rest in rows_of(page):
        constant = known.get(key)
        if (
            constant is None
            or rest.endswith(NOT_TRIED)
            or value.rstrip(".") != constant.written.replace("|", "/")[: len(value.rstrip("."))]
        ):
            continue
        verdict, told = rest.split("|", 1)
        name = names[verdict]
        why = standing_of(constant).why
        told = told.removeprefix(f"{why}; ") if name == "untested" else told
        way = ("down" if change.startswith(("÷", "-")) else "up") if name == "outside" else ""
        found[key] = Verdict(key, constant.written, name, way, told)
    return found
