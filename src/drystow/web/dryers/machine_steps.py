"""How each test of a machine is done, step by step, in plain words."""

from dataclasses import dataclass

from django.utils.translation import gettext_noop as later

from drystow.messages import msg
from drystow.shown import quantity


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
        later("Shows how much air gets in through gasket, valve and hose. A leak makes every run longer and warmer."),
        later("One hour, a clock and the pressure gauge."),
        (
            later("Defrost, wipe the chamber dry and leave it empty. Ice or water in it looks like a leak."),
            later("Close the door and drain valve, start the pump, and run it until the pressure stops falling."),
            later("Close the valve to the pump. Without that valve you can’t do this test; use the pump-down test."),
            later("Write down the pressure at once (minute 0), then every few minutes for half an hour."),
            later("Let air in slowly before you turn the pump off, so no oil is drawn into the chamber."),
        ),
    ),
    "pump": Guide(
        later("Pump-down test"),
        later(
            "Shows how fast and how far the pump empties the chamber. Old oil, a blocked hose or a "
            "worn pump show up here."
        ),
        later("Half an hour, a clock and the pressure gauge."),
        (
            later("Run the pump warm for 15 minutes. The chamber is empty, dry and at room temperature."),
            later("Check the oil: clear, no foam, between the marks."),
            later(
                "With air in the chamber, close the door and drain valve, open the valve to the pump, "
                "and start the clock."
            ),
            later("Write down time and pressure as soon as the gauge shows a value, then every minute or two."),
            later("Keep going until the pressure stops falling. The last readings show how low the pump gets."),
        ),
    ),
    "ice": Guide(
        later("Ice test"),
        later("Shows how well heat gets from the shelf into each tray, the number that matters most for drying times."),
        later("One night and a few hours, the scale, water and all trays."),
        (
            msg(
                "Weigh the empty trays. Pour in water about {depth} deep, so it covers the whole tray, level.",
                depth=quantity(0.01, "length", 1, short=True),
            ),
            later("Freeze the trays through, weigh each one quickly, and put it back in its place."),
            later(
                "Start the vacuum and hold the shelves at one temperature, such as the freezing point of water, for "
                "three to six hours."
            ),
            later("Read the pressure several times and take the average. Aim to lose 5 to 50 percent of the ice."),
            later("Stop and weigh each tray at once. Enter what the ice weighed before and after, without the tray."),
        ),
    ),
    "power": Guide(
        later("Power test"),
        later("Shows what compressor and pump draw, for energy and cost, and reveals wear before they fail."),
        later("One hour and a plug-in power meter."),
        (
            later("Plug the meter in between socket and plug. The chamber is empty; leave the shelf heat off."),
            later("Turn the dryer on with nothing running. Read the idle power."),
            later("Start the compressor and wait until the trap is cold and steady. Read power and trap temperature."),
            later("Start the pump too and wait until the pressure is steady and the pump is warm. Read again."),
        ),
    ),
}
