"""The counts of the structure, on a small house whose counts are plain to see."""

from pathlib import Path

import pytest
from tools import count_house

FILES = {
    "drystow/web/a/__init__.py": '"""A."""\n',
    "drystow/web/a/one.py": "from drystow.web.b import two\n\n\nclass Same:\n    pass\n",
    "drystow/web/b/__init__.py": "",
    "drystow/web/b/two.py": "from ..c.three import late\n\n\nclass Same(object):\n    pass\n",
    "drystow/web/c/__init__.py": "",
    "drystow/web/c/three.py": "def late():\n    import drystow.web.a.one  # only then\n",
    "drystow/web/d/__init__.py": "from drystow.web import a\n",
    "drystow/web/d/migrations/0001.py": "from drystow.web import d\n",
    "drystow/messages.py": (
        '"""Says."""\n\n# nothing\ndef table(x, y):\n    """Return it."""\n    print(f"{x:.1f} kg, {y!r} is wrong")\n'
        '    made = {"mass": f"{x!r} kg", "size": f"{y:.6g} mm", "name": f"{x} kg"}\n'
        '    made["time"] = f"{y!r} h"\n    return made, f"{x!r} m"\n'
    ),
}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_circles_are_found_also_where_an_import_waits_in_a_function(house: Path) -> None:
    modules = count_house.read(house)
    edges = count_house.edges_between(modules, "drystow.web", everywhere=True)
    a, b, c, d = (f"drystow.web.{name}" for name in "abcd")
    assert edges == {a: {b}, b: {c}, c: {a}, d: {a}}
    assert count_house.circles(edges) == [[a, b, c]]
    assert count_house.both_ways(edges) == []
    assert count_house.both_ways(edges | {a: {b, d}}) == [(a, d)]
    at_the_top = count_house.edges_between(modules, "drystow.web", everywhere=False)
    assert at_the_top[c] == set()
    assert count_house.circles(at_the_top) == []


def test_names_used_twice_and_numbers_written_to_be_parsed_again(house: Path) -> None:
    modules = count_house.read(house)
    assert count_house.classes_by_name(modules) == {"Same": ["drystow.web.a.one", "drystow.web.b.two"]}
    said = next(one for one in modules if one.name == "drystow.messages")
    assert count_house.written_again(said) == [7, 7, 8, 9]
    assert count_house.code_lines(said) == 5
    assert all("migrations" not in one.name for one in modules)


def test_what_stands_by_hand_between_rows_and_forms_is_found(tmp_path: Path) -> None:
    view = tmp_path / "drystow" / "web" / "a" / "views"
    view.mkdir(parents=True)
    (view / "page.py").write_text(
        "class Base: ...\n"
        "class Form(Base[Row]): ...\n"
        "class Own(Form): ...\n"
        "def row_initial(row): ...\n"
        "def remove(request):\n"
        "    row = records.put_in_bin(found, words='gone')\n"
        "    saved(request, row, 'Removed.')\n"
        "def add(request):\n"
        "    form = Form(request.POST if request.method == 'POST' else None)\n"
        "    more = Form(request.POST or None)\n"
        "    saved(request, done, form.said)\n"
        "    saved(request, None, 'Later.')\n"
    )
    modules = count_house.read(tmp_path)
    name = "drystow.web.a.views.page"
    assert count_house.between_rows_and_forms(modules) == [f"{name}.row_initial"]
    assert count_house.second_sentences(modules) == [f"{name}:7"]
    assert count_house.choices_of_post(modules) == [f"{name}:9", f"{name}:10"]
    assert count_house.views_to_the_bin(modules) == [f"{name}.remove"]
    assert count_house.subclasses(modules, "Base") == [f"{name}.Form", f"{name}.Own"]
