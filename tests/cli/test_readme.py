"""The session in the README is what the command prints."""

from tests.cli.run import ROOT, drystow


def test_the_session_in_the_readme_is_real() -> None:
    printed = drystow("simulate", "examples/berry-tray.toml").stdout
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for line in printed.splitlines():
        assert line.rstrip() in readme
