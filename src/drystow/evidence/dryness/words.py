"""What is said about a tray, in a cook's words."""

from itertools import combinations

import numpy as np

from drystow.evidence.dryness.courses import View
from drystow.evidence.dryness.observed import Weighed
from drystow.evidence.dryness.weighings import TARE_ERROR, UPTAKE, weighings_of
from drystow.messages import msg, msg_many
from drystow.shown import quantity

ALMOST_CERTAIN, LIKELY = 0.95, 0.8
"""Chances from which something is called almost certain, or likely [-]. Source: drystow-default."""

GAIN = 3.0  # standard deviations of scale and uptake beyond which a gain is no chance; definition of three sigma
HOUR = 3600.0


def hours_words(time: float) -> str:
    """Return a time in words, rounded as one would say it.

    time: to be said [s]

    >>> hours_words(5300.0)
    'an hour and a half'
    """
    halves = max(round(time / HOUR * 2.0), 1)
    if halves > 12:
        return msg_many("{count} hour", "{count} hours", round(time / HOUR))
    if halves <= 4:
        return (msg("half an hour"), msg("an hour"), msg("an hour and a half"), msg("two hours"))[halves - 1]
    return msg("{hours:g} hours", hours=halves / 2.0)


def chance_words(chance: float) -> str:
    """Return a probability in words.

    chance: the probability [-]

    >>> chance_words(0.72), chance_words(0.96), chance_words(0.98), chance_words(0.999)
    ('7 in 10', '19 in 20', '98 in 100', 'more than 99 in 100')
    """
    if chance >= 0.995:
        return msg("more than 99 in 100")
    if 0.95 <= chance < 0.97:
        return msg("19 in 20")
    if chance >= 0.97:
        return msg("{count} in 100", count=round(100 * chance))
    if chance < 0.05:
        return msg("less than 1 in 20")
    return msg("{count} in 10", count=min(max(round(10 * chance), 1), 9))


def sureness_words(chance: float) -> str:
    """Return how sure it is that a tray is dry, in one of three steps.

    chance: the probability [-]

    >>> [str(sureness_words(chance)) for chance in (0.96, 0.8, 0.5)]
    ['Almost certainly dry', 'Likely dry', "Can't tell yet whether it is dry"]
    """
    if chance >= ALMOST_CERTAIN:
        return msg("Almost certainly dry")
    return msg("Likely dry") if chance >= LIKELY else msg("Can't tell yet whether it is dry")


def verdict_words(
    verdict: str, chance: float, moisture: tuple[float, float, float], target: float, half: float, again: float | None
) -> str:
    """Return the verdict in one or two sentences.

    verdict: dry, nearly, not_dry or not_enough_evidence
    chance: probability that it is dry [-]
    moisture: wet basis, low, middle and high [-]
    target: wished moisture [-]
    half: likely time until dry [s]
    again: time until the next weighing, or None [s]
    """
    numbers = {
        "chance": chance_words(chance), "low": moisture[0], "middle": moisture[1], "high": moisture[2],
        "target": target,
    }  # fmt: skip
    if verdict == "dry":
        return msg(
            "Dry: the chance is {chance} that it has no more than {target:.1%} moisture and no ice. "
            "Probably {middle:.1%} ({low:.1%} to {high:.1%}). Cut the thickest piece open before "
            "packing: not cold, nothing soft inside.",
            **numbers,
        )
    waiting = _waiting(half, again)
    if verdict == "nearly" and half == 0.0:
        return msg(
            "{sureness}: the chance is {chance} that it has no more than {target:.1%} moisture and no ice. "
            "It may be {low:.1%} to {high:.1%}. {waiting}",
            sureness=sureness_words(chance),
            waiting=waiting,
            **numbers,
        )
    if verdict == "nearly":
        return msg(
            "Nearly dry: probably {middle:.1%} moisture left ({low:.1%} to {high:.1%}); the target "
            "is {target:.1%}. {waiting}",
            waiting=waiting,
            **numbers,
        )
    if verdict == "not_dry":
        return msg(
            "Not dry yet: probably {middle:.1%} moisture left ({low:.1%} to {high:.1%}). {waiting}",
            waiting=waiting,
            **numbers,
        )
    return msg(
        "Can't call it dry yet: anywhere from {low:.1%} to {high:.1%} moisture may be left. {waiting}",
        waiting=waiting,
        **numbers,
    )


