"""``drystow serve``: the kitchen app."""

from typing import Annotated

import typer

from drystow.cli.listen import MqttOption


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
