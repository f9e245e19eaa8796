"""What every command of the command line answers on every example that fits it."""

import os
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tools.golden import plain

EXAMPLES = "examples"
OF_EXAMPLES: dict[str, tuple[str, ...]] = {
    "*.toml": (
        "simulate {} --members 20 --json --series",
        "simulate {} --members 20 --units si --sheet out.pdf",
        "outage {} --at 9h --for 3h --json",
        "outage {} --at 9h --for 3h --opened --units si",
        "best-program {} --members 20 --steps 1 --json",
        "best-program {} --members 20 --steps 1",
    ),
    "dryness/*.toml": ("dryness {} --members 60 --json", "dryness {} --members 60 --units si"),
    "packing/*.toml": ("pack {} --json", "pack {}", "pack {} --units si", "label {} -o out.pdf"),
    "planning/*.toml": (
        "best-load {} --members 20 --json",
        "best-load {} --members 20 --units si --load out.toml",
        "season {} --rounds 2",
        "plan {} --workers 1 --seconds 2 --calendar out.ics",
    ),
}
"""Files below `examples` -> commands; one that does not fit a file says so, which is kept too."""
BESIDES = (
    *(
        "",
        "--help",
        "version",
        "nonsense",
        "simulate no-such-file.toml",
        "season examples/planning/garden.toml --rounds 2 --json",
    ),
    *("plan examples/planning/harvest-week.toml --workers 1 --seconds 2 --json", "food find bluberies"),
    *("food find corn --json", "food show strawberries, raw", "food show strawberries, raw --json --units si"),
    *("food show butter", "rehydrate strawberries, raw --fresh 2lb", "rehydrate carrots, raw --fresh 1kg --hot --json"),
    *("rehydrate corn --fresh much", "label examples/packing/chicken.toml --sheet letter-2x5 --count 3 -o out.pdf"),
    *("account list", "account add Ana --role owner --password-stdin", "account list", "account role Ana viewer"),
    *("backup out.zip", "backup out.zip", "restore out.zip", "restore out.zip --replace", "restore pyproject.toml"),
)
"""Further commands, in this order in one data folder."""
PASSWORD = "wet leaves on the lawn\n"
MADE = ("out.pdf", "out.toml", "out.ics", "out.zip")
READ = {".pdf": "application/pdf", ".zip": "application/zip"}
RUN = "from drystow.cli.entry import main; main()"


def take_commands(data: Path) -> Iterator[tuple[str, str]]:
    """Yield each command with how it ended, what it printed and the file it made.

    data: empty folder for records and files
    """
    (data / EXAMPLES).symlink_to(plain.ROOT / EXAMPLES)
    for pattern, commands in OF_EXAMPLES.items():
        for example in sorted((plain.ROOT / EXAMPLES).glob(pattern)):
            for command in commands:
                line = command.format(example.relative_to(plain.ROOT))
                yield line, _answer(line, data)
    for number, line in enumerate(BESIDES):
        yield f"{line} ({number})" if BESIDES.count(line) > 1 or not line else line, _answer(line, data)


def _answer(line: str, data: Path) -> str:
    words = shlex.split(line)
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "DRYSTOW_"))}
    environment |= {"DRYSTOW_DATA": str(data / "records"), "COLUMNS": "110", "NO_COLOR": "1"}
    environment |= {"PYTHONPATH": os.pathsep.join(map(str, (plain.ROOT / "src", plain.ROOT)))}
    done = subprocess.run(
        [sys.executable, "-c", RUN, *words], capture_output=True, cwd=data, env=environment, input=PASSWORD.encode()
    )
    parts = [f"exit code {done.returncode}", "printed:", done.stdout.decode(), "errors:", done.stderr.decode()]
    for name in MADE:
        if name in words and words[0] != "restore" and (path := data / name).exists():
            kind = READ.get(path.suffix, "text/plain")
            parts += [f"{name}:", plain.of_content(kind, path.read_bytes())]
            if path.suffix != ".zip":  # the next command wants it
                path.unlink()
    return plain.settled("\n".join(parts))
