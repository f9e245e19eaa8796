"""The label sheets to choose from: the common ones, and the one that the kitchen describes itself."""

from dataclasses import replace

from drystow.errors import InputError
from drystow.messages import msg
from drystow.reports.sheets import SHEETS, LabelSheet
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words

OWN = "own"


def own_sheet() -> LabelSheet | None:
    """Return the sheet that the kitchen describes, None when it describes none."""
    sizes = {name: value for name, value in kitchen().own_sheet.items() if name not in ("paper", "corner")}
    try:
        return LabelSheet(**sizes) if sizes else None
    except (InputError, TypeError):  # written by a program or an older version: it has to be described again
        return None


def all_sheets() -> dict[str, LabelSheet]:
    """Return every sheet by its name, the own one first."""
    own = own_sheet()
    return ({OWN: own} if own else {}) | SHEETS


def sheet_choices() -> list[tuple[str, str]]:
    """Return the label sheets to choose from, in words."""
    return [
        (name, in_words(msg("our own sheet: {sheet}", sheet=sheet.words) if name == OWN else sheet.words))
        for name, sheet in all_sheets().items()
    ]


def part_used(name: str, skip: int) -> LabelSheet:
    """Return a sheet of which so many labels are used already; raises `InputError` when it has not so many."""
    return replace(all_sheets()[name], skip=skip)
