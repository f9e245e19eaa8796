"""``drystow serve``: the web page."""

from typing import Annotated

import typer

from drystow.cli.listen import MqttOption


def serve_command(
    demo: Annotated[bool, typer.Option("--demo", help="Show the Alder Lane Kitchen demo.")] = False,
    lan: Annotated[bool, typer.Option("--lan", help="Let other devices in the house in; everybody signs in.")] = False,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port on this machine.")] = 8000,
    mqtt: MqttOption = "",
) -> None:
    """Serve the web page on this machine."""
    from drystow.web.server import serve

    serve(demo=demo, lan=lan, port=port, mqtt=mqtt)
