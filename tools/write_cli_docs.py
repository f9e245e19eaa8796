"""Write docs/cli.md and the stored first help page from the commands themselves; ``--check`` compares instead."""

import sys
from pathlib import Path

import typer
from typer.testing import CliRunner

from drystow.cli.app import app

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "docs" / "cli.md"
HELP = ROOT / "src" / "drystow" / "cli" / "help.txt"
HEAD = "# Commands\n\nMade from the commands' own help by `make checks`; do not edit.\n"


def help_of(*words: str) -> str:
    """Return the help page of a command, plain and 100 columns wide."""
    result = CliRunner().invoke(app, [*words, "--help"], prog_name="drystow", env={"COLUMNS": "100", "NO_COLOR": "1"})
    return result.output


def commands() -> list[tuple[str, ...]]:
    """Return the words of every command and group."""
    found: list[tuple[str, ...]] = [()]
    group = typer.main.get_command(app)
    for name, command in sorted(group.commands.items()):  # type: ignore[attr-defined]
        found.append((name,))
        found += [(name, inner) for inner in sorted(getattr(command, "commands", {}))]
    return found


def main() -> None:
    """Write or compare the pages."""
    pages = {HELP: help_of()}
    parts = [f"\n## `{' '.join(('drystow', *words))}`\n\n```\n{help_of(*words).strip()}\n```\n" for words in commands()]
    pages[PAGE] = HEAD + "".join(parts)
    for path, text in pages.items():
        if "--check" in sys.argv:
            if not path.exists() or path.read_text(encoding="utf-8") != text:
                sys.exit(f"{path.relative_to(ROOT)} is stale: run `make checks` and commit it")
        else:
            path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
