"""Keep what the whole program says, and show what is different after the code was rebuilt.

``take DIR`` writes the answer of every command on the examples, and the text of every page and file of a small demo
kitchen as three readers get it, each into a file of its own. ``compare DIR`` takes them again and prints what differs
from DIR; with a second folder it compares the two. Exit code 1: something differs.
"""

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path

from tools.golden.differences import differences

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


def main() -> int:
    """Take or compare, and return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tools.golden", description=__doc__)
    parser.add_argument("what", choices=("take", "compare"))
    parser.add_argument("folder", type=Path, help="of the take; replaced by `take`")
    parser.add_argument("other", type=Path, nargs="?", help="a second take to compare with, else this tree as it is")
    parser.add_argument("--only", choices=("commands", "pages"), help="leave the other half out")
    wanted = parser.parse_args()
    if wanted.what == "take":
        _replace(wanted.folder, wanted.only)
        return 0
    with tempfile.TemporaryDirectory(prefix="golden-") as folder:
        after = wanted.other or Path(folder) / "take"
        if wanted.other is None:
            _take(after, wanted.only)
        lines = list(differences(wanted.folder, after))
    sys.stdout.writelines(f"{line}\n" for line in lines)
    return 1 if lines else 0


def _replace(folder: Path, only: str | None) -> None:
    """Put a whole take in the place of an earlier one; anything else in its place is left alone."""
    if folder.exists() and {path.name.partition("-")[0] for path in folder.iterdir()} - {"commands", "pages"}:
        sys.exit(f"'{folder}' holds something else than a take; name another folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="golden-") as made:
        _take(Path(made) / "take", only)
        shutil.rmtree(folder, ignore_errors=True)
        shutil.move(Path(made) / "take", folder)


def _take(folder: Path, only: str | None) -> None:
    os.environ |= dict.fromkeys(ONE_THREAD, "1")  # before numpy is imported
    from tools.golden.commands import take_commands
    from tools.golden.pages import keep, take_pages

    for name in ("commands", "pages"):
        if only not in (None, name):
            continue
        with tempfile.TemporaryDirectory(prefix="golden-") as data:
            if name == "commands":
                keep(folder / name, dict(take_commands(Path(data))))
            else:
                take_pages(folder, Path(data))


if __name__ == "__main__":
    sys.exit(main())
