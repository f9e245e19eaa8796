"""The square code on a label: a lot number, or GS1 data for packages that are sold."""

from datetime import date
from importlib import import_module
from typing import Any
from urllib.parse import quote

from drystow.errors import InputError
from drystow.figures import typed
from drystow.messages import msg

GS1_CHARACTERS = frozenset(
    "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
)  # GS1 General Specifications, character set 82
GS1_LOT_LENGTH = 20
LOT_LENGTH = 40
_FNC1_FIRST = 5  # ISO/IEC 18004: mode indicator 0101, "FNC1 in first position", says that GS1 data follow


Matrix = tuple[bytes, ...]
"""Rows of modules, 1 for dark."""


def check_lot(lot: str, gs1: bool) -> None:
    """Raise `InputError` when a lot number cannot be printed and encoded."""
    if not lot.strip():
        raise InputError("lot", msg("a package needs a lot number; write for example 'A0312-2'"))
    if not lot.isprintable():
        raise InputError(
            "lot", msg("{lot} has characters that cannot be printed; use letters, digits and - / . _", lot=repr(lot))
        )
    if gs1:
        wrong = sorted(set(lot) - GS1_CHARACTERS)
        if wrong:
            raise InputError(
                "lot",
                msg(
                    "'{lot}' has {wrong}; GS1 lots use letters A-Z a-z, digits and - / . _ only",
                    lot=lot,
                    wrong=repr(wrong[0]),
                ),
            )
    longest = GS1_LOT_LENGTH if gs1 else LOT_LENGTH
    if len(lot) > longest:
        raise InputError(
            "lot",
            msg("'{lot}' has {count} characters; at most {most} are allowed", lot=lot, count=len(lot), most=longest),
        )


def check_gtin(gtin: str) -> None:
    """Raise `InputError` when an article number is not 14 digits with the right check digit."""
    if len(gtin) != 14 or not (gtin.isascii() and gtin.isdigit()):
        raise InputError(
            "gtin", msg("'{gtin}' is not a GTIN of 14 digits; put zeros in front of a shorter one", gtin=gtin)
        )
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(gtin[:13]))
    if (check := -total % 10) != int(gtin[13]):
        raise InputError(
            "gtin",
            msg(
                "'{gtin}' ends in {last}, but its check digit is {check}; look for a typing slip",
                gtin=gtin,
                last=gtin[13],
                check=check,
            ),
        )


def gs1_elements(
    *, lot: str, packed_on: date, best_before: date | None, net_mass: float, gtin: str = ""
) -> list[tuple[str, str]]:
    """Return application identifiers and values, those of fixed length first and the lot last.

    In this order no separator is needed: only the lot varies in length.
    """
    grams = round(net_mass * 1000)
    if not 0 < grams <= 999_999:
        raise InputError(
            "net_mass",
            msg("{mass} kg does not fit a GS1 weight; allowed is 0.001 to 999.999 kg", mass=typed(net_mass, 6)),
        )
    elements = [("01", gtin)] if gtin else []
    elements.append(("13", packed_on.strftime("%y%m%d")))
    if best_before:
        elements.append(("15", best_before.strftime("%y%m%d")))
    return [*elements, ("3103", f"{grams:06d}"), ("10", lot)]


def gs1_text(elements: list[tuple[str, str]]) -> str:
    """Return the line people read below the code.

    >>> gs1_text([("13", "270312"), ("10", "A7")])
    '(13)270312 (10)A7'
    """
    return " ".join(f"({identifier}){value}" for identifier, value in elements)


def gs1_code(elements: list[tuple[str, str]], mask: int | None = None) -> Matrix:
    """Return the QR code of a GS1 element string: FNC1, then digits, then the lot.

    mask: pattern laid over the modules; left to the standard's search for the best one when None
    """
    encoder: Any = import_module("segno.encoder")
    consts: Any = import_module("segno.consts")
    *fixed, (lot_identifier, lot) = elements
    digits = "".join(identifier + value for identifier, value in fixed) + lot_identifier
    # segno knows no FNC1; a segment without content whose mode indicator is FNC1's writes just those four bits.
    consts.CHAR_COUNT_INDICATOR_LENGTH.setdefault(_FNC1_FIRST, {1: 0, 2: 0, 3: 0})
    segments = encoder.Segments()
    segments.add_segment(encoder._Segment((), 0, _FNC1_FIRST, None))
    segments.add_segment(encoder.make_segment(digits, consts.MODE_NUMERIC))
    segments.add_segment(encoder.make_segment(lot, consts.MODE_BYTE))
    version = encoder.find_version(segments, consts.ERROR_LEVEL_M, eci=False, micro=False)
    code = encoder._encode(segments, consts.ERROR_LEVEL_M, version, mask, False, True)
    return tuple(map(bytes, code.matrix))


def lot_code(lot: str, prefix: str = "", mask: int | None = None) -> Matrix:
    """Return the QR code of a lot number, behind a URL prefix if there is one; `mask` as in `gs1_code`."""
    import segno

    content = prefix + quote(lot, safe="") if prefix else lot
    try:
        code = segno.make_qr(content, error="m", mask=mask)
    except ValueError:
        raise InputError(
            "qr_prefix", msg("'{prefix}…' is too long for a code; write a shorter address", prefix=prefix[:30])
        ) from None
    return tuple(map(bytes, code.matrix))


def code_svg(rows: Matrix) -> str:
    """Return the code as SVG without its free border, one unit per module."""
    steps = []
    for y, row in enumerate(rows):
        end = 0
        while (start := row.find(1, end)) >= 0:
            end = row.find(0, start)
            end = len(row) if end < 0 else end
            steps.append(f"M{start} {y}h{end - start}v1h{start - end}z")
    size = len(rows)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}">'
    return f'{head}<path fill="#000" d="{"".join(steps)}"/></svg>'
