"""``drystow outage``."""

import json
import re

from tests.cli.run import drystow

LOAD = "examples/berry-tray.toml"


def test_a_power_cut_is_told_for_each_tray_with_cautions() -> None:
    done = drystow("outage", LOAD, "--at", "3 h", "--for", "2 h")
    assert done.returncode == 0, done.stderr
    assert "Advice" in done.stdout
    assert "Caution: Never taste food" in done.stdout
    assert re.search(r"The run ends .+ later", done.stdout)


def test_an_opened_chamber_in_a_warm_room_is_worse() -> None:
    closed, opened = (
        json.loads(drystow("outage", LOAD, "--at", "3 h", "--for", "4 h", *more, "--json").stdout)
        for more in ((), ("--opened", "--room", "30 degC"))
    )
    assert opened["trays"][0]["above_4_c_s"]["middle"] >= closed["trays"][0]["above_4_c_s"]["middle"]
    assert opened["trays"][0]["core_k"]["middle"] > closed["trays"][0]["core_k"]["middle"]
    assert {"later_s", "cautions", "notes", "sources"} <= set(opened)


def test_what_is_no_time_is_refused_in_one_sentence() -> None:
    done = drystow("outage", LOAD, "--at", "soon", "--for", "2 h")
    assert done.returncode != 0
    assert "--at" in done.stderr
    assert "Traceback" not in done.stderr
