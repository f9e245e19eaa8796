"""Typo-tolerant search over food names: which rows a few words mean, best first."""

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

WORD = re.compile(r"[a-zà-ÿ]+(?:'[a-z]+)?|\d+%?")
SKIP = frozenset(
    ("a", "an", "and", "as", "at", "by", "for", "from", "in", "of", "on", "or", "the", "to", "with", "without")
)
SAME = {
    # what people say: what the table says
    "courgette": "zucchini",
    "aubergine": "eggplant",
    "coriander": "cilantro",
    "rocket": "arugula",
    "swede": "rutabaga",
    "beetroot": "beet",
    "maize": "corn",
    "sweetcorn": "corn",
    "prawn": "shrimp",
    "mince": "ground",
    "minced": "ground",
    "yoghurt": "yogurt",
    "porridge": "oatmeal",
    "crisp": "chip",
    "chilli": "chili",
    "garbanzo": "chickpea",
    "capsicum": "pepper",
    "mangetout": "snowpea",
    "satsuma": "tangerine",
    "linseed": "flaxseed",
    "sultana": "raisin",
    "filbert": "hazelnut",
    "scallion": "onion",
    "gammon": "ham",
    "ketchup": "catsup",
    "cantaloup": "cantaloupe",
    "rockmelon": "cantaloupe",
    "pawpaw": "papaya",
    "groundnut": "peanut",
}
PHRASES = {
    "icecream": "ice cream",
    "oat meal": "oatmeal",
    "egg plant": "eggplant",
    "spring onion": "green onion",
    "french bean": "green bean",
    "runner bean": "green bean",
    "broad bean": "broadbeans",
    "double cream": "heavy cream",
}
GROUPS = frozenset(
    ("fish", "nut", "seed", "spice", "crustacean", "mollusk", "squash", "summer", "winter", "game", "candy", "snack")
)
"""Words that open a name only to file it (``Fish, salmon, raw``)."""

OPTIONAL = frozenset(("raw", "fresh", "plain", "whole", "ripe", "organic", "homemade", "large", "small", "some"))
"""Words of a query that a name may lack."""

NUDGE = {
    # words nobody typed that make a name more likely (above -0.3, the price of any other word) or less
    "raw": 1.2,
    "fresh": 0.5,
    "nfs": 0.3,
    "whole": 0.3,
    "plain": 0.3,
    "ripe": 0.0,
    "sweet": 0.0,
    "yellow": -0.1,
    "green": -0.1,
    "red": -0.2,
    "cooked": -0.1,
    "boiled": -0.1,
    "boneless": -0.1,
    "skinless": -0.1,
    "grade": 0.0,
    "dried": -0.7,
    "dry": -0.7,
    "powder": -0.7,
    "skin": -0.8,
    "flesh": 0.8,
    "includes": 0.8,
    "giblet": -1.5,
    "pickled": -0.7,
    "canned": -0.5,
    "frozen": -0.4,
    "sweetened": -0.5,
    "juice": -0.6,
    "baby": -0.6,
    "honey": -0.6,
    "excluding": 1.2,
    "imitation": -1.0,
    "substitute": -1.0,
    "native": -0.5,
    "ingredient": -1.0,
    "oil": -0.8,
}


def fold(word: str) -> str:
    """Return a word without its plural ending.

    >>> fold("blueberries"), fold("potatoes"), fold("peas"), fold("asparagus")
    ('blueberry', 'potato', 'pea', 'asparagus')
    """
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("oes", "ches", "shes", "sses", "xes")):
        return word[:-2]
    if len(word) > 4 and word.endswith("aves"):
        return word[:-3] + "f"
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


@dataclass(frozen=True)
class Index:
    """The words of every name, ready to be searched.

    names: names of the foods, in table order
    words: folded words of each name
    heads: number of words before the first comma of each name
    rows: for each word, the rows whose name has it
    """

    names: Sequence[str]
    words: list[tuple[str, ...]]
    heads: list[int]
    rows: dict[str, list[int]]


