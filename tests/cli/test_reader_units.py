"""What a command tells people: in the units asked for, with true minus signs, one of something in the singular."""

from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner

from drystow.cli.app import app
from tests.web.reader_units import in_other_units, miswritten, without_product_names
from tests.words_banned import banned_on_a_page

EXAMPLES = Path(__file__).parents[2] / "examples"
FOODS = (
    "Blueberries, raw", "Chicken, breast, boneless, skinless, raw", "Milk, whole", "Honey", "Butter, salted",
    "Potatoes, raw, skin", "Ice creams, vanilla",
)  # fmt: skip
QUICK = {
    "simulate": [],
    "dryness": ["--members", "60"],
    "outage": ["--at", "3 h", "--for", "9 h", "--room", "95 °F"],
    "best-program": ["--members", "20", "--steps", "1", "--highest", "50 degC"],
    "best-load": ["--members", "20"],
    "plan": ["--seconds", "0.5"],
    "season": ["--rounds", "1"],
    "pack": [],
    "label": [],
    "rehydrate": ["--fresh", "2 lb"],
    "show": [],
}
"""Every command that tells quantities, with what makes it quick."""


def words() -> list[tuple[str, ...]]:
    """Return every command with each shipped example that it reads."""
    loads, found = sorted(EXAMPLES.glob("*.toml")), []
    found += [(name, str(path)) for name in ("simulate", "outage") for path in loads]
    found += [("best-program", str(EXAMPLES / "berry-tray.toml"))]
    found += [("dryness", str(path)) for path in sorted((EXAMPLES / "dryness").glob("*.toml"))]
    found += [(name, str(path)) for name in ("pack", "label") for path in sorted((EXAMPLES / "packing").glob("*.toml"))]
    for path in sorted((EXAMPLES / "planning").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        tables = {"[[crop]]": "season", "[[arrival]]": "plan"}
        found.append((next((name for table, name in tables.items() if table in text), "best-load"), str(path)))
    return found + [("food", "show", food) for food in FOODS] + [("rehydrate", food) for food in FOODS[:3]]


def test_every_command_with_units_is_run() -> None:
    def with_units(group: Any) -> set[str]:
        names: set[str] = set()
        for name, command in group.commands.items():
            if hasattr(command, "commands"):
                names |= with_units(command)
            elif any(one.name == "units" for one in command.params):
                names.add(name)
        return names

    assert (
        with_units(typer.main.get_command(app))
        == set(QUICK)
        == {one[1] if one[0] == "food" else one[0] for one in words()}
    )


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("one", words(), ids=lambda one: "-".join(Path(part).stem for part in one))
def test_a_command_tells_people_in_the_units_that_were_asked_for(
    one: tuple[str, ...], units: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    name = one[1] if one[0] == "food" else one[0]
    answer = CliRunner().invoke(app, [*one, *QUICK[name], "--units", units])
    assert answer.exit_code == 0, answer.output
    lines = without_product_names(answer.stdout.splitlines())
    assert lines
    wrong = [*in_other_units(lines, units), *miswritten(lines)]
    assert not wrong, "\n".join(wrong)
    assert list(banned_on_a_page(answer.stdout, "en")) == []
