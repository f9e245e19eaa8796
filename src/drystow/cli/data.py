"""``drystow backup``, ``restore`` and ``doctor``: the records of the kitchen, kept safe."""

import os
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from drystow.cli.output import (
    JsonOption,
    console,
    echo,
    print_json,
    table,
)
from drystow.messages import msg, msg_many

DemoOption = Annotated[bool, typer.Option("--demo", help="Use the demo's records.")]
NOT_HEALTHY = 1


def backup_command(
    file: Annotated[Path, typer.Argument(help="File to write.", metavar="FILE.zip")],
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
    demo: DemoOption = False,
) -> None:
    """Save all records and photos in one file."""
    from drystow.errors import InputError

    if file.exists() and (file.is_dir() or not force):
        raise InputError("FILE", msg("'{file}' is already there; name another one, or add --force", file=file))
    if not file.absolute().parent.is_dir():
        raise InputError("FILE", msg("there is no folder '{folder}'; create it first", folder=file.absolute().parent))
    from drystow.web.server import start_django

    start_django(demo)
    from drystow.web.data.backup import write_backup

    counts: dict[str, int] = {}
    try:
        handle, temporary = tempfile.mkstemp(dir=file.absolute().parent, prefix=".drystow-")
        try:
            with os.fdopen(handle, "wb") as stream:
                counts = write_backup(stream)
            os.replace(temporary, file)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as problem:
        raise InputError("FILE", msg("'{path}' cannot be written ({why})", path=file, why=problem.strerror)) from None
    echo(
        msg_many(
            "{count} record is in {file} ({size:.1f} MB); keep it elsewhere.",
            "{count} records are in {file} ({size:.1f} MB); keep it elsewhere.",
            sum(counts.values()),
            file=str(file),
            size=file.stat().st_size / 1e6,
        )
    )


def restore_command(
    file: Annotated[Path, typer.Argument(help="Backup to read.", metavar="FILE.zip")],
    replace: Annotated[bool, typer.Option("--replace", help="Replace the existing records.")] = False,
    demo: DemoOption = False,
) -> None:
    """Restore a backup: all of it or, if anything is wrong, nothing."""
    from drystow.errors import InputError

    try:
        stream = file.open("rb")
    except OSError as problem:
        raise InputError("FILE", msg("'{path}' cannot be read ({why})", path=file, why=problem.strerror)) from None
    from drystow.web.server import start_django

    with stream:
        start_django(demo)
        from drystow.web.data.restore import restore_backup

        done = restore_backup(stream, replace=replace)
    echo(
        msg(
            "{records} and {photos} restored.",
            records=msg_many("{count} record", "{count} records", sum(done.counts.values())),
            photos=msg_many("{count} photo", "{count} photos", done.media),
        )
    )
    if done.kept:
        echo(msg("What was there before is kept in {place}.", place=str(done.kept)))
    for note in done.notes:
        echo(msg("{heading}: {line}", heading="Note", line=note))


def doctor_command(
    mend: Annotated[
        bool, typer.Option("--mend", help="Mend a cut-off restore, photos, and books of the pantry.")
    ] = False,
    demo: DemoOption = False,
    as_json: JsonOption = False,
) -> None:
    """Check database, folders, disk, Drystow itself, photos and the books of the pantry; only --mend changes them."""
    from drystow.web.server import set_up_django

    set_up_django(demo)
    from drystow.web.data.health import checks

    found = list(checks())
    done = [(check.name, check.mend()) for check in found if mend and not check.ok and check.mend is not None]
    if done:
        found = list(checks())
    if as_json:
        told = [{"name": check.name, "ok": check.ok, "words": check.words} for check in found]
        print_json({"checks": told, "mended": dict(done)})
    else:
        from rich.markup import escape

        rows = table("", "", "What", "Found")
        for check in found:
            rows.add_row("ok" if check.ok else "PROBLEM", check.name, escape(check.words))
        console().print(rows)
        for name, words in done:
            echo(msg("Mended, {name}: {words}.", name=name, words=words))
    if not all(check.ok for check in found):
        raise typer.Exit(NOT_HEALTHY)
