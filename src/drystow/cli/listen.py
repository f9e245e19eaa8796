"""``drystow listen``: live readings of the dryers."""

from typing import Annotated

import typer

MqttOption = Annotated[
    str,
    typer.Option("--mqtt", help="Broker, such as mqtt://user@host:1883; otherwise the one in Settings.", metavar="URL"),
]


def listen_command(
    mqtt: MqttOption = "",
    demo: Annotated[bool, typer.Option("--demo", help="Use the demo's records.")] = False,
) -> None:
    """Receive live dryer readings from an MQTT broker until stopped."""
    from drystow.cli.output import echo
    from drystow.messages import msg_many
    from drystow.web.server import start_django

    start_django(demo)
    from drystow.web.readings.listener import Listener, address_of, alone

    with alone():
        listener = Listener(address_of(mqtt), echo)
        try:
            listener.run()
        except KeyboardInterrupt:
            listener.stop()
        echo(msg_many("Kept {count} reading.", "Kept {count} readings.", listener.counts.get("added", 0)))
