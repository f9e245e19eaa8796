"""A take of what the program says: a page as plain lines, and what differs between two takes."""

import io
import sys
import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook
from tools.golden import plain
from tools.golden.__main__ import main
from tools.golden.pages import keep

PAGE = """<!doctype html><html lang="en"><head><title>Trays</title><style>p { color: red }</style>
<script>let nothing = "said";</script></head><body class="wide"><h1 id="top">Tray <em>2</em>: 3.4 <abbr>lb</abbr></h1>
<p>Dry after<br>18 h. <a href="/batches/7/?units=si#top">Look <b>closer</b></a>, then eat.</p>
<form method="post" action="/batches/7/"><input type="hidden" name="csrfmiddlewaretoken" value="KEY">
<input type="hidden" name="once" value="KEY"><label>Weight <input name="mass" value="2 lb" required></label>
<select name="shape"><option value="slab">flat</option><option value="cube" selected>cube</option></select>
<textarea name="notes">mine</textarea><button name="action" value="save">Save</button></form>
<div hx-get="/part/" hx-trigger="every 2s"><svg aria-label="Course"><path d="M0 0L9 9"/><text>40 °F</text></svg></div>
</body></html>"""
LINES = """[html lang=en]
Trays
Tray 2: 3.4 lb
Dry after
18 h. Look closer (to /batches/7/?units=si#top) , then eat.
[form action=/batches/7/ method=post]
[input type=hidden name=csrfmiddlewaretoken value=<random>]
[input type=hidden name=once value=<random>]
Weight
[input name=mass value=2 lb required]
[select name=shape]
[option value=slab] flat
[option value=cube selected] cube
[textarea name=notes] mine
[button name=action value=save] Save
[div hx-get=/part/ hx-trigger=every 2s]
[svg aria-label=Course]
40 °F
"""


def test_a_page_keeps_its_words_fields_and_links_and_nothing_of_its_looks() -> None:
    assert plain.of_content("text/html", PAGE.encode()) == LINES
    other_looks = PAGE.replace('class="wide"', 'class="narrow"').replace("M0 0L9 9", "M1 1").replace("KEY", "another")
    assert plain.of_content("text/html", other_looks.encode()) == LINES
    for word in ("18 h", "2 lb", "slab", "units=si", " selected", " required", 'name="notes"', "every 2s", "40 °F"):
        assert plain.of_content("text/html", PAGE.replace(word, "").encode()) != LINES, word


def test_files_become_text() -> None:
    book, content = Workbook(), io.BytesIO()
    book.active.append(["food", 1.25])
    book.save(content)
    assert plain.of_workbook(content.getvalue()) == "sheet Sheet\nfood,1.25\n"
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("b.bin", b"\x00")
        archive.writestr("a.json", '{"mass":"2 lb","written_at":"2026-11-30T17:57:13"}')
        archive.writestr("c.jsonl", '{"pk":1}\n{"pk":2}\n')
    assert plain.of_content("application/zip", content.getvalue()) == (
        'member a.json\n{\n "mass": "2 lb",\n "written_at": <now>\n}\nmember b.bin\n'
        'member c.jsonl\n{"pk":1}\n{"pk":2}\n'
    )


def test_a_planted_difference_is_found_and_told_once_for_all_its_places(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = {f"/batches/{number}/": f"batch {number}\nKeeps 5 years\nSave\n" for number in range(1, 10)}
    keep(tmp_path / "before" / "pages", answers | {"/gone/": "x"})
    keep(tmp_path / "same" / "pages", answers | {"/gone/": "x"})
    planted = {address: text.replace("Save", "Keep") for address, text in answers.items()}
    planted["/batches/3/"] = planted["/batches/3/"].replace("5 years", "50 years")
    keep(tmp_path / "after" / "pages", planted | {"/new/": "x"})

    def compare(other: str) -> tuple[int, list[str]]:
        words = ["compare", str(tmp_path / "before"), str(tmp_path / other)]
        monkeypatch.setattr(sys, "argv", ["golden", *words])
        return main(), capsys.readouterr().out.splitlines()

    assert compare("same") == (0, [])
    code, lines = compare("after")
    assert code == 1
    assert lines[:2] == ["GONE pages /gone/", "NEW pages /new/"]
    assert [line for line in lines if "50 years" in line] == ["  +Keeps 50 years"]
    assert sum(line == "  +Keep" for line in lines) == 2  # for eight batches together, and for the third
    assert lines[-1] == "1 gone, 1 new, 9 changed, in 2 ways; 0 the same"
