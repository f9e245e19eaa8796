"""Make every number of the engine wrong, one at a time, and write docs/mutants.md: what noticed.

Ended early, the same command goes on where it was as long as engine and checks are the same. ``--new`` tries only what
the page does not have yet, or has with another value, and keeps the rest of it. ``--so-far`` tries nothing and writes
what is known from page and journal.
"""

import argparse
import os
import re
import resource
import sys
from pathlib import Path

from tools.mutants.campaign import JOURNALS, Campaign, Verdict, digest
from tools.mutants.page import NOT_TRIED, PAGE, kept, page_of
from tools.mutants.registry import registry

GENTLY = 5
"""How far everybody else goes first, as `nice` counts it."""


def main() -> None:
    """Try what is asked for and write the page."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--new", action="store_true", help="only what the page does not have yet")
    asked.add_argument("--again", metavar="PATTERN", help="what the page does not have yet, and keys with this pattern")
    asked.add_argument("--only", metavar="PATTERN", default="", help="only keys with this pattern; others stay untried")
    asked.add_argument("--so-far", action="store_true", help="try nothing, write what is known")
    asked.add_argument("--journal", type=Path, help="what an earlier run kept, instead of that of this state")
    told = asked.parse_args()
    os.nice(GENTLY)
    constants = registry()
    page = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
    known = kept(page, constants) if told.new or told.again or told.so_far else {}
    if told.again:
        known = {key: verdict for key, verdict in known.items() if not re.search(told.again, key)}
    left = [constant for constant in constants if constant.key not in known]
    left = [constant for constant in left if re.search(told.only, constant.key)]
    campaign = Campaign(left, told.journal or JOURNALS / f"{digest()}.jsonl")
    verdicts = {**known, **(campaign.verdicts if told.so_far else campaign.run())}
    untried = [constant for constant in constants if constant.key not in verdicts]
    verdicts |= {one.key: Verdict(one.key, one.written, "untested", "", NOT_TRIED) for one in untried}
    PAGE.write_text(page_of(constants, verdicts), encoding="utf-8")
    outside = sum(verdict.verdict == "outside" for verdict in verdicts.values())
    largest = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) / 1e3
    print(f"{PAGE.name}: {len(constants)} numbers, {outside} noticed from outside", file=sys.stderr)
    print(f"{campaign.work / 60:.0f} minutes of checks, {largest:.0f} MB in the largest process", file=sys.stderr)


if __name__ == "__main__":
    main()
