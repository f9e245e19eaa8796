"""Write docs/addresses.md, every address with who may ask for it, from the views themselves; ``--check`` compares."""

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "docs" / "addresses.md"
HEAD = """# Addresses

Made from the views' own declarations by `make checks`; do not edit. Roles count only where other devices are let in: an
owner may all that a helper may, a helper all that a viewer may. `web/accounts/rights.py` keeps them.
"""
PAGES = "\n## Pages\n\n| address | look | send |\n|---|---|---|\n"
PROGRAMS = "\n## Programs\n\nEach with a token in the header; the token is made for reading, or for writing too.\n\n"
TABLE = "| operation | token |\n|---|---|\n"


def rows_of_pages() -> Iterator[str]:
    """Yield a row for every address of a page or a file."""
    from drystow.web.accounts.rights import addresses

    for route, declared in addresses():
        if not declared.programs:
            sends = f"{declared.writes}, for what helpers write" if declared.helpers else declared.writes
            looks = declared.reads or (f"led to `{declared.page}`" if declared.page else "–")
            yield f"| `/{route}` | {looks} | {sends or '–'} |\n"


def rows_of_programs() -> Iterator[str]:
    """Yield a row for every operation."""
    from drystow.web.data.api import operations

    for method, path, scope in operations():
        yield f"| {method} `{path}` | {scope} |\n"


def page() -> str:
    """Return the page; Django is set up."""
    return HEAD + PAGES + "".join(rows_of_pages()) + PROGRAMS + TABLE + "".join(rows_of_programs())


def main() -> None:
    """Write or compare the page."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DRYSTOW_DATA": folder, "DJANGO_SETTINGS_MODULE": "drystow.web.settings"}
        import django

        django.setup()
        text = page()
    if "--check" not in sys.argv:
        PAGE.write_text(text, encoding="utf-8")
    elif not PAGE.exists() or PAGE.read_text(encoding="utf-8") != text:
        sys.exit(f"{PAGE.relative_to(ROOT)} is stale: run `make checks` and commit it")


if __name__ == "__main__":
    main()
