"""`make quick` tests what was changed."""

import pytest
from tools.quick import ALWAYS, ROOT, files_for, patterns_of

from tests.conftest import LONGEST


@pytest.mark.parametrize(
    ("changed", "tested"),
    [
        ("src/drystow/web/pantry/models.py", "tests/web/test_pantry_lot.py"),
        ("src/drystow/web/dryers/templates/dryers/dryer.html", "tests/web/test_dryers_pages.py"),
        ("src/drystow/cli/dryness.py", "tests/cli/test_outage.py"),
        ("src/drystow/packing/containers.toml", "tests/engine/test_packing_plan.py"),
        ("src/drystow/packing/containers.toml", "tests/laws/test_packing.py"),
        ("src/drystow/units.py", "tests/engine/test_units.py"),
        ("tests/web/test_files.py", "tests/web/test_files.py"),
    ],
)
def test_the_tests_of_a_changed_file_are_run(changed: str, tested: str) -> None:
    assert tested in files_for([changed])


def test_every_package_of_the_engine_and_app_of_the_web_has_tests_that_are_found() -> None:
    parts = [path for folder in ("src/drystow", "src/drystow/web") for path in sorted((ROOT / folder).iterdir())]
    packages = [part for part in parts if (part / "__init__.py").exists() and part.name not in ("cli", "web")]
    names = [f"{part.relative_to(ROOT)}/any.py" for part in packages]
    without = [name for name in names if not any(list(ROOT.glob(pattern)) for pattern in patterns_of(name))]
    assert without == []


def test_what_every_change_can_break_is_run_always_and_what_takes_longest_never() -> None:
    assert all(list(ROOT.glob(pattern)) for pattern in ALWAYS)
    assert "tests/test_import_order.py" in files_for([])
    assert not set(files_for(["src/drystow/cli/simulate.py", *LONGEST])) & set(LONGEST)
