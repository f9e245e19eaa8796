"""What is said of how food lies on its tray: what was assumed, and where weight, size and area cannot all be true."""

import math

from drystow.machine.pieces import SLIT_OPEN, Lie
from drystow.machine.profile import Dryer
from drystow.messages import Message, msg, msg_many
from drystow.shown import quantity

ALIKE = (0.75, 1.33)  # a depth within these shares of the written size is the written size
STANDS_OUT = 1.5  # rims that slices may be high; drystow-default
ABOVE = 1.01  # heights from here on are above a rim, not as high as it


def may_stand_out(lie: Lie, area: float | None) -> bool:
    """Return whether food may stand above the rim of its tray, as bars may beside which nothing rolls off.

    lie: of the food on the tray
    area: that was said to be covered, or None [m2]
    """
    return lie.cut.shape == "slab" and area is None and not lie.piled and lie.packing != "poured"


def lie_words(lie: Lie, whole: float) -> Message:
    """Return one sentence on how a food lies on its tray.

    lie: of the food on the tray
    whole: area of the tray [m2]
    """
    height, share = quantity(lie.height, "length"), lie.shadow / whole
    if lie.packing == "poured":
        return msg("poured {height} deep over {share:.0%} of the tray", height=height, share=share)
    if lie.piled and lie.count is None:
        return msg("on each other, {height} deep over {share:.0%} of the tray", height=height, share=share)
    if lie.piled:
        return msg_many(
            "about {count} piece, {height} deep over {share:.0%} of the tray",
            "about {count} pieces on each other, {height} deep over {share:.0%} of the tray",
            _rounded(lie.count or 0.0),
            height=height,
            share=share,
        )
    if lie.count is None:
        return msg("covering {share:.0%} of the tray", share=share)
    return msg_many(
        "about {count} piece, covering {share:.0%} of the tray",
        "about {count} pieces, covering {share:.0%} of the tray",
        _rounded(lie.count),
        share=share,
    )


def _rounded(count: float) -> int:
    """Return a count as one would guess it, to two digits and at least 1."""
    step = 10 ** max(math.floor(math.log10(count)) - 1, 0) if count >= 1.0 else 1
    return max(step * round(count / step), 1)


def lie_notes(lie: Lie, dryer: Dryer, area: float | None, *, held: bool = False) -> list[Message]:
    """Return sentences on how a food lies on its tray: what was assumed first, then what cannot be so.

    lie: of the food on the tray
    dryer: with the tray
    area: that was said to be covered, or None [m2]
    held: pressure and shelf are held, there is no tray
    """
    notes = [] if held else [lie_words(lie, dryer.tray_area), *lie_warnings(lie, dryer, area)]
    if lie.cut.wrapper == "slit":
        notes.append(
            msg(
                "its wrapper counts as open on {share:.1%} of its surface, a guess; slit it wide",
                share=SLIT_OPEN if lie.cut.opening is None else lie.cut.opening,
            )
        )
    if lie.cut.wrapper == "cup":
        notes.append(msg("in open cups it dries from the top alone; the cups count as twice as deep as the food"))
    return notes


def lie_warnings(lie: Lie, dryer: Dryer, area: float | None) -> list[Message]:
    """Return sentences on what cannot be true together of weight, size and area.

    lie: of the food on the tray
    dryer: with the tray
    area: that was said to be covered, or None [m2]
    """
    cut, room = lie.cut, quantity(lie.room or 0.0, "area")
    height, size = quantity(lie.height, "length"), quantity(cut.size, "length")
    mass, wanted = quantity(lie.mass, "mass"), quantity(lie.wanted, "area")
    alike = ALIKE[0] < lie.height / cut.size < ALIKE[1]
    if lie.piled:
        words = msg(
            "side by side, {mass} of this size takes {area}; there is {room}, so it dries as a bed {height} deep. "
            "One layer is {one}",
            mass=mass, area=wanted, room=room, height=height,
            one=quantity(lie.mass * (lie.room or 0.0) / lie.wanted, "mass"),
        )  # fmt: skip
        return [words] if cut.packing != "piled" else []
    if lie.packing == "poured" and not alike:
        return [msg("poured over {room}, it stands {height} deep, not {size}; the real depth counts",
                    room=room, height=height, size=size)]  # fmt: skip
    if cut.shape == "slab" and area is not None and not alike:
        return [
            msg(
                "spread over {area}, this food is {height} thick, not {size}; check weight, size or area",
                area=quantity(area, "area"),
                height=height,
                size=size,
            )
        ]
    if may_stand_out(lie, area) and lie.height > ABOVE * dryer.rim_height:
        return [msg("it stands {height} high, above the tray's rim of {rim}; look that it clears the shelf above",
                    height=height, rim=quantity(dryer.rim_height, "length"))]  # fmt: skip
    return []
