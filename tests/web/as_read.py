"""A page as a browser reads it: how its template is laid out makes no difference."""

import re

KEPT = re.compile(r"(<(pre|textarea|script|style)\b.*?</\2>)", re.S)
BLOCKS = (
    "html head body main header footer nav section article aside div p ul ol li dl dt dd table thead tbody tfoot tr td "
    "th caption form fieldset legend h[1-6] details summary hr br figure figcaption title meta link option optgroup "
    "datalist rect line path g defs pattern circle polyline polygon desc use ellipse text"
).replace(" ", "|")
BESIDE_A_BLOCK = re.compile(rf"\s*(</?(?:{BLOCKS})\b[^>]*>)\s*")
INTO_A_BOX = re.compile(r"(<(?:button|select|svg)\b[^>]*>)\s+")
OUT_OF_A_BOX = re.compile(r"\s+(</(?:button|select|svg)>)")
WORDS_IN_A_BOX = re.compile(r'(<\w+[^>]*\bclass="[^"]*\b(?:button|tag|sign)\b[^"]*"[^>]*>)\s*([^<]*?)\s*(?=</)')


def as_read(page: str) -> str:
    """Return a page with a single space wherever one can be seen, and none beside or just within a block."""
    parts = KEPT.split(page)
    for place in range(0, len(parts), 3):
        text = re.sub(r"\s+", " ", parts[place])
        text = re.sub(r"(<[^>]*?)\s+(/?>)", r"\1\2", text)
        text = BESIDE_A_BLOCK.sub(r"\1", text)
        text = OUT_OF_A_BOX.sub(r"\1", INTO_A_BOX.sub(r"\1", text))
        parts[place] = WORDS_IN_A_BOX.sub(r"\1\2", text)
    return "".join(part for place, part in enumerate(parts) if place % 3 != 2).strip()
