"""Many runs at once, compiled: a chunk of members that holds no lock, so that threads share the processor's cores."""

from typing import Any

import numba
import numpy as np

from drystow.machine import stepper
from drystow.machine.events import MARKS, RECORD
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY, Tray
from drystow.numerics import Array

MOST_ROWS = 1500  # records of a member behind its looks; later ones are left out
LOOK_MACHINE = 4  # shelf [K], pressure [Pa], trap ice surface [K], vapour [kg/s]
FIRST_GUESS = 240.0  # of the ice fronts [K]


@numba.njit(cache=True, error_model="numpy", nogil=True)
def _run_chunk(
    trays: Array,
    machines: Array,
    program: Array,
    offsets: Array,
    shelf: float,
    tolerance: float,
    longest: float,
    looks: Array,
    times: Array,
    ends: Array,
    endings: Array,
    foods: Array,
    around: Array,
) -> None:
    members, count = trays.shape[0], trays.shape[1]
    rows = np.empty((MOST_ROWS if looks.size > 0 else 0, RECORD + 3 * count))
    state = np.empty(MACHINE_STATES + STATES_PER_TRAY * count)
    fronts = np.empty(count)
    marks = np.empty(MARKS)
    steps = program.copy()
    for member in range(members):
        state[:] = 0.0
        state[0] = shelf
        for j in range(count):
            state[MACHINE_STATES + STATES_PER_TRAY * j] = 1.0
            state[MACHINE_STATES + STATES_PER_TRAY * j + 2] = shelf
            fronts[j] = min(FIRST_GUESS, trays[member, j, Tray.THAW])
        steps[:, 1] = program[:, 1] + offsets[member]
        times[member] = np.nan
        marks[:] = 0.0
        marks[0] = marks[1] = marks[3] = np.nan
        ending, kept, end = stepper.run(
            state, steps, trays[member], machines[member], fronts, tolerance, longest, times[member], marks, rows
        )
        endings[member], ends[member] = ending, end
        if kept == 0:
            continue
        at = 0
        for look in range(looks.size):
            moment = min(looks[look], rows[kept - 1, 0])
            while at < kept - 2 and rows[at + 1, 0] < moment:
                at += 1
            following = min(at + 1, kept - 1)
            length = rows[following, 0] - rows[at, 0]
            share = (moment - rows[at, 0]) / length if length > 0.0 else 1.0
            share = min(max(share, 0.0), 1.0)
            for column in range(LOOK_MACHINE):
                before, after = rows[at, 1 + column], rows[following, 1 + column]
                around[member, look, column] = before + share * (after - before)
            for j in range(count):
                for part in range(3):
                    place = RECORD + 3 * j + part
                    foods[member, look, j, part] = rows[at, place] + share * (rows[following, place] - rows[at, place])


run_chunk: Any = _run_chunk
