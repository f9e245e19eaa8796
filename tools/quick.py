"""Check what you changed: types, and the tests of the packages and apps that differ from the last commit.

`make quick` runs it after the linter. The files that take longest, browsers and PostgreSQL are left to `make test`.
"""

import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from tests.conftest import LONGEST

ROOT = Path(__file__).parents[1]
ALWAYS = ("tests/test_*.py", "tests/engine/test_units.py", "tests/engine/test_loadfile.py",
          "tests/engine/test_examples.py", "tests/engine/test_machine_reference.py",
          "tests/laws/test_properties.py", "tests/web/test_migrations.py", "tests/web/test_records.py")  # fmt: skip
"""What nearly every change can break."""
FOLDERS = {"src/drystow/cli/": "tests/cli/test_{}*.py", "src/drystow/web/": "tests/web/test_{}*.py"}
"""Where the tests of a part stand; those of the engine have their own places."""
ENGINE = ("tests/engine/test_{}*.py", "tests/laws/test_{}*.py")
ELSEWHERE = {
    "src/drystow/cli/dryness.py": ["tests/cli/test_outage.py"],
    "src/drystow/cli/pack.py": ["tests/cli/test_pack_and_label.py"],
    "src/drystow/numerics/": ["tests/laws/test_drying_balance.py", "tests/laws/test_grid_order.py"],
    "src/drystow/web/kit/": ["tests/web/test_site_*.py", "tests/web/test_changed_meanwhile.py"],
    "src/drystow/web/packing/": ["tests/web/test_batches_packing*.py", "tests/web/test_batches_labels.py"],
    "src/drystow/web/season/": ["tests/web/test_plans_season*.py"],
}
"""Parts whose tests have other names."""


def patterns_of(path: str) -> list[str]:
    """Return the patterns of the test files that are about a changed file."""
    if path.startswith("tests/"):
        return [path] if Path(path).name.startswith("test_") else []
    more = [pattern for folder, patterns in ELSEWHERE.items() if path.startswith(folder) for pattern in patterns]
    for folder, pattern in FOLDERS.items():
        if path.startswith(folder):
            return [pattern.format(Path(path.removeprefix(folder)).parts[0].removesuffix(".py")), *more]
    if path.startswith("src/drystow/"):
        name = Path(path.removeprefix("src/drystow/")).parts[0].removesuffix(".py")
        return [*(pattern.format(name) for pattern in ENGINE), *more]
    return []


def files_for(changed: Iterable[str]) -> list[str]:
    """Return the test files for changed files, each once, without those that take longest."""
    patterns = [*ALWAYS, *(pattern for path in changed for pattern in patterns_of(path))]
    found = {str(file.relative_to(ROOT)): None for pattern in patterns for file in sorted(ROOT.glob(pattern))}
    return [name for name in found if name not in LONGEST and not name.startswith("tests/browser/")]


def changed_files() -> list[str]:
    """Return what differs from the last commit, with files that are new; what it changed when nothing does."""
    told = _git("status", "--porcelain", "--untracked-files=all")
    return [line[3:].split(" -> ")[-1] for line in told] or _git("diff", "--name-only", "HEAD~1", "HEAD")


def _git(*words: str) -> list[str]:
    done = subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def main() -> int:
    """Run the types beside the tests and return whether anything is wrong."""
    files = files_for(changed_files())
    print(f"{len(files)} test files:", *files, sep="\n  ", flush=True)
    types = subprocess.Popen([sys.executable, "-m", "mypy"], cwd=ROOT)
    tests = subprocess.run([sys.executable, "-m", "pytest", *files], cwd=ROOT, check=False)
    return int(types.wait() != 0 or tests.returncode != 0)


if __name__ == "__main__":
    sys.exit(main())
