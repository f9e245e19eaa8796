"""Words that belong to the workshop: on a page, a sheet or a label they would tell a cook nothing."""

import re

from drystow.keeping.food_code import LOWEST_ACTIVITY

WORKSHOP = re.compile(
    r"nobody had|from memory|de memoria|document open|documento abierto|class default|engineering default"
    r"|no published source|sin fuente publicada|placeholder value|read in the document|(?:^|[(>])memory\b",
    re.IGNORECASE,
)
GERMS = re.compile("|".join(sorted({str(name).split(",")[0].split()[0] for name in LOWEST_ACTIVITY})))
MOST_GERMS = 2
"""Names of germs that may stand in one place."""


def workshop_words(lines: list[str]) -> list[str]:
    """Return the lines with words of the workshop, or with more names of germs than a cook reads."""
    return [line for line in lines if WORKSHOP.search(line) or len(set(GERMS.findall(line))) > MOST_GERMS]
