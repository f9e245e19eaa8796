"""How each test of a machine is done, step by step, in plain words."""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as later


@dataclass(frozen=True)
class Guide:
    """How to do one test.

    title: of its page
    why: what it is good for
    takes: how long, and what is needed
    steps: in order
    """

    title: str
    why: str
    takes: str
    steps: tuple[str, ...]


GUIDES = {
    "leak": Guide(
        later("Leak test"),
        later("Tells how much air gets in through gasket, valve and hose. A leak makes every run longer and warmer."),
        later("An hour; a clock and the pressure gauge."),
        (
            later("Defrost, wipe the chamber dry and leave it empty. Ice or water in it looks like a leak."),
            later("Close door and drain valve, start the pump, and let it run until the pressure no longer falls."),
            later("Shut the valve to the pump. Without a valve this test cannot be done; use the pump-down test."),
            later("Write down the pressure at once, that is minute 0, and then every few minutes for half an hour."),
            later("Let air in slowly before you switch the pump off, so that no oil is drawn into the chamber."),
        ),
    ),
    "pump": Guide(
        later("Pump-down test"),
        later(
            "Tells how fast the pump empties the chamber and how far: tired oil, a blocked hose or a worn pump show."
        ),
        later("Half an hour; a clock and the pressure gauge."),
        (
            later("Let the pump run warm for a quarter of an hour. The chamber is empty, dry and at room temperature."),
            later("Look at the oil: clear, no foam, between the marks."),
            later(
                "With air in the chamber, close door and drain valve, open the way to the pump, and start the clock."
            ),
            later("Write down time and pressure as soon as the gauge shows one, then every minute or two."),
            later("Go on until the pressure no longer falls. The last readings tell how far the pump gets."),
        ),
    ),
    "ice": Guide(
        later("Ice test"),
        later(
            "Tells how well heat gets from the shelf into each tray, the number that decides most about drying times."
        ),
        later("A night and some hours; the scale, water and all trays."),
        (
            later("Weigh the empty trays. Pour in water one centimetre deep, so that it covers the whole tray, level."),
            later("Freeze the trays through, weigh each one quickly, and put it back where it belongs."),
            later(
                "Start the vacuum and hold the shelves at one temperature, such as the freezing point of water, for "
                "three to six hours."
            ),
            later("Read the pressure several times and take the mean. Between 5 and 50 percent of the ice should go."),
            later("Stop, weigh each tray at once, and write what the ice weighed before and after, without the tray."),
        ),
    ),
    "power": Guide(
        later("Power test"),
        later("Tells what refrigerator and pump draw, for energy and cost, and shows wear before they fail."),
        later("An hour; a plug-in meter for electricity."),
        (
            later("Put the meter between plug and socket. The chamber is empty, the shelf heat stays off."),
            later("Switch on, nothing runs: read the idle power."),
            later("Start the refrigerator, wait until the trap is cold and steady: read power and trap temperature."),
            later("Start the pump as well, wait until the pressure has settled and the pump is warm: read again."),
        ),
    ),
}
