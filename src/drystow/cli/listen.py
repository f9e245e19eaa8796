"""``drystow listen``: live readings of the dryers."""

from typing import Annotated

import typer

MqttOption = Annotated[
    str, typer.Option("--mqtt", help="Broker, such as mqtt://user@host:1883; else that of the settings.", metavar="URL")
]


def listen_command(
    mqtt: MqttOption = "",
    demo: Annotated[bool, typer.Option("--demo", help="The records of the demo.")] = False,
) -> None:
    """Take live readings of the dryers from an MQTT broker until it is stopped."""
    from drystow.said import say_many
    from drystow.web.server import start_django

    start_django(demo)
    from drystow.web.readings.listener import Listener, address_of, alone

    with alone():
        listener = Listener(address_of(mqtt), lambda words: typer.echo(words))
        try:
            listener.run()
        except KeyboardInterrupt:
            listener.stop()
        typer.echo(say_many("Kept {count} reading.", "Kept {count} readings.", listener.counts.get("added", 0)))