def build_index(names: Sequence[str]) -> Index:
    """Return the search index of a list of food names."""
    folded = dict.fromkeys(SKIP, "")
    words: list[tuple[str, ...]] = []
    heads: list[int] = []
    rows: dict[str, list[int]] = defaultdict(list)
    for row, name in enumerate(names):
        found: list[str] = []
        for part in name.lower().split(",", 1):
            for word in WORD.findall(part):
                if word not in folded:
                    folded[word] = fold(word)
                if folded[word]:
                    found.append(folded[word])
            if len(heads) == row:
                heads.append(len(found))
        words.append(tuple(found))
        for key in set(found):
            rows[key].append(row)
    return Index(names, words, heads, dict(rows))


def _alike(word: str, index: Index) -> dict[str, float]:
    """Return the words of the index that a typed word can stand for, each with how well it fits (up to 1)."""
    fits: dict[str, float] = {}
    target = SAME.get(word, word)
    for exact in (target, word):
        if exact in index.rows:
            fits[exact] = 1.0
    if len(target) >= 3:
        for key in index.rows:
            if key.startswith(target) and key not in fits:
                fits[key] = 0.5 + 0.3 * len(target) / len(key)
    if not any(fit == 1.0 for fit in fits.values()) and len(target) > 3:
        edits = 1 if len(target) <= 4 else 2 if len(target) <= 8 else 3
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        known = [*index.rows, *SAME]
        for key, distance, _ in process.extract(target, known, scorer=OSA.distance, score_cutoff=edits, limit=8):
            fit = 0.9 - 0.1 * distance - (0.0 if key[0] == target[0] else 0.1)
            meant = SAME.get(key, key)
            if meant in index.rows:
                fits[meant] = max(fits.get(meant, 0.0), fit)
    return fits


def _score(row: int, chosen: list[dict[str, float]], wished: set[str], index: Index) -> float:
    words, head = index.words[row], index.heads[row]
    score = 0.0
    matched: set[int] = set()
    for order, fits in enumerate(chosen):
        best, where = 0.0, -1
        for position, word in enumerate(words):
            fit = fits.get(word, 0.0) - 0.02 * position
            if word in fits and fit > best:
                best, where = fit, position
        if where < 0:
            score -= 6.0
            continue
        matched.add(where)
        score += 10.0 * best / len(chosen)
        if where == order:
            score += 1.0 / len(chosen)
    if not matched:
        return -1e9
    start = 0
    while start < len(words) - 1 and words[start] in GROUPS and start not in matched:
        start += 1
    if start in matched:
        score += 1.0
    if all(position in matched for position in range(start, max(head, start + 1))):
        score += 2.0
    if all(position in matched or word in wished for position, word in enumerate(words) if position >= start):
        score += 1.0
    for position, word in enumerate(words):
        if position not in matched and position >= start:
            score += 1.0 if word in wished else NUDGE.get(word, -0.3)
    return score


def search(text: str, index: Index, limit: int, favoured: int = 0) -> list[int]:
    """Return the rows that `text` most likely means, best first.

    A row must share a word, a beginning of a word or a near miss with every word of `text`; only when there is no
    such row do rows with some of the words count. Short names, raw foods and names that begin with the wanted word
    come first.

    text: what somebody typed
    index: the names to search
    limit: how many rows at most
    favoured: so many rows at the start of the index are preferred when others fit as well
    """
    lower = " ".join(text.lower()[:120].split())
    for said, meant in PHRASES.items():
        lower = lower.replace(said, meant)
    typed = [fold(word) for word in WORD.findall(lower) if word not in SKIP][:8]
    needed = [word for word in typed if word not in OPTIONAL] or typed
    chosen = [fits for fits in (_alike(word, index) for word in needed) if fits]
    if not chosen:
        return []
    found = [{row for word in fits for row in index.rows[word]} for fits in chosen]
    wished = {word for word in typed if word not in needed}
    rows = set.intersection(*found) or set.union(*found)
    scores = {row: _score(row, chosen, wished, index) + (5.0 if row < favoured else 0.0) for row in rows}
    ranked = sorted(rows, key=lambda row: (-scores[row], len(index.names[row]), index.names[row]))
    return ranked[:limit]
