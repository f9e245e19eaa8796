"""Start the web page on this computer."""

import errno
import os
import select
import socket
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from drystow.errors import InputError

HOST = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
DEFAULT_PORT = 8000
THREADS = 4
CONNECTIONS = 1000
OTHER_FILES = 200
"""Open files besides the connections."""
SILENCE = 20
"""A connection on which nothing is said for so long is closed [s]. Source: drystow-default."""


def serve(
    demo: bool = False, lan: bool = False, port: int = DEFAULT_PORT, mqtt: str = "", *, warm: bool = True
) -> None:
    """Serve the web page until it is stopped with Ctrl+C.

    demo: show the load of Alder Lane Kitchen
    lan: answer other devices in the house too; everybody signs in
    port: to listen on, 0 for any free one
    mqtt: broker from which live readings come too, empty for none
    warm: prepare in the background what the first pages need
    """
    server = make_server(demo, lan, port)
    from drystow.web.kit.background import queue

    queue().work()
    if warm:
        from drystow.web.site.demo import warm_up_in_background

        warm_up_in_background()
    print(*_greeting(lan, server.effective_port), sep="\n", flush=True)
    with _live_readings(mqtt):
        server.run()


@contextmanager
def _live_readings(mqtt: str) -> Iterator[None]:
    if not mqtt:
        yield
        return
    from drystow.web.readings.listener import Listener, address_of, alone

    with alone():
        listener = Listener(address_of(mqtt), lambda words: print(words, flush=True))
        listener.start()
        try:
            yield
        finally:
            listener.stop()


def _greeting(lan: bool, port: int) -> list[str]:
    """Return what is told at the start: where to open the page."""
    if not lan:
        return [f"Drystow runs at http://{HOST}:{port}/ (this computer only; stop with Ctrl+C)"]
    from drystow.web.accounts.hosts import named_hosts, own_addresses

    if _behind_tls():
        names = [f"https://{name}/" for name in named_hosts()] or ["the address of your proxy"]
        return [f"Drystow answers the proxy at http://{HOST}:{port}/; open {' or '.join(names)} (stop with Ctrl+C)"]
    lines = [f"Drystow runs at http://{HOST}:{port}/ (stop with Ctrl+C)"]
    lines += [f"On the tablet open http://{address}:{port}/" for address in own_addresses()]
    if len(lines) == 1:
        lines.append("This computer has no address in a network now, so no other device can reach it.")
    return lines


def make_server(demo: bool = False, lan: bool = False, port: int = DEFAULT_PORT) -> Any:
    """Return the server, listening but not yet answering; with the demo, its numbers are on the way.

    demo: show the load of Alder Lane Kitchen
    lan: answer other devices in the house too; everybody signs in
    port: to listen on, 0 for any free one
    """
    if not 0 <= port <= 65535:
        raise InputError("--port", f"{port} is not a port; write a number from 1024 to 65535, such as {DEFAULT_PORT}")
    if _behind_tls() and not lan:
        words = "a proxy lets others in, and without --lan nobody has to sign in; start with --lan, or leave it out"
        raise InputError("DRYSTOW_TLS", words)
    listener = _listen(EVERYWHERE if lan and not _behind_tls() else HOST, port)
    from waitress import create_server

    from drystow.web.middleware import bounded

    try:
        application = _application(demo, lan)
    except InputError:
        listener.close()
        raise
    server = create_server(application, sockets=[listener], threads=THREADS, ident=None, **_patience(), **_proxy())
    bounded(server)
    if demo:
        from drystow.web.demo.fill import fill_in_background
        from drystow.web.site.demo import demo_load

        demo_load()
        fill_in_background()
    return server


def start_django(demo: bool = False, lan: bool = False) -> None:
    """Set everything up without serving, and create or migrate the database.

    demo: use the demo's own database
    lan: demand accounts
    """
    set_up_django(demo, lan)
    _bring_up_to_date()


def set_up_django(demo: bool = False, lan: bool = False) -> None:
    """Set everything up and leave the database as it is.

    demo: use the demo's own database
    lan: demand accounts
    """
    os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
    for wished, variable in ((demo, "DRYSTOW_DEMO"), (lan, "DRYSTOW_LAN")):
        if wished:
            os.environ[variable] = "1"
    import django

    django.setup()


def _listen(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen()
    except OSError as problem:
        listener.close()
        raise _cannot_listen(port, problem) from None
    return listener


def _application(demo: bool, lan: bool) -> Any:
    start_django(demo, lan)
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application

    if settings.LAN:
        _demand_owner(settings.DEMO)
    _import_what_threads_share()
    return get_wsgi_application()


def _import_what_threads_share() -> None:
    """Import once what two threads must not begin to import at the same time.

    The charts look whether pandas is there among the modules that are loaded, and take it even when another thread,
    which loads the planner, is only half through importing it.
    """
    if find_spec("pandas") is not None:
        import_module("pandas")


def _demand_owner(demo: bool) -> None:
    from django.db import connection

    from drystow.web.accounts.people import has_owner

    found = has_owner()
    connection.close()
    if not found:
        command = f"drystow account {'--demo ' if demo else ''}add NAME --role owner"
        raise InputError(
            "--lan", f"other devices are let in only with accounts, and there is no owner yet; run `{command}` first"
        )


def _behind_tls() -> bool:
    return os.environ.get("DRYSTOW_TLS", "").strip().lower() in ("1", "yes", "true")


def _proxy() -> dict[str, Any]:
    """Return whom waitress believes about where a request came from: a proxy on this computer, or nobody."""
    if not _behind_tls():
        return {}
    return {
        "trusted_proxy": HOST,
        "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"},
        "clear_untrusted_proxy_headers": True,
    }


def _patience() -> dict[str, Any]:
    """Return how many connections may be open at once, and how long one may say nothing.

    Whoever opens many and says nothing on them does not keep others out.
    """
    return {
        "connection_limit": _most_connections(),
        "channel_timeout": SILENCE,
        "cleanup_interval": SILENCE // 4,
        "asyncore_use_poll": hasattr(select, "poll"),
    }


def _most_connections() -> int:
    """Return how many connections there may be, each being an open file, of which the system allows so many."""
    try:
        import resource
    except ImportError:  # not on this system
        return CONNECTIONS
    now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = CONNECTIONS + OTHER_FILES
    if 0 <= now < wanted:
        now = wanted if most < 0 else min(wanted, most)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (now, most))
        now = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return CONNECTIONS if now < 0 else max(min(CONNECTIONS, now - OTHER_FILES), now // 2)


def _bring_up_to_date() -> None:
    """Create or migrate the database, and finish or take back a restore that was cut off."""
    from django.core.management import call_command
    from django.db import connection

    call_command("migrate", verbosity=0, interactive=False)
    from drystow.web.data.exchange import settle

    settle()
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
