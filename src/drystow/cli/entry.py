"""Entry point: the first help page is answered from a stored text, everything else by the commands.

Importing the command library costs more than printing a page, and the first thing a newcomer types is ``--help``.
`tests/cli/test_help.py` keeps the stored page equal to the real one.
"""

import sys

USAGE_ERROR = 2


def main() -> None:
    """Run the command line."""
    arguments = sys.argv[1:]
    if arguments in ([], ["--help"]) and not sys.flags.dev_mode:
        from pathlib import Path

        sys.stdout.write(Path(__file__).with_name("help.txt").read_text(encoding="utf-8"))
        return
    from drystow.cli.app import app
    from drystow.cli.output import (
        problem_here,
    )
    from drystow.errors import DrystowError

    try:
        app()
    except DrystowError as error:
        for problem in error.problems:
            print(f"Error: {problem_here(problem)}", file=sys.stderr)
        sys.exit(USAGE_ERROR)
