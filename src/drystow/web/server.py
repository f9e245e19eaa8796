"""Start the web page on this computer."""

import errno
import os
import socket
from typing import Any

from drystow.errors import InputError

HOST = "127.0.0.1"
DEFAULT_PORT = 8000
THREADS = 4


def serve(demo: bool = False, lan: bool = False, port: int = DEFAULT_PORT) -> None:
    """Serve the web page until it is stopped with Ctrl+C.

    demo: show the load of Alder Lane Kitchen
    lan: answer other devices too; not possible yet
    port: to listen on, 0 for any free one
    """
    server = make_server(demo, lan, port)
    print(f"Drystow runs at http://{HOST}:{server.effective_port}/ (this computer only; stop with Ctrl+C)", flush=True)
    server.run()


def make_server(demo: bool = False, lan: bool = False, port: int = DEFAULT_PORT) -> Any:
    """Return the server, listening but not yet answering; with the demo, its numbers are on the way.

    demo: show the load of Alder Lane Kitchen
    lan: answer other devices too; not possible yet
    port: to listen on, 0 for any free one
    """
    if lan:
        raise InputError(
            "--lan",
            "other devices cannot use Drystow yet: there are no accounts, so everyone on your network could open and"
            " change everything; leave out --lan and use it on this computer",
        )
    if not 0 <= port <= 65535:
        raise InputError("--port", f"{port} is not a port; write a number from 1024 to 65535, such as {DEFAULT_PORT}")
    listener = _listen(port)
    from waitress import create_server

    server = create_server(_application(demo), sockets=[listener], threads=THREADS, ident=None)
    if demo:
        from drystow.web.site.demo import demo_load

        demo_load()
    return server


def _listen(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
        listener.listen()
    except OSError as problem:
        listener.close()
        raise _cannot_listen(port, problem) from None
    return listener


def _application(demo: bool) -> Any:
    os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
    if demo:
        os.environ["DRYSTOW_DEMO"] = "1"
    from django.core.wsgi import get_wsgi_application

    application = get_wsgi_application()
    _bring_up_to_date()
    return application


def _bring_up_to_date() -> None:
    """Create or migrate the database."""
    from django.core.management import call_command
    from django.db import connection

    call_command("migrate", verbosity=0, interactive=False)
    connection.close()


def _cannot_listen(port: int, problem: OSError) -> InputError:
    if problem.errno == errno.EADDRINUSE:
        words = (
            f"port {port} is in use, perhaps by another Drystow; stop that one, or choose another: --port {port + 1}"
        )
        return InputError("--port", words)
    if problem.errno == errno.EACCES:
        words = f"the system does not let you listen on port {port}; choose one from 1024 up, such as {DEFAULT_PORT}"
        return InputError("--port", words)
    return InputError("--port", f"nothing can listen on port {port} ({problem.strerror}); choose another")