def wet_words(found: str) -> str:
    """Return the verdict on a tray whose worst piece is not dry although the scale alone would call it dry, or nearly.

    found: what was found in that piece
    """
    return msg(
        "Not dry: {found}. The worst piece decides, not the average. Keep drying for an hour or "
        "two, then cut the thickest piece open or take another sample.",
        found=found,
    )


def _waiting(half: float, again: float | None) -> str:
    if again == 0.0:
        return msg("Weigh it now, and again after an hour or two of drying.")
    if again is not None and np.isfinite(half) and half > again:
        return msg(
            "It will likely take {half} more. Weigh again in {time}; that weighing tells you most about how long.",
            half=hours_words(half),
            time=hours_words(again),
        )
    if again is not None:
        return msg("Keep drying and weigh again in {time}.", time=hours_words(again))
    if np.isfinite(half) and half > 0.0:
        return msg("Keep drying, probably {time} more.", time=hours_words(half))
    if half == 0.0:
        return msg("Weigh again in {time}.", time=hours_words(HOUR))
    return msg(
        "At this shelf setting it won't get dry within three days. Set the shelf warmer, within the food's limit."
    )


def impossible_gain(view: View) -> tuple[Weighed, Weighed] | None:
    """Return two weighings between which the tray gained more than errors and room air explain, None without any.

    view: of the tray
    """
    rows = weighings_of(view)
    gains = [
        (_net(after) - _net(before) - GAIN * _gain_error(view, before, after), before, after)
        for before, after in combinations(rows, 2)
    ]
    worst = max(gains, key=lambda gain: gain[0], default=None)
    return None if worst is None or worst[0] <= 0.0 else worst[1:]


def contradiction_words(view: View) -> str:
    """Return what does not fit and what it may be.

    view: of the tray
    """
    rows = weighings_of(view)
    pair = impossible_gain(view)
    if pair is not None:
        before, after = pair
        return msg(
            "These numbers do not fit together: the tray weighs {mass} more than {hours:.1f} h "
            "before. Food can't pick up that much from room air. Was it another tray, a wrong "
            "empty-tray weight, or a scale moved or not zeroed? Check and weigh again.",
            mass=quantity(_net(after) - _net(before), "fine mass"),
            hours=(after.time - before.time) / HOUR,
        )
    if rows:
        mass, solids = sum(view.load.items[number].mass for number in view.items), _solids(view)
        if _net(rows[-1]) > mass + GAIN * (TARE_ERROR + rows[-1].resolution):
            return msg(
                "These numbers do not fit together: the food weighs {net}, more than the {fresh} that "
                "went in. Was it another tray or a wrong empty-tray weight? Check and weigh again.",
                net=quantity(_net(rows[-1]), "small mass"),
                fresh=quantity(mass, "small mass"),
            )
        if _net(rows[-1]) < solids:
            return msg(
                "These numbers do not fit together: the food weighs {net}, less than the {solids} it "
                "holds with no water at all. Was it a wrong empty-tray weight, another tray, or food "
                "taken or lost? Check and weigh again.",
                net=quantity(_net(rows[-1]), "small mass"),
                solids=quantity(solids, "small mass"),
            )
    return msg(
        "These numbers do not fit together: no run of this load looks like that. Likely causes: "
        "another tray, a wrong empty-tray weight, a scale that was moved, or a load that differs "
        "from what was entered (weight, thickness, shelf). Check and weigh again."
    )


def _solids(view: View) -> float:
    return sum(view.load.items[number].solids for number in view.items)


def _net(row: Weighed) -> float:
    return row.gross - row.tare


def _gain_error(view: View, before: Weighed, after: Weighed) -> float:
    """Return how far two weights of dry food may differ by chance [kg]."""
    uptake = UPTAKE * _solids(view) * (before.outside + after.outside)
    steps = np.hypot(before.resolution, after.resolution) / 2.0
    tare = TARE_ERROR if before.tare != after.tare else 0.0
    return float(np.hypot(steps, 0.0003 * after.gross) + uptake + tare)
