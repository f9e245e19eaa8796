"""``drystow serve``: the kitchen app."""

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


def serve_command(
    demo: Annotated[bool, typer.Option("--demo", help="Show the Alder Lane Kitchen demo.")] = False,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let other devices on your network in; everyone signs in.")
    ] = False,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port on this computer.")] = 8000,
    mqtt: MqttOption = "",
) -> None:
    """Open the kitchen app on this computer."""
    from drystow.web.server import serve

    serve(demo=demo, lan=lan, port=port, mqtt=mqtt)
