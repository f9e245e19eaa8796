"""What differs between two takes, short: the same difference at many places is told once."""

import difflib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

CONTEXT = 1
MOST_LINES = 40
"""Of one difference."""
MOST_PLACES = 6
"""Named for one difference."""
WIDTH = 300


def differences(before: Path, after: Path) -> Iterator[str]:
    """Yield the lines that tell how a take differs from an earlier one, nothing when they are the same."""
    old, new = _files(before), _files(after)
    alike: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name in sorted(old.keys() | new.keys()):
        if name not in new:
            yield f"GONE {name}"
        elif name not in old:
            yield f"NEW {name}"
        elif old[name] != new[name]:
            alike[tuple(_hunks(old[name], new[name]))].append(name)
    for lines, names in alike.items():
        yield f"CHANGED {names[0]}" + (f" and {len(names) - 1} more:" if names[1:] else ":")
        yield from (f"      {name}" for name in names[1:MOST_PLACES])
        if names[MOST_PLACES:]:
            yield f"      and {len(names) - MOST_PLACES} more"
        yield from (f"  {line if len(line) <= WIDTH else line[:WIDTH] + ' ...'}" for line in lines[:MOST_LINES])
        if lines[MOST_LINES:]:
            yield f"  ... {len(lines) - MOST_LINES} more lines"
    if old.keys() != new.keys() or alike:
        changed = sum(map(len, alike.values()))
        counts = f"{len(old.keys() - new.keys())} gone, {len(new.keys() - old.keys())} new, {changed} changed"
        yield f"{counts}, in {len(alike)} ways; {len(old.keys() & new.keys()) - changed} the same"


def _hunks(old: str, new: str) -> Iterator[str]:
    """Yield a unified difference, without its heading and without numbers of lines, which differ from page to page."""
    for line in list(difflib.unified_diff(old.splitlines(), new.splitlines(), n=CONTEXT, lineterm=""))[2:]:
        yield "@@" if line.startswith("@@") else line


def _files(folder: Path) -> dict[str, str]:
    if not folder.is_dir():
        raise FileNotFoundError(f"there is no take in '{folder}'; make one first: python -m tools.golden take {folder}")
    return {
        f"{path.parent.relative_to(folder)} {unquote(path.stem)}": path.read_text(encoding="utf-8")
        for path in sorted(folder.rglob("*.txt"))
    }
