"""When the last tray is dry."""

import math

from drystow.evidence.dryness.judge import last_dry


def test_one_tray_alone_gives_its_own_quantiles() -> None:
    times = [float(number) for number in range(1, 21)]
    # definition: half of twenty equally likely times are at most the tenth, nine in ten at most the eighteenth
    assert last_dry([times]) == (2.0, 10.0, 18.0)


def test_two_trays_alike_are_later_than_one_by_the_square_root_of_the_share() -> None:
    times = [number / 100 for number in range(1, 101)]
    # the larger of two uniform numbers has the quantile sqrt(share): definition of independence
    middle, most = last_dry([times, times], [0.5, 0.9])
    assert abs(middle - math.sqrt(0.5)) <= 0.01
    assert abs(most - math.sqrt(0.9)) <= 0.01


def test_a_tray_that_may_never_be_dry_makes_the_late_end_infinite() -> None:
    early, middle, late = last_dry([[1.0] * 8 + [math.inf] * 2, [0.0] * 10])
    assert (early, middle, late) == (1.0, 1.0, math.inf)


def test_dry_trays_need_no_time() -> None:
    assert last_dry([[0.0] * 20, [0.0] * 20]) == (0.0, 0.0, 0.0)
