"""docs/pack-file.md names every field, container and material."""

from pathlib import Path

from drystow.packing import packfile
from drystow.packing.containers import containers, materials

TEXT = (Path(__file__).parents[2] / "docs" / "pack-file.md").read_text(encoding="utf-8")


def test_every_field_container_and_material_is_described() -> None:
    names = [*packfile.FILE, *packfile.FOOD, *packfile.CUSTOM, *packfile.SEASON, *containers(), *materials()]
    assert [name for name in names if name not in TEXT] == []
